package ingest

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// The profile is published (tnt-bike.it/en/elevation-gain; its own terms sum to
// 13, it prints 14); the thresholds are our own vectors.
func TestZigzagMeetsTheProfile(t *testing.T) {
	profile := []float64{12, 17, 15, 20, 22, 18, 15, 16, 14, 12}
	for _, row := range checks(t, "elevation.csv") {
		threshold := 0.0
		if _, rest, ok := strings.Cut(row["method"], ">"); ok {
			threshold = number(t, map[string]string{"m": strings.TrimSuffix(rest, " m")}, "m")
		}
		up, _ := zigzag(profile, threshold)
		assert.Equal(t, number(t, row, "gain_m"), up, row["method"])
	}
}

// Up less down is last less first, within two thresholds, and a line read
// backwards swaps them.
func TestZigzagBalances(t *testing.T) {
	chance := rand.New(rand.NewPCG(3, 4))
	h := make([]float64, 5000)
	for i := 1; i < len(h); i++ {
		h[i] = h[i-1] + chance.NormFloat64()
	}
	up, down := zigzag(h, turnPoint)
	assert.InDelta(t, h[len(h)-1]-h[0], up-down, 2*turnPoint)
	back := make([]float64, len(h))
	for i := range h {
		back[len(h)-1-i] = h[i]
	}
	up2, down2 := zigzag(back, turnPoint)
	assert.InDelta(t, up, down2, 2*turnPoint)
	assert.InDelta(t, down, up2, 2*turnPoint)
	up, down = zigzag(nil, turnPoint)
	assert.Zero(t, up+down)
}

func TestSlideMean(t *testing.T) {
	x := []float64{0, 9, 0, 3, nan, 6, 100}
	out := make([]float64, len(x))
	slideMean([]float64{0, 1, 2, 3, 4, 5, 60}, x, out, 1)
	assert.InDeltaSlice(t, []float64{4.5, 3, 4, 1.5, 4.5, 6, 100}, append(append([]float64{}, out[:4]...), 4.5, out[5], out[6]), 1e-12)
	assert.True(t, math.IsNaN(out[4]), "what is not known stays so")
}

// hill goes up 100 m in 500 s, down in 500 s.
func hill(i int) float64 { return 500 + 0.2*float64(min(i, 1000-i)) }

func TestClimb(t *testing.T) {
	ride := func(alt func(i int) float64) *Track {
		return trackOf(1001, func(i int, s *Sample) {
			rolled(i, s, 5, 0)
			s.Alt = alt(i)
		})
	}
	cases := map[string]struct {
		track    *Track
		up, down float64
	}{
		"a hill": {ride(hill), 100, 100},
		"noise of 0.2 m": {ride(func() func(i int) float64 {
			chance := rand.New(rand.NewPCG(5, 6))
			return func(i int) float64 { return hill(i) + 0.2*chance.NormFloat64() }
		}()), 100, 100},
		"a spike":       {ride(func(i int) float64 { return hill(i) + 400*isAt(i, 200) }), 100, 100},
		"a new level":   {ride(func(i int) float64 { return hill(i) + 60*from(i, 200) }), 100, 100},
		"holes":         {ride(func(i int) float64 { return hill(i) + 1e6*truth(i%20 != 0) }), 100, 100},
		"a rolling way": {ride(func(i int) float64 { return 500 + 0.5*math.Sin(float64(i)/20) }), 0, 0},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			out := Reduce(c.track, Model{})
			assert.InDelta(t, c.up, out.Recorded.SI(wear.Climb), 2.5)
			assert.InDelta(t, c.down, out.Recorded.SI(wear.Descent), 2.5)
			assert.Zero(t, out.Estimated[wear.Climb])
			assert.False(t, out.Lacking.Has(wear.Climb))
		})
	}
}

func TestNoAltitudeIsNotFlat(t *testing.T) {
	for name, alt := range map[string]float64{"absent": nan, "always zero": 0, "on the moon": 384e6} {
		t.Run(name, func(t *testing.T) {
			out := Reduce(trackOf(1001, func(i int, s *Sample) {
				rolled(i, s, 5, 0)
				s.Alt = alt
			}), Model{})
			assert.Equal(t, []wear.Quantity{wear.Climb, wear.Descent, wear.Braking}, out.Lacking.List())
			assert.Contains(t, out.Notes, "no altitude")
		})
	}
}

func TestAltitudeForPartOfTheRide(t *testing.T) {
	half := func(until int) Outcome {
		return Reduce(trackOf(1001, func(i int, s *Sample) {
			rolled(i, s, 5, 0)
			if s.Alt = 500 + 0.2*float64(i); i > until {
				s.Alt = nan
			}
		}), Model{})
	}
	out := half(500)
	assert.InDelta(t, 100, out.Recorded.SI(wear.Climb), 1)
	assert.InDelta(t, 100, out.Estimated.SI(wear.Climb), 2, "as much again for the other half")
	assert.Contains(t, out.Notes, "altitude recorded for 50 % of the ride")
	out = half(100)
	assert.InDelta(t, 20, out.Recorded.SI(wear.Climb), 1)
	assert.True(t, out.Lacking.Has(wear.Climb), "a tenth tells nothing of the rest")
	assert.True(t, out.Lacking.Has(wear.Braking))
}

func TestClimbTotals(t *testing.T) {
	ride := trackOf(1001, func(i int, s *Sample) {
		rolled(i, s, 5, 0)
		s.Alt = hill(i)
	})
	ride.Totals.Climb, ride.Totals.Descent = 120, 4000
	out := Reduce(ride, Model{})
	assert.Equal(t, 120.0, out.Recorded.SI(wear.Climb))
	assert.InDelta(t, 100, out.Recorded.SI(wear.Descent), 1, "4,000 m does not fit the samples")
	require.Len(t, out.Notes, 1)
	assert.Equal(t, "the device's total for descent, 4000 m, does not fit its samples, 99 m: samples used", out.Notes[0])
	out = Reduce(ride, Model{IgnoreTotals: true})
	assert.InDelta(t, 100, out.Recorded.SI(wear.Climb), 1)
	assert.Empty(t, out.Notes)
}

// A lift taken with the timer stopped is no climb; a few metres are.
func TestClimbAcrossAPause(t *testing.T) {
	for rise, want := range map[float64]float64{300: 0, 6: 6} {
		tr := trackOf(1001, func(i int, s *Sample) {
			rolled(i, s, 5, 0)
			s.Alt = 500 + rise*from(i, 500) + 0.01*math.Sin(float64(i))
			s.T += int64(900_000 * from(i, 500))
		})
		tr.Pauses = []Pause{{From: tr.Samples[499].T, To: tr.Samples[500].T}}
		assert.InDelta(t, want, Reduce(tr, Model{}).Recorded.SI(wear.Climb), 0.5)
	}
}

func TestIndoorClimbDoesNotCount(t *testing.T) {
	tr := trackOf(1001, func(i int, s *Sample) {
		rolled(i, s, 5, 0)
		s.Alt = hill(i)
	})
	tr.Indoor, tr.Totals.Climb = true, 100
	out := Reduce(tr, Model{})
	for _, q := range []wear.Quantity{wear.Climb, wear.Descent, wear.Braking} {
		assert.Zero(t, out.Recorded[q]+out.Estimated[q], q)
		assert.False(t, out.Lacking.Has(q), q)
	}
	assert.Equal(t, 5000.0, out.Recorded.SI(wear.Distance))
	assert.Contains(t, out.Notes, "indoors: climb does not count, brakes are spared")
}
