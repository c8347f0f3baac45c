package store_test

import (
	"context"
	"encoding/json"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// withBike makes a book with one bike and a chain on it.
func withBike(t testing.TB, b *store.Book) (bike, chain wear.ID) {
	t.Helper()
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("bike add", "Ridge", "")
		k, err := tx.AddBike(wear.Bike{Name: "Ridge"})
		if err != nil {
			return err
		}
		p, err := tx.AddPart(wear.Part{Kind: "chain"})
		if err != nil {
			return err
		}
		bike, chain = k.ID, p.ID
		return tx.AddStay(wear.Stay{Part: chain, Host: bike, From: wear.Ever, To: wear.Never})
	}))
	return bike, chain
}

// TestThreeProgramsAtOnce has one look all the time, one import and one sign
// off: a few seconds here, a minute with PAWL_LONG=1, which also bounds waits.
func TestThreeProgramsAtOnce(t *testing.T) {
	long := os.Getenv("PAWL_LONG") == "1"
	b := storetest.Open(t, store.Options{})
	withBike(t, b)
	span := "2s"
	if long {
		span = "60s"
	}
	var wg sync.WaitGroup
	for _, name := range []string{"look", "look", "import", "sign off"} {
		cmd, out := child(t, name, b.Path(), timeEnv+"="+span)
		wg.Go(func() {
			var w waits
			for out.Scan() {
				assert.NoError(t, json.Unmarshal(out.Bytes(), &w))
			}
			assert.NoError(t, cmd.Wait(), name)
			assert.Positive(t, w.N, name)
			t.Logf("%-8s %6d times, waited %v (median), %v (worst)", name, w.N, w.Median, w.Worst)
			if long {
				assert.Less(t, w.Worst, time.Second, name)
			}
		})
	}
	wg.Wait()
}

func TestHeldBookNamesItsHolder(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	withBike(t, b)
	cmd, out := child(t, "hold", b.Path())
	require.True(t, out.Scan())
	hasty := store.At(b.Path(), store.Options{Patience: 50 * time.Millisecond})
	for _, op := range []func(context.Context, func(*store.Tx) error) error{hasty.View, hasty.Update} {
		err := op(context.Background(), func(*store.Tx) error { return nil })
		var held *store.HeldError
		require.ErrorAs(t, err, &held)
		assert.Contains(t, err.Error(), `held by "pawl hold" (process `)
		assert.NotEmpty(t, held.Hint())
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	require.ErrorIs(t, b.View(ctx, func(*store.Tx) error { return nil }), context.Canceled)
	require.NoError(t, cmd.Process.Kill())
	_ = cmd.Wait()
	require.NoError(t, b.Update(context.Background(), func(*store.Tx) error { return nil }), "a dead holder holds nothing")
}

// TestLateLockIsLetGo: a wait that was given up must not keep the book later.
func TestLateLockIsLetGo(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	withBike(t, b)
	ctx, cancel := context.WithCancel(context.Background())
	require.NoError(t, b.Update(context.Background(), func(*store.Tx) error {
		cancel()
		other := store.At(b.Path(), store.Options{})
		require.ErrorIs(t, other.Update(ctx, func(*store.Tx) error { return nil }), context.Canceled)
		return nil
	}))
	require.NoError(t, b.Update(context.Background(), func(*store.Tx) error { return nil }))
}
