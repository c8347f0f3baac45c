package desk

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/wear"
)

var hireNow = time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)

// hireDesk is a desk with n hired bikes in two depots, ridden since the first of
// February for an hour every other day, and one that is not hired out.
func hireDesk(t *testing.T, n int) *Desk {
	t.Helper()
	d := Open(filepath.Join(t.TempDir(), "fleet.book"), "UTC", "test", hireNow)
	sheet, ok := wear.SheetByName("trail")
	require.True(t, ok)
	for i := range n {
		b := wear.Bike{Name: fmt.Sprintf("hire %d", i+1), Fleet: true, Depot: []string{"North", "South"}[i%2], Tags: []string{"xl"}[:i%3/2], Price: 4000}
		_, _, err := d.AddBike(t.Context(), BikeRequest{Bike: b, Sheet: sheet})
		require.NoError(t, err)
	}
	_, _, err := d.AddBike(t.Context(), BikeRequest{Bike: wear.Bike{Name: "own"}, Sheet: sheet})
	require.NoError(t, err)
	require.NoError(t, d.Book.Update(t.Context(), func(tx *store.Tx) error {
		tx.Begin("test", "", "")
		bikes, err := tx.Bikes()
		for i, b := range bikes {
			for day := range 14 {
				r := wear.Ride{
					ID: wear.RideID{9, byte(i), byte(day)}, Bike: b.ID, Format: wear.FIT,
					Start:    wear.At(time.Date(2027, 2, 1+2*day, 9, 0, 0, 0, time.UTC)),
					Recorded: wear.Load{1_000_000, 20_000, 20_000, 3_600_000, 3_000_000, 400_000, 50_000},
				}
				if _, err := tx.AddRide(r, wear.Gears{}); err != nil {
					return err
				}
			}
		}
		return err
	}))
	return d
}

func hiredBike(t *testing.T, d *Desk, name string) wear.FleetBike {
	t.Helper()
	res, err := d.Fleet(t.Context(), FleetFilter{}, wear.ByName, "")
	require.NoError(t, err)
	for _, b := range res.Bikes {
		if b.Bike.Name == name {
			return b
		}
	}
	require.Fail(t, "no such bike", name)
	return wear.FleetBike{}
}

func TestAFleetByDepotTagKindAndVerdict(t *testing.T) {
	d := hireDesk(t, 7)
	res, err := d.Fleet(t.Context(), FleetFilter{}, wear.ByUrgency, "")
	require.NoError(t, err)
	assert.Len(t, res.Bikes, 7, "the one that is not hired out is left out")
	assert.Equal(t, 7, res.All.Bikes)
	require.Len(t, res.Depots, 2)
	assert.Equal(t, []int{4, 3}, []int{res.Depots[0].Bikes, res.Depots[1].Bikes})

	for name, f := range map[string]FleetFilter{
		"4 of the north":  {Depots: []string{"north"}},
		"2 with the tag":  {Tags: []string{"XL"}},
		"8 of all":        {Everyone: true},
		"0 fine of a cog": {Kinds: []string{"guide-bolts"}, Verdicts: []wear.Verdict{wear.Fine}},
		"7 that are due":  {Verdicts: []wear.Verdict{wear.Stop, wear.Due}},
		"0 to be stopped": {Verdicts: []wear.Verdict{wear.Stop}},
	} {
		res, err := d.Fleet(t.Context(), f, wear.ByName, "")
		require.NoError(t, err, name)
		assert.Equal(t, name[:1], fmt.Sprint(len(res.Bikes)), name)
	}
	for name, f := range map[string]FleetFilter{
		`depot "norht": no bike has it`: {Depots: []string{"norht"}},
		`tag "xs": no bike has it`:      {Tags: []string{"xs"}},
		`kind "chian"`:                  {Kinds: []string{"chian"}},
	} {
		_, err := d.Fleet(t.Context(), f, wear.ByName, "")
		assert.ErrorContains(t, err, name)
	}
	_, err = d.Fleet(t.Context(), FleetFilter{}, "beauty", "")
	assert.ErrorContains(t, err, "not an order")
	_, err = ParseVerdicts([]string{"stop", "bad"})
	assert.ErrorContains(t, err, `verdict "bad"`)
}

func TestNoHiredBikeIsSaid(t *testing.T) {
	_, err := walkDesk(t, 3).Fleet(t.Context(), FleetFilter{}, wear.ByName, "")
	assert.ErrorContains(t, err, "no bike of the book is hired out")
}

// TestHoldAndReleaseOfAHiredBike: an unsafe part keeps it in; a release needs a
// name, a reason and an end, lets it out until then, and the verdict stays.
func TestHoldAndReleaseOfAHiredBike(t *testing.T) {
	d := hireDesk(t, 1)
	cleared(t, d, "hire 1")
	require.False(t, hiredBike(t, d, "hire 1").Hold.Held)
	_, _, err := d.Look(t.Context(), Fact{Bike: "hire 1", Part: "guide", By: "Kim", Note: "lower bolt missing"}, "unsafe")
	require.NoError(t, err)
	b := hiredBike(t, d, "hire 1")
	assert.True(t, b.Hold.Held)
	assert.Equal(t, wear.Stop, b.Worst)

	later := *d
	later.Now = hireNow.Add(time.Hour)
	for why, req := range map[string]StatusRequest{
		"a release bears a name and a reason":          {By: "", Reason: "rides on"},
		"a release bears a name, a reason and an end":  {By: "Kim", Reason: "rides on"},
		"bears a name and a reason":                    {By: "Kim", Until: "2027-03-05"},
		"over before it begins":                        {By: "Kim", Reason: "x", Until: "2027-02-01"},
		"a hold bears a name and a reason":             {Is: wear.Held, By: "Kim"},
		`bike "hire 1" is hired out: a hold bears a n`: {Is: wear.Held, Reason: "x"},
	} {
		req.Bike = "hire 1"
		if req.Is == "" {
			req.Is = wear.InService
		}
		_, _, err := later.SetStatus(t.Context(), req)
		assert.ErrorContains(t, err, why)
	}
	_, _, err = later.SetStatus(t.Context(), StatusRequest{Bike: "hire 1", Is: wear.InService, By: "Kim", Reason: "one bolt is enough", Until: "2027-03-05"})
	require.NoError(t, err)
	require.NotEmpty(t, later.Warnings)
	assert.Contains(t, later.Warnings[len(later.Warnings)-1], "the stop stays: ")
	later.Now = hireNow.Add(2 * time.Hour)
	b = hiredBike(t, &later, "hire 1")
	assert.False(t, b.Hold.Held)
	require.NotNil(t, b.Hold.Lifted)
	assert.Equal(t, wear.Stop, b.Worst, "never the verdict")

	_, _, err = later.NoteIncident(t.Context(), Fact{Bike: "hire 1"}, wear.Crashed)
	require.NoError(t, err)
	assert.True(t, hiredBike(t, &later, "hire 1").Hold.Held, "a crash since")
	later.Now = hireNow.Add(7 * 24 * time.Hour)
	res, err := later.Fleet(t.Context(), FleetFilter{}, wear.ByName, "")
	require.NoError(t, err)
	chains, err := later.Fleet(t.Context(), FleetFilter{Kinds: []string{"chain"}, Verdicts: []wear.Verdict{wear.Stop}}, wear.ByName, "")
	require.NoError(t, err)
	assert.Empty(t, chains.Bikes, "no chain holds it")
	share, ok := res.All.Stand.Share()
	assert.True(t, ok)
	assert.InDelta(t, 1-(1.0/24+7-2.0/24)/28, share, 0.02, "an hour, and a week less two hours of four weeks")
}

// cleared signs off all that stops or is due on a bike.
func cleared(t *testing.T, d *Desk, bike string) {
	t.Helper()
	due, err := d.Due(t.Context(), []string{bike}, "")
	require.NoError(t, err)
	for _, f := range due.Findings {
		switch {
		case f.Verdict < wear.Due:
		case f.Act == wear.ActLook:
			_, _, err = d.Look(t.Context(), Fact{Bike: bike, Part: f.Part}, "good")
		case f.Act == wear.ActMeasure && f.Kind == "chain":
			_, _, err = d.Look(t.Context(), Fact{Bike: bike, Part: f.Part}, "good")
		default:
			_, err = d.SignOff(t.Context(), SignOffRequest{Bike: bike, Jobs: []string{f.Part + ":" + f.Job}, By: "Kim"})
		}
		require.NoError(t, err, "%s %s", f.Part, f.Job)
	}
}

func TestTurnRound(t *testing.T) {
	d := hireDesk(t, 3)
	assert.True(t, hiredBike(t, d, "hire 1").UnTurned)
	done, err := d.TurnRound(t.Context(), TurnRoundRequest{Bikes: []string{"hire 1", "hire 2"}, By: "Kim"})
	require.NoError(t, err)
	require.Len(t, done, 2)
	assert.Empty(t, done[0].Faults)
	assert.False(t, hiredBike(t, d, "hire 1").UnTurned)
	assert.True(t, hiredBike(t, d, "hire 3").UnTurned)

	done, err = d.TurnRound(t.Context(), TurnRoundRequest{Bikes: []string{"hire 3"}, By: "Kim", Faults: map[wear.Word][]string{
		wear.Unsafe: {"guide: touches"}, wear.Watch: {"rear-tyre: cut"},
	}})
	require.NoError(t, err)
	require.Len(t, done[0].Faults, 2)
	assert.Equal(t, []wear.Point{wear.PointTyres, wear.PointGuide}, []wear.Point{done[0].Faults[0].Fault.Point, done[0].Faults[1].Fault.Point})
	b := hiredBike(t, d, "hire 3")
	assert.True(t, b.Hold.Held)
	assert.Equal(t, b.Hold, done[0].Hold, "whoever enters it is told")
	page, err := d.Due(t.Context(), []string{"hire 3"}, "")
	require.NoError(t, err)
	require.Len(t, page.Watched, 1)
	assert.Equal(t, "turn-round: tyres, cut", page.Watched[0].Look.Note)
	require.NoError(t, undo(t, d))
	assert.True(t, hiredBike(t, d, "hire 3").UnTurned, "one entry")
	done, err = d.TurnRound(t.Context(), TurnRoundRequest{Bikes: []string{"hire 3"}, By: "Kim", Faults: map[wear.Word][]string{wear.Watch: {"chain: dry"}}})
	require.NoError(t, err)
	assert.Empty(t, done[0].Faults[0].Fault.Point, "no point is about chains")
	page, err = d.Due(t.Context(), []string{"hire 3"}, "")
	require.NoError(t, err)
	assert.Equal(t, "turn-round: dry", page.Watched[0].Look.Note)

	for why, req := range map[string]TurnRoundRequest{
		"bears a name":                          {Bikes: []string{"hire 1"}},
		"whose they are is not said":            {Bikes: []string{"hire 1", "hire 2"}, By: "Kim", Faults: map[wear.Word][]string{wear.Watch: {"bars"}}},
		"tyres: could be of 2 parts":            {Bikes: []string{"hire 1"}, By: "Kim", Faults: map[wear.Word][]string{wear.Watch: {"tyres: cut"}}},
		`"wings": neither a point of a turn-ro`: {Bikes: []string{"hire 1"}, By: "Kim", Faults: map[wear.Word][]string{wear.Watch: {"wings"}}},
		`"nobody"`:                              {Bikes: []string{"hire 1", "nobody"}, By: "Kim"},
	} {
		_, err := d.TurnRound(t.Context(), req)
		assert.ErrorContains(t, err, why)
	}
}

func undo(t *testing.T, d *Desk) error {
	t.Helper()
	_, err := d.Undo(t.Context())
	return err
}

// TestWitnessMarksOfATurnRound count as the torque check of bolts that somebody
// has set, and of no others.
func TestWitnessMarksOfATurnRound(t *testing.T) {
	d := hireDesk(t, 1)
	_, err := d.SignOff(t.Context(), SignOffRequest{Bike: "hire 1", Jobs: []string{"guide-bolts:check"}, By: "Kim", Torque: 8, On: "2027-02-10"})
	require.NoError(t, err)
	done, err := d.TurnRound(t.Context(), TurnRoundRequest{Bikes: []string{"hire 1"}, By: "Kim", Marks: true})
	require.NoError(t, err)
	assert.Equal(t, []string{"guide-bolts-1"}, done[0].Marked)
	assert.Contains(t, done[0].Bare, "caliper-bolts-1")
	due, err := d.Due(t.Context(), []string{"hire 1"}, "")
	require.NoError(t, err)
	for _, f := range due.Findings {
		if f.Kind == "guide-bolts" && f.Job == "check" {
			assert.Less(t, f.Share, 0.01, "counts from the turn-round")
		}
	}
}

func TestPaperOfATurnRound(t *testing.T) {
	d := hireDesk(t, 4)
	sheet, err := d.TurnRoundPaper(t.Context(), nil, "north", "")
	require.NoError(t, err)
	assert.Len(t, sheet.Bikes, 2)
	sheet, err = d.TurnRoundPaper(t.Context(), []string{"own"}, "", "")
	require.NoError(t, err)
	assert.Len(t, sheet.Bikes, 1)
	_, err = d.TurnRoundPaper(t.Context(), nil, "west", "")
	assert.ErrorContains(t, err, `depot "west": no bike has it`)
}

func TestThePlanOfTheWeek(t *testing.T) {
	d := hireDesk(t, 5)
	_, err := d.AddVisit(t.Context(), "hire 1", "2027-03-04", "")
	require.NoError(t, err)
	plan, err := d.FleetPlan(t.Context(), FleetFilter{}, "")
	require.NoError(t, err)
	require.Len(t, plan.Depots, 2)
	var visits, bikes, minutes int
	for _, depot := range plan.Depots {
		for _, w := range depot.Works {
			bikes++
			minutes += w.Minutes
			if w.Visit != 0 {
				visits++
				assert.Equal(t, "hire 1", w.Bike.Name)
			}
		}
	}
	assert.Equal(t, 1, visits)
	assert.Equal(t, 5, bikes)
	assert.Equal(t, plan.Depots[0].Minutes+plan.Depots[1].Minutes, minutes)
	narrow, err := d.FleetPlan(t.Context(), FleetFilter{Depots: []string{"South"}, Kinds: []string{"guide-bolts"}}, "")
	require.NoError(t, err)
	require.Len(t, narrow.Depots, 1)
	for _, w := range narrow.Depots[0].Works {
		for _, f := range append(w.Now, w.Along...) {
			assert.Equal(t, "guide-bolts", f.Kind)
		}
	}
}
