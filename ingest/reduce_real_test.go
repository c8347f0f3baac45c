package ingest

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// realRides are the tracks of every cycling file in the test data of the two
// FIT libraries, by name.
func realRides(t *testing.T) (names []string, tracks map[string]*Track) {
	t.Helper()
	tracks = map[string]*Track{}
	for name, data := range realFITs(t) {
		legs, err := readFIT(data, Options{})
		if err != nil {
			continue // told apart in the tests of the reader
		}
		for k, leg := range legs {
			if len(leg.Samples) > 1 {
				key := fmt.Sprintf("%s %d", name, k+1)
				tracks[key] = leg
				names = append(names, key)
			}
		}
	}
	slices.Sort(names)
	require.NotEmpty(t, names)
	return names, tracks
}

// deviceTotals are a track's totals in the order of quantities.
func deviceTotals(t *Track) [wear.NQuantities]float64 {
	return [wear.NQuantities]float64{
		t.Totals.Distance, t.Totals.Climb, t.Totals.Descent, t.Totals.Moving, t.Totals.Turns, t.Totals.Work, nan,
	}
}

// The totals of three devices, recomputed from their samples alone, and taken
// over where they fit.
func TestRealTotals(t *testing.T) {
	names, tracks := realRides(t)
	limits := [wear.NQuantities]float64{wear.Distance: 0.005, wear.Climb: 0.15, wear.Descent: 0.15, wear.Moving: 0.03, wear.Turns: 0.02, wear.Work: 0.02}
	for part, want := range map[string]map[wear.Quantity]float64{
		"bpg/garmin.fit":                {wear.Distance: 66_802, wear.Climb: 268, wear.Turns: 8420, wear.Work: 1_721_435},
		"dcrainmaker/Edge810":           {wear.Distance: 41_339, wear.Climb: 514, wear.Turns: 6751, wear.Work: 1_296_229},
		"garmin-edge-500-activitiy.fit": {wear.Distance: 92_622, wear.Climb: 541},
	} {
		k := slices.IndexFunc(names, func(name string) bool { return strings.Contains(name, part) })
		require.GreaterOrEqual(t, k, 0, part)
		tr := tracks[names[k]]
		bare, used := Reduce(tr, Model{IgnoreTotals: true}), Reduce(tr, Model{})
		for q, figure := range want {
			assert.InEpsilon(t, figure, bare.Recorded.SI(q), limits[q], "%s %v from samples", part, q)
		}
		assert.InEpsilon(t, tr.Totals.Moving, bare.Recorded.SI(wear.Moving), limits[wear.Moving], part)
		assert.InEpsilon(t, want[wear.Distance], used.Recorded.SI(wear.Distance), 0.005, part)
		assert.InEpsilon(t, want[wear.Climb], used.Recorded.SI(wear.Climb), 0.03, part)
		assert.Empty(t, used.Notes, part)
	}
}

// The chain runs one pitch for every tooth that passes: recorded turns × teeth
// × 12.7 mm (own arithmetic; the pitch is that of ISO 606 for 08B).
func TestRealChainTravel(t *testing.T) {
	names, tracks := realRides(t)
	k := slices.IndexFunc(names, func(name string) bool { return strings.Contains(name, "bpg/garmin.fit") })
	require.GreaterOrEqual(t, k, 0)
	turns := Reduce(tracks[names[k]], Model{}).Recorded.SI(wear.Turns)
	assert.InDelta(t, 8420, turns, 1e-9, "as the device says")
	for ring, metres := range map[int]float64{30: 3208.02, 32: 3421.888, 36: 3849.624} {
		assert.InDelta(t, metres, wear.ChainTravel(turns, ring), 1e-6, "%d teeth", ring)
	}
}

// sameSampleOver is made, not ridden: one sample 100,000 times under the totals
// of some ride.
const sameSampleOver = "muktihari/big_activity.fit"

// One table of every cycling file with totals: off by how much, from samples
// alone.
func TestRealTotalsTable(t *testing.T) {
	names, tracks := realRides(t)
	offs := map[wear.Quantity][]float64{}
	for _, name := range names {
		tr := tracks[name]
		if strings.HasPrefix(name, sameSampleOver) {
			continue
		}
		out := Reduce(tr, Model{IgnoreTotals: true})
		line := ""
		for q, figure := range deviceTotals(tr) {
			q := wear.Quantity(q)
			if !(figure > 0) || (tr.Indoor && (q == wear.Climb || q == wear.Descent)) {
				continue
			}
			o := off(out.Recorded.SI(q), figure)
			line += fmt.Sprintf("  %v %+.1f %%", q, 100*o)
			offs[q] = append(offs[q], math.Abs(o))
		}
		if line != "" {
			t.Logf("%-62s%s", name, line)
		}
	}
	limits := map[wear.Quantity]float64{
		wear.Distance: 0.002, wear.Climb: 0.12, wear.Descent: 0.12, wear.Moving: 0.005, wear.Turns: 0.01, wear.Work: 0.01,
	}
	for q := range wear.NQuantities {
		if list := offs[q]; len(list) > 0 {
			slices.Sort(list)
			median := list[(len(list)-1)/2]
			t.Logf("%-9v %2d files, median %.2f %%, worst %.1f %%", q, len(list), 100*median, 100*list[len(list)-1])
			assert.LessOrEqual(t, median, limits[q], q)
		}
	}
	assert.GreaterOrEqual(t, len(offs[wear.Distance]), 5)
}

// The way from positions alone against the device's odometer: within 2 %,
// median 0.3 % or so.
func TestRealDistanceFromPositions(t *testing.T) {
	names, tracks := realRides(t)
	var offs []float64
	for _, name := range names {
		tr := tracks[name]
		want := Reduce(tr, Model{}).Recorded.SI(wear.Distance)
		if want < 1000 || tr.Indoor || !tr.Samples[len(tr.Samples)/2].located() {
			continue
		}
		blind := silenced(tr, func(s *Sample) { s.Dist, s.Speed = nan, nan })
		o := off(Reduce(blind, Model{IgnoreTotals: true}).Recorded.SI(wear.Distance), want)
		t.Logf("%-62s %+.2f %%", name, 100*o)
		offs = append(offs, math.Abs(o))
	}
	require.GreaterOrEqual(t, len(offs), 3)
	slices.Sort(offs)
	assert.LessOrEqual(t, offs[len(offs)/2], 0.006)
	assert.LessOrEqual(t, offs[len(offs)-1], 0.02)
}

// What the estimates are worth: recorded cadence and power are hidden and
// found again from speed and slope. These are road rides, so the road-load
// equation is given a road bike (common practice: Crr 0.006, CdA 0.35); the
// turns are asked of the default model too.
func TestRealEstimates(t *testing.T) {
	names, tracks := realRides(t)
	road := Model{Crr: 0.006, CdA: 0.35, IgnoreTotals: true}
	offs := map[string][]float64{}
	for _, name := range names {
		tr := tracks[name]
		out := Reduce(tr, road)
		if tr.Indoor || out.Lacking.Has(wear.Climb) || out.Recorded.SI(wear.Distance) < 10_000 || out.Estimated[wear.Turns] > 0 || out.Recorded[wear.Turns] == 0 {
			continue
		}
		blind := silenced(tr, func(s *Sample) { s.Cadence, s.Power = nan, nan })
		guess, trail := Reduce(blind, road), Reduce(blind, Model{IgnoreTotals: true})
		tell := func(what string, o float64) {
			t.Logf("%-62s %-26s %+.1f %%", name, what, 100*o)
			offs[what] = append(offs[what], o)
		}
		tell("turns, road model", off(guess.Estimated.SI(wear.Turns), out.Recorded.SI(wear.Turns)))
		tell("turns, default model", off(trail.Estimated.SI(wear.Turns), out.Recorded.SI(wear.Turns)))
		if out.Recorded[wear.Work] > 0 && out.Estimated[wear.Work] == 0 {
			tell("work, road model", off(guess.Estimated.SI(wear.Work), out.Recorded.SI(wear.Work)))
		}
	}
	for what, list := range offs {
		require.GreaterOrEqual(t, len(list), 2, what)
		bias, mae := errorsOf(list)
		t.Logf("%-26s %d rides: bias %+.1f %%, mean error %.1f %%", what, len(list), 100*bias, 100*mae)
		assert.LessOrEqual(t, mae, 0.3, what)
	}
	assert.Len(t, offs, 3)
}
