package desk

import (
	"fmt"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// coresDesk is a desk of people with a bike or two, of which each does something
// else: some are fine, some due, some stop; some people may not be written to.
func coresDesk(t *testing.T) *Desk {
	t.Helper()
	d := &Desk{Book: storetest.Open(t, store.Options{}), Now: sendingDay}
	sheet, ok := wear.SheetByName("trail")
	require.True(t, ok)
	for i := range 24 {
		bike, name := fmt.Sprint("hire ", i), fmt.Sprint("kim ", i%16)
		_, _, err := d.AddBike(t.Context(), BikeRequest{Bike: wear.Bike{Name: bike}, Sheet: sheet, Used: Nothing(), On: "2026-01-01"})
		require.NoError(t, err)
		for j := range i {
			_, _, err := d.AddRide(t.Context(), RideRequest{Bike: bike, On: fmt.Sprintf("2026-05-%02d", j+1), Km: 60, Climb: 1200, Hours: 5})
			require.NoError(t, err)
		}
		if i%5 == 0 {
			_, _, err := d.Look(t.Context(), Fact{Bike: bike, Part: "guide"}, "unsafe")
			require.NoError(t, err)
		}
		if i >= 16 {
			_, err := d.SetOwner(t.Context(), bike, name)
			require.NoError(t, err)
			continue
		}
		email, consent := fmt.Sprintf("kim%d@x.example", i), "form"
		if i%7 == 6 {
			consent = ""
		}
		_, err = d.AddPerson(t.Context(), PersonRequest{Name: &name, Email: &email, Consent: consent, Bikes: []string{bike}})
		require.NoError(t, err)
	}
	return d
}

// On however many cores people's bikes are judged, the reminders and their order
// are those of one after the other.
func TestRemindersOnAnyCores(t *testing.T) {
	d := coresDesk(t)
	req := RemindRequest{Rules: propRules}
	var want []Reminder
	require.NoError(t, d.Book.View(t.Context(), func(tx *store.Tx) error {
		people, err := tx.People()
		require.NoError(t, err)
		owned, err := bikesByOwner(tx)
		require.NoError(t, err)
		for _, p := range people {
			f, err := d.remindFacts(tx, p, owned[p.ID])
			require.NoError(t, err)
			want = append(want, f.decide(req.Rules))
		}
		return nil
	}))
	whys := map[string]int{}
	for _, r := range want {
		whys[r.Why]++
	}
	require.Len(t, want, 16)
	require.Greater(t, whys[""], 5, "something is told: %v", whys)
	require.Positive(t, whys["no consent"])
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, cores := range []int{1, 2, 8} {
		runtime.GOMAXPROCS(cores)
		got, err := d.Reminders(t.Context(), req)
		require.NoError(t, err)
		assert.Equal(t, want, got, "%d cores", cores)
	}
}
