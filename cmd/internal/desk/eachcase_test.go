package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"pawl/store"
	"pawl/wear"
)

// walkDesk is a desk with n bikes of three parts and a few rides each.
func walkDesk(t *testing.T, n int) *Desk {
	t.Helper()
	d := Open(filepath.Join(t.TempDir(), "walk.book"), "UTC", "test", time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC))
	require.NoError(t, d.Book.Update(t.Context(), func(tx *store.Tx) error {
		tx.Begin("test", "", "")
		for i := range n {
			if err := walkBike(tx, i); err != nil {
				return err
			}
		}
		return nil
	}))
	return d
}

func walkBike(tx *store.Tx, i int) error {
	b, err := tx.AddBike(wear.Bike{Name: fmt.Sprintf("bike %d", i)})
	if err != nil {
		return err
	}
	for _, kind := range []string{"chain", "ring", "frame"} {
		p, err := tx.AddPart(wear.Part{Kind: kind})
		if err != nil {
			return err
		}
		if err := tx.AddStay(wear.Stay{Part: p.ID, Host: b.ID, From: wear.Ever, To: wear.Never, Came: true}); err != nil {
			return err
		}
	}
	for k := range i % 4 {
		r := wear.Ride{
			ID: wear.RideID{1, byte(i >> 8), byte(i), byte(k)}, Bike: b.ID, Format: wear.FIT,
			Start:    wear.At(time.Date(2027, 1, 1+k, 9, 0, 0, 0, time.UTC)),
			Recorded: wear.Load{2_000_000, 40_000, 40_000, 7_200_000, 6_000_000, 900_000, 100_000},
		}
		if _, err := tx.AddRide(r, wear.Gears{}); err != nil {
			return err
		}
	}
	return nil
}

// onCores runs a test with one core and with several.
func onCores(t *testing.T, test func(t *testing.T)) {
	for _, n := range []int{1, 4} {
		t.Run(fmt.Sprintf("cores=%d", n), func(t *testing.T) {
			defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(n))
			test(t)
		})
	}
}

func TestEachCaseGivesEveryBikeInOrder(t *testing.T) {
	d := walkDesk(t, 3*caseWindow+5)
	onCores(t, func(t *testing.T) {
		require.NoError(t, d.Book.View(t.Context(), func(tx *store.Tx) error {
			bikes, err := tx.Bikes()
			require.NoError(t, err)
			seen := 0
			err = eachCase(t.Context(), tx, caseWalk{Bikes: bikes, Today: wear.At(d.Now)}, func(i int, c wear.Case) error {
				assert.Equal(t, seen, i)
				want, err := tx.Case(bikes[i].ID, wear.At(d.Now))
				assert.Equal(t, want, c)
				seen++
				return err
			})
			assert.Len(t, bikes, seen)
			return err
		}))
	})
}

// Whatever goes wrong with a bike ends the walk with that error, and the bikes
// before it were handed out, none behind it.
func TestEachCaseEndsWithTheFirstError(t *testing.T) {
	d := walkDesk(t, 2*caseWindow+9)
	wrong := errors.New("wrong")
	onCores(t, func(t *testing.T) {
		for _, at := range []int{0, 1, caseWindow, 2*caseWindow + 8} {
			require.NoError(t, d.Book.View(t.Context(), func(tx *store.Tx) error {
				bikes, _ := tx.Bikes()
				w := caseWalk{Bikes: bikes, Today: wear.At(d.Now)}
				taken := -1
				err := eachCase(t.Context(), tx, w, func(i int, c wear.Case) error {
					if taken = i; i == at {
						return wrong
					}
					return nil
				})
				assert.ErrorIs(t, err, wrong)
				assert.Equal(t, at, taken)

				err = eachJudged(t.Context(), tx, w, func(_ *store.Tx, c wear.Case) (int, error) {
					if c.Bike.ID == bikes[at].ID {
						return 0, wrong
					}
					return 1, nil
				}, func(i, made int) error {
					assert.Less(t, i, at)
					return nil
				})
				assert.ErrorIs(t, err, wrong)
				return nil
			}))
		}
	})
}

func TestEachCaseCanBeInterrupted(t *testing.T) {
	d := walkDesk(t, 2*caseWindow)
	onCores(t, func(t *testing.T) {
		require.NoError(t, d.Book.View(t.Context(), func(tx *store.Tx) error {
			bikes, _ := tx.Bikes()
			ctx, stop := context.WithCancel(t.Context())
			err := eachCase(ctx, tx, caseWalk{Bikes: bikes, Today: wear.At(d.Now)}, func(i int, _ wear.Case) error {
				if i == 5 {
					stop()
				}
				return nil
			})
			assert.ErrorIs(t, err, context.Canceled)
			return nil
		}))
	})
}

// Where the transaction writes, what it wrote is seen.
func TestEachCaseSeesWhatItsTransactionWrote(t *testing.T) {
	d := walkDesk(t, 4)
	onCores(t, func(t *testing.T) {
		require.NoError(t, d.Book.Update(t.Context(), func(tx *store.Tx) error {
			tx.Begin("test", "", "")
			b, err := tx.AddBike(wear.Bike{Name: "new " + t.Name()})
			require.NoError(t, err)
			bikes, err := tx.Bikes()
			require.NoError(t, err)
			var last wear.Bike
			err = eachCase(t.Context(), tx, caseWalk{Bikes: bikes, Today: wear.At(d.Now)}, func(_ int, c wear.Case) error {
				last = c.Bike
				return nil
			})
			assert.Equal(t, b.ID, last.ID)
			return err
		}))
	})
}

// How garbage is collected is as before when a walk is over.
func TestWalkLeavesTheCollectorAsItWas(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(77))
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(math.MaxInt64))
	end := collectLate()
	assert.EqualValues(t, walkMemory, debug.SetMemoryLimit(-1))
	end()
	assert.EqualValues(t, math.MaxInt64, debug.SetMemoryLimit(-1))
	assert.Equal(t, 77, debug.SetGCPercent(77))

	debug.SetMemoryLimit(1 << 40) // the user's own
	end = collectLate()
	assert.EqualValues(t, 1<<40, debug.SetMemoryLimit(-1))
	end()
}
