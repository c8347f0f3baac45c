package desk

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/wear"
)

// riddenHard adds three rides of five hours to all bikes but the first, to each some
// days later than to the one before. A look at the chain on the twelfth cuts the
// spans and lets no bike go.
func riddenHard(t *testing.T, d *Desk) {
	require.NoError(t, d.Book.Update(t.Context(), func(tx *store.Tx) error {
		tx.Begin("test", "", "")
		bikes, err := tx.Bikes()
		require.NoError(t, err)
		for i, b := range bikes {
			for k := range 3 * min(i, 1) {
				r := wear.Ride{
					ID: wear.RideID{7, byte(i), byte(k)}, Bike: b.ID, Format: wear.FIT, Ground: wear.Mud,
					Start:    wear.At(time.Date(2027, 2, 2+3*i+2*k, 13, 0, 0, 0, time.UTC)),
					Recorded: wear.Load{wear.Distance: 5_000_000, wear.Moving: 18_000_000, wear.Turns: 15_000_000, wear.Braking: 900_000},
				}
				_, err := tx.AddRide(r, wear.Gears{})
				require.NoError(t, err)
			}
			chain, err := tx.FindPart(b.ID, "chain", wear.At(hireNow))
			require.NoError(t, err)
			_, err = tx.AddLook(wear.Look{Part: chain.ID, Bike: b.ID, At: wear.At(time.Date(2027, 2, 12, 8, 0, 0, 0, time.UTC)), Word: wear.Good})
			require.NoError(t, err)
		}
		return nil
	}))
}

// The days held in the last month are those that the book tells where it is asked
// for each quarter of a day.
func TestAvailabilityIsWhatTheBookTells(t *testing.T) {
	d, whiles := hireDesk(t, 6), 0
	riddenHard(t, d)
	require.NoError(t, d.Book.View(t.Context(), func(tx *store.Tx) error {
		bikes, err := tx.Bikes()
		require.NoError(t, err)
		for _, b := range bikes {
			c, err := tx.Case(b.ID, wear.At(hireNow))
			require.NoError(t, err)
			now, err := holdOf(tx, c, wear.Assess(c, wear.Default()))
			require.NoError(t, err)
			got, err := stood(tx, c, now)
			require.NoError(t, err)
			held := 0.0
			for at := c.Today - wear.FleetMonth*wear.Day + wear.Day/8; at < c.Today; at += wear.Day / 4 {
				was, err := heldAt(tx, b.ID, at)
				require.NoError(t, err)
				if was {
					held += 0.25
				}
			}
			assert.InDelta(t, held, got.Held, 0.5, b.Name)
			t.Logf("%s: %.2f of %.2f days", b.Name, got.Held, got.Service)
			if held > 1 && held < got.Service-1 {
				whiles++
			}
		}
		return nil
	}))
	assert.Greater(t, whiles, 2, "bikes that were held for a while")
}
