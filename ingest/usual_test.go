package ingest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"pawl/ingest/rig"
	"pawl/wear"
)

// fleetRides are recorded rides of one simulated fleet.
func fleetRides(t *testing.T, spec rig.Spec, first, n uint64) (list []wear.Ride) {
	t.Helper()
	for seed := range n {
		s := spec
		s.Seed = first + seed
		s.Minutes = 30 + 15*float64(seed%4)
		out := reduced(t, rig.Make(s))
		list = append(list, wear.Ride{Recorded: out.Recorded, Estimated: out.Estimated, Lacking: out.Lacking})
	}
	return list
}

// usualOf learns from rides where those figures are given.
func usualOf(rides []wear.Ride, given wear.Set) (u wear.Usual) {
	var pairs [wear.NQuantities][]wear.Pair
	for _, r := range rides {
		for q, p := range Pairs(r, given, Model{}) {
			pairs[q] = append(pairs[q], p)
		}
	}
	for q := range u {
		u[q] = wear.Learn(pairs[q])
	}
	return u
}

// Of simulated fleets that ride otherwise than the fixed figures say, on steep
// trails, flat ones, or with strong riders, what was learned from some rides
// estimates the others better, per kilometre and per hour.
func TestUsualBeatsTheFixedFigures(t *testing.T) {
	base := rig.Spec{Cadence: true, Power: true, Odometer: true}
	steep, flat, strong := base, base, base
	steep.Hills, flat.Hills, strong.Watts = 38, 12, 320
	for name, spec := range map[string]rig.Spec{"steep": steep, "flat": flat, "strong": strong} {
		learned, others := fleetRides(t, spec, 100, 40), fleetRides(t, spec, 900, 12)
		for _, given := range []wear.Quantity{wear.Distance, wear.Moving} {
			usual := usualOf(learned, wear.Set(0).With(given))
			var fixed, better, truth wear.Load
			for _, r := range others {
				g := Given{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
				if given == wear.Distance {
					g.Km = r.Total().SI(wear.Distance) / 1000
				} else {
					g.Hours = r.Total().SI(wear.Moving) / 3600
				}
				out, learnedOut := Typed(g, Model{}, wear.Usual{}), Typed(g, Model{}, usual)
				fixed, better = fixed.Add(out.Estimated), better.Add(learnedOut.Estimated)
				truth = truth.Add(r.Total())
			}
			var offFixed, offBetter float64
			for q := range wear.NQuantities {
				if q == given {
					continue
				}
				f, b := off(fixed.SI(q), truth.SI(q)), off(better.SI(q), truth.SI(q))
				t.Logf("%s, %s given: %s %+.0f %% by the fixed figures, %+.0f %% as usual", name, given, q, 100*f, 100*b)
				offFixed, offBetter = offFixed+min(math.Abs(f), 1), offBetter+min(math.Abs(b), 1)
				assert.Less(t, math.Abs(b), max(math.Abs(f), 0.1)+0.02, "%s, %s given: %s", name, given, q)
				assert.Equal(t, 40, usual[q].Rides, "%s", q)
			}
			assert.Less(t, offBetter, 0.6*offFixed, "%s, %s given", name, given)
		}
	}
}

// A ride tells nothing of what it did not record, nor where it lacks what is given.
func TestPairsOfWhatWasRecorded(t *testing.T) {
	r := wear.Ride{
		Recorded:  wear.Load{wear.Distance: 2_000_000, wear.Moving: 6_000_000, wear.Work: 100},
		Estimated: wear.Load{wear.Turns: 9_000_000, wear.Work: 101, wear.Braking: 50_000},
		Lacking:   wear.Set(0).With(wear.Climb).With(wear.Descent),
	}
	pairs := Pairs(r, wear.Set(0).With(wear.Distance), Model{})
	for q := range wear.NQuantities {
		known := q == wear.Moving || q == wear.Braking
		assert.Equal(t, known, pairs[q].Fixed > 0, q)
	}
	assert.Equal(t, 6000.0, pairs[wear.Moving].Recorded)
	assert.Empty(t, Pairs(r, wear.Set(0).With(wear.Distance).With(wear.Climb), Model{}))
}

// What was given comes back from the ride that was made of it, so that it can
// be estimated anew.
func TestGivenComesBack(t *testing.T) {
	nan := math.NaN()
	for _, g := range []Given{
		{42, nan, nan, nan}, {nan, nan, nan, 3}, {42, 900, nan, nan}, {42, 0, nan, 3.1}, {nan, 400, nan, 2}, {nan, nan, nan, nan},
	} {
		out := Typed(g, Model{}, wear.Usual{wear.Turns: {Of: 1.7, Rides: 3}, wear.Climb: {Of: 2, Rides: 3}})
		back := GivenOf(wear.Ride{Recorded: out.Recorded, Estimated: out.Estimated, Lacking: out.Lacking})
		assert.True(t, g.Same(back), "%v came back as %v", g, back)
	}
	assert.False(t, Given{42, nan, nan, nan}.Same(Given{42, 0, nan, nan}))
}
