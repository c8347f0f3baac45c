package store_test

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/wear"
)

// The test binary is also the other program: with childEnv set it does one of
// these to the book named by bookEnv and prints what happened.
const (
	childEnv = "STORE_TEST_CHILD"
	bookEnv  = "STORE_TEST_BOOK"
	timeEnv  = "STORE_TEST_TIME"
)

var children = map[string]func(*store.Book, io.Writer) error{
	"look": childLook, "import": childImport, "sign off": childSignOff,
	"batches": childBatches, "hold": childHold, "frozen": childFrozen,
	"forget": childForget, "alone": childAlone,
}

func TestMain(m *testing.M) {
	do, ok := children[os.Getenv(childEnv)]
	if !ok {
		os.Exit(m.Run())
	}
	book := store.At(os.Getenv(bookEnv), store.Options{Command: "pawl " + os.Getenv(childEnv)})
	if err := do(book, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// child starts another program on the book.
func child(t *testing.T, name, book string, env ...string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	exe, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(exe)
	cmd.Env = append(os.Environ(), append(env, childEnv+"="+name, bookEnv+"="+book)...)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	return cmd, bufio.NewScanner(out)
}

// waits is what a child says of its waits for the book.
type waits struct {
	N             int
	Median, Worst time.Duration
}

// repeat runs one operation over and over and prints how long it had to wait.
func repeat(out io.Writer, op func(entered func()) error) error {
	long, err := time.ParseDuration(os.Getenv(timeEnv))
	if err != nil {
		return err
	}
	var all []time.Duration
	for end := time.Now().Add(long); time.Now().Before(end); {
		asked := time.Now()
		if err := op(func() { all = append(all, time.Since(asked)) }); err != nil {
			return err
		}
	}
	slices.Sort(all)
	return json.NewEncoder(out).Encode(waits{len(all), all[len(all)/2], all[len(all)-1]})
}

func childLook(b *store.Book, out io.Writer) error {
	return repeat(out, func(entered func()) error {
		return b.View(context.Background(), func(tx *store.Tx) error {
			entered()
			bikes, err := tx.Bikes()
			if err != nil {
				return err
			}
			_, err = tx.Case(bikes[0].ID, wear.Never)
			return err
		})
	})
}

func childImport(b *store.Book, out io.Writer) error {
	n := 0
	return repeat(out, func(entered func()) error {
		return b.Update(context.Background(), func(tx *store.Tx) error {
			entered()
			tx.Begin("import", "", "")
			bikes, err := tx.Bikes()
			for range 20 {
				n++
				r := madeRide(n)
				r.Bike = bikes[0].ID
				if _, err := tx.AddRide(r, wear.Gears{}); err != nil {
					return err
				}
				if err := tx.AddFile(store.FileFact{Hash: r.File, Outcome: "taken", Rides: []wear.RideID{r.ID}}, madeFile(n)); err != nil {
					return err
				}
			}
			return err
		})
	})
}

func childSignOff(b *store.Book, out io.Writer) error {
	at := wear.Instant(1_700_000_000_000)
	return repeat(out, func(entered func()) error {
		time.Sleep(5 * time.Millisecond)
		return b.Update(context.Background(), func(tx *store.Tx) error {
			entered()
			tx.Begin("signoff", "", "")
			parts, err := tx.Parts()
			if err != nil {
				return err
			}
			at += wear.Day / 10
			_, err = tx.AddSignOff(wear.SignOff{Part: parts[0].ID, At: at, Job: "clean"})
			return err
		})
	})
}

// childHold takes the book and keeps it.
func childHold(b *store.Book, out io.Writer) error {
	return b.Update(context.Background(), func(*store.Tx) error {
		fmt.Fprintln(out, "held")
		time.Sleep(time.Minute)
		return nil
	})
}

// childFrozen looks at a book that it may not write.
func childFrozen(b *store.Book, out io.Writer) error {
	ctx := context.Background()
	err := b.View(ctx, func(tx *store.Tx) error {
		bikes, err := tx.Bikes()
		fmt.Fprintln(out, len(bikes))
		return err
	})
	if err != nil {
		return err
	}
	var frozen *store.ReadOnlyError
	if err = b.Update(ctx, func(*store.Tx) error { return nil }); !errors.As(err, &frozen) {
		return fmt.Errorf("written, or refused for another reason: %v", err)
	}
	fmt.Fprintln(out, err)
	return nil
}

// madeFile is the n-th made-up file: 2 to 6 kB.
func madeFile(n int) []byte {
	sum := sha256.Sum256(fmt.Appendf(nil, "file %d", n))
	raw := make([]byte, 0, 6000)
	for len(raw) < 2000+int(sum[0])*16 {
		raw = append(raw, sum[:]...)
	}
	return raw
}

// madeRide is the ride in it.
func madeRide(n int) wear.Ride {
	sum := sha256.Sum256(madeFile(n))
	r := wear.Ride{
		ID: wear.RideID(sum[:12]), File: wear.Hash(sum[:12]), Format: wear.FIT, Rule: wear.Told, Version: 1,
		Start: wear.Instant(1_600_000_000_000 + int64(n)*wear.Day/2), Elapsed: 5_000_000 + int64(n), Offset: 7200,
		Ground: wear.Ground(n % int(wear.NGrounds)), Title: fmt.Sprintf("2026-05-%02d-ride.fit", n%28+1),
		Device:  wear.Sensor{Type: 1, Maker: 9, Product: 3, Serial: 123456},
		Sensors: []wear.Sensor{{Type: 11, Serial: 77, Maker: 9}, {Type: 34, Serial: 78}, {Type: 120, ANT: 400}},
		Profile: "TRAIL", Notes: []string{"no altitude"},
	}
	for q := range wear.NQuantities {
		r.Recorded[q] = int64(sum[q])*9001 + int64(n)
	}
	r.Recorded[wear.Braking], r.Estimated[wear.Braking] = 0, int64(sum[20])*4000
	return r
}
