package ingest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// Simulated trail rides whose truth is known to the last turn: what the
// devices record comes out, and the estimates stay within what they claim.
func TestSimulatedTrailRides(t *testing.T) {
	var turns, work, braking, climb []float64
	for seed := range uint64(12) {
		spec := rig.Full(seed)
		spec.Minutes, spec.Hills = 90, 10+3*float64(seed)
		ride := rig.Make(spec)
		full := reduced(t, ride)
		assert.InEpsilon(t, ride.Truth.Distance, full.Recorded.SI(wear.Distance), 0.005)
		assert.InEpsilon(t, ride.Truth.Turns, full.Recorded.SI(wear.Turns), 0.02)
		assert.InEpsilon(t, ride.Truth.Work, full.Recorded.SI(wear.Work), 0.02)
		assert.InEpsilon(t, ride.Truth.Timer, full.Recorded.SI(wear.Moving), 0.03)
		climb = append(climb, off(full.Recorded.SI(wear.Climb), ride.Truth.Climb))
		braking = append(braking, off(full.Estimated.SI(wear.Braking), ride.Truth.Braking))

		spec.Cadence, spec.Power = false, false
		bare := reduced(t, rig.Make(spec))
		assert.Zero(t, bare.Recorded[wear.Turns]+bare.Recorded[wear.Work])
		turns = append(turns, off(bare.Estimated.SI(wear.Turns), ride.Truth.Turns))
		work = append(work, off(bare.Estimated.SI(wear.Work), ride.Truth.Work))
	}
	for _, c := range []struct {
		name  string
		off   []float64
		limit float64 // of the mean error
	}{{"climb", climb, 0.1}, {"braking", braking, 0.35}, {"turns", turns, 0.3}, {"work", work, 0.3}} {
		bias, mae := errorsOf(c.off)
		t.Logf("%-8s bias %+.1f %%, mean error %.1f %%", c.name, 100*bias, 100*mae)
		assert.Less(t, mae, c.limit, c.name)
	}
}

// A cadence sensor that dies half-way: recorded as far as it lived, estimated
// from there.
func TestSimulatedSensorDies(t *testing.T) {
	spec := rig.Full(3)
	spec.DiesAt, spec.Power = 0.5, false
	ride := rig.Make(spec)
	out := reduced(t, ride)
	assert.InEpsilon(t, ride.Truth.SensorTurns, out.Recorded.SI(wear.Turns), 0.03)
	assert.InEpsilon(t, ride.Truth.Turns-ride.Truth.SensorTurns, out.Estimated.SI(wear.Turns), 0.35)
}

// The shares of the cogs found from speed and cadence are off by a few per
// cent of the turns in all (3.7 % on real rides), those by gear number by less.
func TestSimulatedCogs(t *testing.T) {
	ride := rig.Make(rig.Full(5))
	out := reduced(t, ride)
	spec := ride.Spec
	found := make([]float64, len(spec.Cogs))
	var all, truth float64
	for _, g := range out.Gears.ByDevelopment {
		best, dev := 0, wear.BinDevelopment(g.Bin)
		for k, cog := range spec.Cogs {
			d := float64(spec.Ring) / float64(cog) * spec.Wheel
			b := float64(spec.Ring) / float64(spec.Cogs[best]) * spec.Wheel
			if math.Abs(math.Log(dev/d)) < math.Abs(math.Log(dev/b)) {
				best = k
			}
		}
		found[best] += wear.Turns.SI(g.Turns)
		all += wear.Turns.SI(g.Turns)
	}
	for _, turns := range ride.Truth.CogTurns {
		truth += turns
	}
	wrong := 0.0
	for k := range found {
		wrong += math.Abs(found[k]/all-ride.Truth.CogTurns[k]/truth) / 2
	}
	t.Logf("steady pedalling: %.0f %% of the turns; shares off by %.1f %% in all", 100*all/truth, 100*wrong)
	assert.Less(t, wrong, 0.08)
	assert.Greater(t, all/truth, 0.7)

	var numbered float64
	for _, g := range out.Gears.ByNumber {
		numbered += wear.Turns.SI(g.Turns)
	}
	assert.InEpsilon(t, truth, numbered, 0.03)
}

// reduced sends a simulated ride through its FIT file, the device's totals left
// aside.
func reduced(t *testing.T, ride *rig.Ride) Outcome {
	t.Helper()
	tracks, err := readFIT(ride.FIT(), Options{})
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	return Reduce(tracks[0], Model{IgnoreTotals: true})
}

func off(got, want float64) float64 { return got/want - 1 }

func errorsOf(off []float64) (bias, mae float64) {
	for _, x := range off {
		bias += x / float64(len(off))
		mae += math.Abs(x) / float64(len(off))
	}
	return bias, mae
}
