package store_test

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

const (
	batch   = 5
	batches = 1000
)

// childBatches imports files in batches, passing over those that are known, and
// says so after each commit.
func childBatches(b *store.Book, out io.Writer) error {
	store.SetPackLimit(b, 200_000)
	for i := range batches {
		known := false
		err := b.Update(context.Background(), func(tx *store.Tx) (err error) {
			tx.Begin("import", fmt.Sprint(i), "")
			bikes, err := tx.Bikes()
			if err != nil {
				return err
			}
			for n := i * batch; n < (i+1)*batch && err == nil; n++ {
				known, err = importOne(tx, bikes[0].ID, n)
			}
			return err
		})
		if err != nil {
			return err
		}
		if !known {
			fmt.Fprintln(out, i)
		}
	}
	return nil
}

func importOne(tx *store.Tx, bike wear.ID, n int) (known bool, err error) {
	r := madeRide(n)
	if _, known, err = tx.File(r.File); known || err != nil {
		return known, err
	}
	r.Bike = bike
	if _, err := tx.AddRide(r, wear.Gears{}); err != nil {
		return false, err
	}
	return false, tx.AddFile(store.FileFact{Hash: r.File, Outcome: "taken", Rides: []wear.RideID{r.ID}}, madeFile(n))
}

// TestKilledImports kills an import fifty times, at any moment, and each time
// the book must be whole: every batch that was reported is in, none is in half
// or twice, and every original can be read back.
func TestKilledImports(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := withBike(t, b)
	rnd := rand.New(rand.NewPCG(1, 2))
	reported := -1
	for range 50 {
		cmd, out := child(t, "batches", b.Path())
		time.AfterFunc(time.Minute, func() { _ = cmd.Process.Kill() })
		for stop := reported + 1 + rnd.IntN(3); reported < stop && out.Scan(); {
			n, err := strconv.Atoi(out.Text())
			require.NoError(t, err)
			require.Equal(t, reported+1, n, "a batch was lost or doubled")
			reported = n
		}
		time.Sleep(time.Duration(rnd.IntN(8_000)) * time.Microsecond)
		require.NoError(t, cmd.Process.Kill())
		for out.Scan() {
			reported, _ = strconv.Atoi(out.Text())
		}
		_ = cmd.Wait()
		reported = checkBatches(t, b, bike, reported)
	}
	t.Logf("%d batches of %d", reported+1, batch)
}

// checkBatches returns the last batch that is in the book, which may be the one
// after the last that was reported.
func checkBatches(t *testing.T, b *store.Book, bike wear.ID, reported int) int {
	storetest.Check(t, b)
	rides := 0
	require.NoError(t, b.View(context.Background(), func(tx *store.Tx) error {
		c, err := tx.Case(bike, wear.Never)
		require.NoError(t, err)
		var want wear.Sums
		for r, err := range tx.Rides(store.RideFilter{Bike: &bike}) {
			require.NoError(t, err)
			require.Equal(t, madeRide(rides).ID, r.ID)
			raw, err := tx.Original(r.File)
			require.NoError(t, err)
			require.Equal(t, madeFile(rides), raw)
			want[r.Ground] = want[r.Ground].Add(r.Sum())
			rides++
		}
		require.Equal(t, want, over(c.Lines[bike], wear.Ever, wear.Never))
		return nil
	}))
	require.Zero(t, rides%batch, "half a batch")
	in := rides/batch - 1
	require.GreaterOrEqual(t, in, reported, "a batch that was reported is lost")
	require.LessOrEqual(t, in, reported+1)
	return in
}
