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
	d := hireDesk(t, 6)
	riddenHard(t, d)
	assert.Greater(t, heldForAWhile(t, d), 2, "bikes that were held for a while")
}

// heldForAWhile compares the days held of all bikes with what the book tells, and
// counts the bikes that were held for some of the month.
func heldForAWhile(t *testing.T, d *Desk) (whiles int) {
	t.Helper()
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
	return whiles
}

// What held a bike is told although the part that it rested on is off since: by a
// shorter interval of that part alone, or by a crash that it had on another bike.
func TestAvailabilityKnowsWhatPartsBroughtAlong(t *testing.T) {
	d := hireDesk(t, 3)
	feb := func(day int) wear.Instant { return wear.At(time.Date(2027, 2, day, 8, 0, 0, 0, time.UTC)) }
	require.NoError(t, d.Book.Update(t.Context(), func(tx *store.Tx) error {
		tx.Begin("test", "", "")
		bikes, err := tx.Bikes()
		require.NoError(t, err)
		off := func(kind string, bike wear.ID, day int) wear.Part {
			p, err := tx.FindPart(bike, kind, feb(day))
			require.NoError(t, err)
			stays, err := tx.StaysOf(p.ID)
			require.NoError(t, err)
			last := stays[len(stays)-1]
			ended := last
			ended.To = feb(day)
			require.NoError(t, tx.ChangeStay(last, ended))
			return p
		}
		fit := func(p wear.Part, bike wear.ID, day int) {
			require.NoError(t, tx.AddStay(wear.Stay{Part: p.ID, Host: bike, From: feb(day), To: wear.Never}))
		}
		anew := func(kind string, bike wear.ID, day int) {
			p, err := tx.AddPart(wear.Part{Kind: kind})
			require.NoError(t, err)
			fit(p, bike, day)
		}
		short := off("guide", bikes[0].ID, 20)
		anew("guide", bikes[0].ID, 20)
		_, err = tx.AddSetting(wear.Setting{Name: wear.SettingSchedule, Scope: wear.ForPart, Of: short.ID, At: wear.Ever,
			Text: "[[job]]\nkind = \"guide\"\njob = \"look\"\nthen = { hours = 20, days = 3 }\n"})
		require.NoError(t, err)

		struck := off("pedals", bikes[2].ID, 5)
		anew("pedals", bikes[2].ID, 6)
		_, err = tx.AddIncident(wear.Incident{Bike: bikes[2].ID, Part: struck.ID, At: feb(4), What: wear.Crashed})
		require.NoError(t, err)
		off("pedals", bikes[1].ID, 6)
		fit(struck, bikes[1].ID, 7)
		off("pedals", bikes[1].ID, 17)
		anew("pedals", bikes[1].ID, 17)
		return nil
	}))
	assert.GreaterOrEqual(t, heldForAWhile(t, d), 2, "bikes that were held for a while")
}
