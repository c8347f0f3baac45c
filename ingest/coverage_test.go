package ingest

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// toldShare is how much of the ride the notes say that a sensor recorded.
func toldShare(t *testing.T, out Outcome, sensor string) float64 {
	t.Helper()
	said := regexp.MustCompile(`^` + sensor + ` recorded for (\d+) % of the ride, the rest estimated$`)
	for _, note := range out.Notes {
		if m := said.FindStringSubmatch(note); m != nil {
			percent, err := strconv.Atoi(m[1])
			require.NoError(t, err)
			return float64(percent) / 100
		}
	}
	require.Fail(t, "not told", "%s: %v", sensor, out.Notes)
	return nan
}

// A cadence sensor that dies on the way, to silence or to zero: recorded as far
// as it lived and said so, the rest estimated, both together near the truth.
func TestCadenceSensorDies(t *testing.T) {
	var offs []float64
	for seed := uint64(1); seed <= 4; seed++ {
		for _, share := range []float64{0.25, 0.5, 0.75} {
			for dies, value := range map[string]float64{"silent": nan, "zero": 0} {
				spec := rig.Full(seed)
				spec.Minutes, spec.Power, spec.DiesAt = 90, false, share
				ride := rig.Make(spec)
				tr := silenced(trackOfFile(t, ride.FIT()), func(s *Sample) {
					if math.IsNaN(s.Cadence) {
						s.Cadence = value
					}
				})
				name := fmt.Sprintf("seed %d dies %s at %g", seed, dies, share)
				out := Reduce(tr, Model{})
				assert.InDelta(t, share, toldShare(t, out, "cadence"), 0.05, name)
				assert.InEpsilon(t, ride.Truth.SensorTurns, out.Recorded.SI(wear.Turns), 0.02, name)
				assert.Positive(t, out.Estimated[wear.Turns], name)
				offs = append(offs, off(total(out).SI(wear.Turns), ride.Truth.Turns))
			}
		}
	}
	bias, mae := errorsOf(offs)
	t.Logf("turns in all: bias %+.1f %%, mean error %.1f %%", 100*bias, 100*mae)
	assert.Less(t, mae, 0.15)
}

// The same of a power meter.
func TestPowerMeterDies(t *testing.T) {
	var offs []float64
	for seed := uint64(1); seed <= 4; seed++ {
		spec := rig.Full(seed)
		spec.Minutes = 90
		ride := rig.Make(spec)
		tr := trackOfFile(t, ride.FIT())
		half, given := tr.Samples[len(tr.Samples)/2].T, 0.0
		for _, s := range ride.Steps {
			if s.T <= half {
				given += s.Work
			}
		}
		tr = silenced(tr, func(s *Sample) {
			if s.T > half {
				s.Power = nan
			}
		})
		tr.Totals.Work = given // what the device summed
		out := Reduce(tr, Model{})
		assert.InDelta(t, 0.5, toldShare(t, out, "power"), 0.05)
		assert.InEpsilon(t, given, out.Recorded.SI(wear.Work), 0.02)
		assert.Zero(t, out.Estimated[wear.Turns], "the other sensor lives")
		offs = append(offs, off(total(out).SI(wear.Work), ride.Truth.Work))
	}
	bias, mae := errorsOf(offs)
	t.Logf("work in all: bias %+.1f %%, mean error %.1f %%", 100*bias, 100*mae)
	assert.Less(t, mae, 0.1)
}

// A day of lifts on which the sensor dies half-way: the lifts after its death
// are found too, and the share is of what was ridden.
func TestSensorDiesOnALiftDay(t *testing.T) {
	spec := liftDay(4, false, true)
	spec.Power, spec.DiesAt = false, 0.5
	ride := rig.Make(spec)
	out := reduceFile(t, ride.FIT(), Model{})
	assert.Regexp(t, "^5 lifts cut out", cutNote(out))
	assert.InEpsilon(t, ride.Truth.SensorTurns, out.Recorded.SI(wear.Turns), 0.02)
	assert.InEpsilon(t, ride.Truth.Turns, total(out).SI(wear.Turns), 0.2)
	ridden, heard := 0.0, 0.0
	for i, s := range ride.Steps {
		if s.Mode != rig.Lifted && s.Mode != rig.Standing {
			ridden++
			heard += truth(float64(i) < 0.5*float64(len(ride.Steps)))
		}
	}
	assert.InDelta(t, heard/ridden, toldShare(t, out, "cadence"), 0.02)
}
