package desk

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/wear"
)

// TestThePlanHoldsWhatWasFoundUnsafeAfterTheRelease: of one instant, which a bare
// date is, what was entered later counts, for the plan as for the list.
func TestThePlanHoldsWhatWasFoundUnsafeAfterTheRelease(t *testing.T) {
	d := hireDesk(t, 1)
	cleared(t, d, "hire 1")
	const day = "2027-03-04"
	unsafe := func(on string) {
		_, _, err := d.Look(t.Context(), Fact{Bike: "hire 1", Part: "guide", By: "Kim", On: on, Note: "lower bolt missing"}, "unsafe")
		require.NoError(t, err)
	}
	plan := func() wear.Hold {
		res, err := d.FleetPlan(t.Context(), FleetFilter{}, "")
		require.NoError(t, err)
		require.Len(t, res.Depots, 1)
		require.Len(t, res.Depots[0].Works, 1)
		return res.Depots[0].Works[0].Hold
	}
	d.Now = hireNow.Add(7 * 24 * time.Hour)
	unsafe("2027-03-03")
	_, _, err := d.SetStatus(t.Context(), StatusRequest{Bike: "hire 1", On: day, Is: wear.InService, By: "Kim", Reason: "one bolt is enough", Until: "2027-03-09"})
	require.NoError(t, err)
	require.False(t, hiredBike(t, d, "hire 1").Hold.Held)
	require.False(t, plan().Held)

	unsafe(day)
	require.True(t, hiredBike(t, d, "hire 1").Hold.Held)
	assert.True(t, plan().Held)
}

// TestDueSaysWhoLookedLast at a part to watch, and when.
func TestDueSaysWhoLookedLast(t *testing.T) {
	d := walkDesk(t, 5)
	_, _, err := d.Look(t.Context(), Fact{Bike: "bike 1", Part: "ring", By: "Ada", Note: "some teeth are thin"}, "watch")
	require.NoError(t, err)
	d.Now = d.Now.Add(time.Hour)
	_, _, err = d.Look(t.Context(), Fact{Bike: "bike 1", Part: "ring", By: "Kim"}, "good")
	require.NoError(t, err)
	looked := d.Now.Add(time.Hour)
	d.Now = looked
	_, _, err = d.Look(t.Context(), Fact{Bike: "bike 1", Part: "ring", By: "Mo", Note: "thinner"}, "watch")
	require.NoError(t, err)
	onCores(t, func(t *testing.T) {
		res, err := d.DueOf(t.Context(), DueRequest{})
		require.NoError(t, err)
		require.Len(t, res.Watched, 1)
		last := res.Watched[0].Look
		assert.Equal(t, []any{"Mo", "thinner", wear.Watch, wear.At(looked)}, []any{last.By, last.Note, last.Word, last.At})
	})
}

// TestWhatABriefWalkMakesStays: what is handed out of one bike is not changed by the
// next, which is read into the same memory.
func TestWhatABriefWalkMakesStays(t *testing.T) {
	d := hireDesk(t, 9)
	riddenHard(t, d)
	var findings []wear.Finding
	var works []wear.BikeWork
	require.NoError(t, d.Book.View(t.Context(), func(tx *store.Tx) error {
		bikes, err := tx.Bikes()
		require.NoError(t, err)
		for _, b := range bikes {
			c, err := tx.Case(b.ID, wear.At(hireNow))
			require.NoError(t, err)
			findings = append(findings, wear.Assess(c, wear.Default())...)
			w, err := bikeWork(tx, c, FleetFilter{})
			require.NoError(t, err)
			if w != nil && b.Fleet {
				works = append(works, *w)
			}
		}
		return nil
	}))
	require.NotEmpty(t, works)
	onCores(t, func(t *testing.T) {
		due, err := d.Due(t.Context(), nil, "")
		require.NoError(t, err)
		assert.Equal(t, findings, due.Findings)
		plan, err := d.FleetPlan(t.Context(), FleetFilter{}, "")
		require.NoError(t, err)
		assert.Equal(t, wear.PlanWeek(works), plan.Depots)
	})
}
