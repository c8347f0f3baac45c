package ingest

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/ingest/rig"
	"pawl/wear"
)

// cutNote is what the outcome says of lifts, "" where none was cut out.
func cutNote(out Outcome) string {
	for _, note := range out.Notes {
		if strings.Contains(note, "cut out") {
			return note
		}
	}
	return ""
}

// liftDay is three hours with five lifts up.
func liftDay(seed uint64, van, sensors bool) rig.Spec {
	return rig.Spec{
		Seed: seed, Hills: 40, Minutes: 180, Uplifts: 5, Shuttle: van, Stands: 2, Pauses: 1,
		Odometer: sensors, Cadence: sensors, Power: sensors,
	}
}

// A day of lifts adds its descents only, by cable and by road, with every
// sensor and with none, from a FIT, whose totals have the lifts in them, and
// from a GPX.
func TestLiftDay(t *testing.T) {
	offs := map[wear.Quantity][]float64{}
	for seed := uint64(1); seed <= 4; seed++ {
		for _, van := range []bool{false, true} {
			for _, sensors := range []bool{false, true} {
				ride := rig.Make(liftDay(seed, van, sensors))
				for format, data := range map[string][]byte{"fit": ride.FIT(), "gpx": ride.GPX()} {
					name := fmt.Sprintf("seed %d, van %t, sensors %t, %s", seed, van, sensors, format)
					x, out := ride.Truth, reduceFile(t, data, Model{})
					assert.True(t, strings.HasPrefix(cutNote(out), "5 lifts cut out: "), "%s: %v", name, out.Notes)
					got := total(out)
					for q, want := range map[wear.Quantity]float64{
						wear.Distance: x.Distance, wear.Climb: x.Climb, wear.Descent: x.Descent,
						wear.Moving: x.Timer - x.LiftTime, wear.Braking: x.Braking,
					} {
						o := off(got.SI(q), want)
						offs[q] = append(offs[q], o)
						assert.Less(t, math.Abs(o), 0.07, "%s: %v", name, q)
					}
					assert.Equal(t, sensors, out.Recorded[wear.Turns] > 0, name)
					if sensors {
						assert.InEpsilon(t, x.Turns, out.Recorded.SI(wear.Turns), 0.01, name)
						assert.InEpsilon(t, x.Work, out.Recorded.SI(wear.Work), 0.01, name)
						assert.Zero(t, out.Estimated[wear.Turns]+out.Estimated[wear.Work], name)
					}
				}
			}
		}
	}
	for q := range wear.NQuantities {
		if list := offs[q]; len(list) > 0 {
			bias, mae := errorsOf(list)
			t.Logf("%-8v bias %+.1f %%, mean error %.1f %%", q, 100*bias, 100*mae)
			assert.Less(t, mae, 0.04, q)
		}
	}
}

// reduceFile reads and reduces a file of one ride.
func reduceFile(t *testing.T, data []byte, m Model) Outcome {
	t.Helper()
	tracks, _, _, err := Read(data, Options{})
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	return Reduce(tracks[0], m)
}

// The lifts are all there where the user says that none was one, and a ride
// without lifts is the same to the last bit under either choice.
func TestNoUplift(t *testing.T) {
	ride := rig.Make(liftDay(2, false, true))
	x, all := ride.Truth, reduceFile(t, ride.FIT(), Model{Uplift: wear.NoUplift})
	assert.Empty(t, cutNote(all))
	assert.InEpsilon(t, x.Distance+x.LiftDistance, all.Recorded.SI(wear.Distance), 0.01)
	assert.InEpsilon(t, x.Climb+x.LiftClimb, all.Recorded.SI(wear.Climb), 0.01)
	assert.InEpsilon(t, x.Timer, all.Recorded.SI(wear.Moving), 0.01)
	for name, tr := range map[string]*Track{
		"hills": loop(7201), "rig": trackOfFile(t, rig.Make(rig.Full(3)).FIT()), "flat": turning(3601, func(int) float64 { return nan }),
	} {
		assert.Equal(t, Reduce(tr, Model{Uplift: wear.NoUplift}), Reduce(tr, Model{}), name)
	}
}

func trackOfFile(t *testing.T, data []byte) *Track {
	t.Helper()
	tracks, err := readFIT(data, Options{})
	require.NoError(t, err)
	return tracks[0]
}

// No real ride has a lift in it, also not with its sensors hidden.
func TestNoLiftInRealRides(t *testing.T) {
	names, tracks := realRides(t)
	for name, data := range realGPX(t) {
		legs, err := readGPX(data, Options{})
		if err != nil {
			continue // told apart in the tests of the reader
		}
		for k, leg := range legs {
			key := fmt.Sprintf("%s %d", name, k+1)
			names, tracks[key] = append(names, key), leg
		}
	}
	seen := 0
	for _, name := range names {
		tr := tracks[name]
		if len(tr.Samples) < 60 {
			continue
		}
		seen++
		assert.Empty(t, cutNote(Reduce(tr, Model{})), name)
		for what, hide := range map[string]func(s *Sample){
			"no cadence, no power": func(s *Sample) { s.Cadence, s.Power = nan, nan },
			"only positions":       func(s *Sample) { s.Cadence, s.Power, s.Dist, s.Speed = nan, nan, nan, nan },
			"no altitude":          func(s *Sample) { s.Cadence, s.Power, s.Alt = nan, nan, nan },
		} {
			blind := silenced(tr, hide)
			blind.Shifts = nil
			assert.Empty(t, cutNote(Reduce(blind, Model{})), "%s: %s", name, what)
		}
	}
	t.Logf("%d tracks", seen)
	assert.GreaterOrEqual(t, seen, 10)
}

// A strong rider on steep ground without a sensor is not on a lift: 400 W for
// three hours at 100 kg. Nor is an e-bike that is told as one.
func TestStrongRidersAreNotLifted(t *testing.T) {
	for seed := uint64(1); seed <= 6; seed++ {
		for watts, motor := range map[float64]wear.Motor{200: wear.NoMotor, 350: wear.NoMotor, 600: wear.MidMotor, 601: wear.HubMotor} {
			s := rig.Spec{Seed: seed, Hills: 40, Minutes: 180, Watts: watts, Smart: seed%2 == 0, Odometer: seed%3 == 0}
			out := reduceFile(t, rig.Make(s).FIT(), Model{Motor: motor})
			assert.Empty(t, cutNote(out), "seed %d, %g W", seed, watts)
		}
	}
}

// Uplift takes away and never adds, whatever the ride. Where a lift begins or
// ends, the windows of braking and pedalling are cut anew: ten seconds each.
func TestUpliftNeverAdds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := anyRide(t)
		all := Reduce(tr, Model{Uplift: wear.NoUplift})
		for _, choice := range []wear.Uplift{wear.FindUplift, wear.AllUplift} {
			cut := Reduce(tr, Model{Uplift: choice})
			sound(t, cut)
			edges := 0.0
			if cutNote(cut) == "" {
				require.Equal(t, all, cut)
			} else {
				edges = 2 * float64(len(tr.Samples)/60+1)
			}
			slack := [wear.NQuantities]float64{wear.Turns: 12 * edges, wear.Work: 3000 * edges, wear.Braking: 6000 * edges}
			for q := range wear.NQuantities {
				assert.LessOrEqual(t, total(cut).SI(q), total(all).SI(q)+slack[q], q)
			}
			assert.LessOrEqual(t, cut.Recorded[wear.Turns], all.Recorded[wear.Turns])
		}
	})
}

// anyRide is made of stretches of climbing, descending, lifts and rests, with
// the sensors and totals that are drawn.
func anyRide(t *rapid.T) *Track {
	cadence, silence := rapid.Bool().Draw(t, "cadence"), rapid.Bool().Draw(t, "zero when lifted")
	positions, noise := rapid.Bool().Draw(t, "positions only"), rapid.SampledFrom([]float64{0, 0.1, 0.4}).Draw(t, "noise")
	var way, alt float64
	tr := trackOf(0, nil)
	for range rapid.IntRange(1, 8).Draw(t, "stretches") {
		v := rapid.Float64Range(0, 20).Draw(t, "speed")
		slope := rapid.Float64Range(-0.3, 0.4).Draw(t, "slope")
		pedals := rapid.Bool().Draw(t, "pedals") && v < 12
		for range rapid.IntRange(5, 600).Draw(t, "seconds") {
			i := len(tr.Samples)
			way, alt = way+v, alt+v*slope
			s := Sample{T: tr.Start + int64(i)*1000, Alt: 1500 + alt + noise*math.Sin(float64(i*i)), Dist: way, Speed: v, Cadence: nan, Power: nan}
			eastward(&s, way)
			switch {
			case positions:
				s.Dist, s.Speed = nan, nan
			case cadence && pedals:
				s.Cadence = 70
			case cadence && silence:
				s.Cadence = 0
			}
			tr.Samples = append(tr.Samples, s)
		}
	}
	tr.End = tr.Samples[len(tr.Samples)-1].T
	if rapid.Bool().Draw(t, "totals") {
		bare := Reduce(tr, Model{Uplift: wear.NoUplift, IgnoreTotals: true})
		tr.Totals.Climb, tr.Totals.Descent = bare.Recorded.SI(wear.Climb)*1.06, bare.Recorded.SI(wear.Descent)*0.95
		tr.Totals.Moving, tr.Totals.Distance = bare.Recorded.SI(wear.Moving)*0.99, bare.Recorded.SI(wear.Distance)*1.01
	}
	return tr
}
