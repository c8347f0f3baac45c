package ingest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"pawl/wear"
)

// turning goes at 4 m/s on the flat and turns the crank as told.
func turning(n int, cadence func(i int) float64) *Track {
	return trackOf(n, func(i int, s *Sample) {
		rolled(i, s, 4, 0)
		s.Alt += 0.01 * math.Sin(float64(i)) // flat, not absent
		s.Cadence = cadence(i)
	})
}

func TestTurns(t *testing.T) {
	cases := map[string]struct {
		cadence             func(i int) float64
		recorded, estimated float64
	}{
		"all the way":       {func(int) float64 { return 90 }, 5400, 0},
		"no sensor":         {func(int) float64 { return nan }, 0, 4200},
		"dies to silence":   {func(i int) float64 { return 90 + zap(i > 1800) }, 2700 + 15, 2100},
		"dies to zero":      {func(i int) float64 { return 90 * truth(i <= 1800) }, 2700, 2100},
		"wakes up late":     {func(i int) float64 { return 90 + zap(i < 1800) }, 2700, 2100},
		"drops out for 5 s": {func(i int) float64 { return 90 + zap(i%100 > 94) }, 5400, 0},
		"says 255":          {func(i int) float64 { return 90 + 165*truth(i > 1800) }, 2700 + 15, 2100},
		"infinite":          {func(i int) float64 { return math.Inf(1) }, 0, 4200},
		"coasts for 4 min":  {func(i int) float64 { return 90 * truth(i%480 < 240) }, 2880, 0},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			out := Reduce(turning(3601, c.cadence), Model{})
			assert.InDelta(t, c.recorded, out.Recorded.SI(wear.Turns), 15)
			assert.InDelta(t, c.estimated, out.Estimated.SI(wear.Turns), 30)
		})
	}
}

// zap is NaN where a sensor is silent.
func zap(silent bool) float64 {
	if silent {
		return nan
	}
	return 0
}

// A ride of 171 km has 134 turns in its records and totals, because the
// cadence sensor died.
func TestADeadSensorDoesNotCount(t *testing.T) {
	for name, silence := range map[string]float64{"silent": nan, "zero": 0} {
		t.Run(name, func(t *testing.T) {
			tr := trackOf(171_000/7, func(i int, s *Sample) {
				rolled(i, s, 7, 0)
				s.Alt += 0.01 * math.Sin(float64(i))
				if s.Cadence = 80; i > 100 {
					s.Cadence = silence
				}
			})
			tr.Totals.Turns = 134
			out := Reduce(tr, Model{})
			assert.InDelta(t, 134, out.Recorded.SI(wear.Turns), 15)
			assert.InDelta(t, 171/7./60*1000*pedalRate, out.Estimated.SI(wear.Turns), 300)
			assert.Contains(t, out.Notes, "cadence recorded for 0 % of the ride, the rest estimated")
		})
	}
}

func TestAbsurdCadenceIsToldAndNotCounted(t *testing.T) {
	out := Reduce(turning(1001, func(i int) float64 { return 60 + 195*isAt(i%500, 100) }), Model{})
	assert.Equal(t, 1000.0, out.Recorded.SI(wear.Turns))
	assert.Equal(t, []string{"2 absurd values left out"}, out.Notes)
}

func TestCoverageIsTold(t *testing.T) {
	out := Reduce(turning(1001, func(i int) float64 { return 80 + zap(i > 510) }), Model{})
	assert.Contains(t, out.Notes, "cadence recorded for 52 % of the ride, the rest estimated")
}

func TestTurnsTotal(t *testing.T) {
	silent := turning(3601, func(int) float64 { return nan })
	silent.Totals.Turns = 4600
	out := Reduce(silent, Model{})
	assert.Equal(t, 4600.0, out.Recorded.SI(wear.Turns), "77 a minute are plausible")
	assert.Zero(t, out.Estimated[wear.Turns])
	silent.Totals.Turns = 134
	out = Reduce(silent, Model{})
	assert.Zero(t, out.Recorded[wear.Turns])
	assert.InDelta(t, 4200, out.Estimated.SI(wear.Turns), 30)
	assert.Contains(t, out.Notes, "the device's total for turns, 134, does not fit its samples, 4200: samples used")

	steady := turning(3601, func(int) float64 { return 90 })
	steady.Totals.Turns = 5350
	assert.Equal(t, 5350.0, Reduce(steady, Model{}).Recorded.SI(wear.Turns))
	assert.Equal(t, 5400.0, Reduce(steady, Model{IgnoreTotals: true}).Recorded.SI(wear.Turns))
}

// A descent without a turn of the crank is coasting, not a dead sensor.
func TestALongDescentIsNotADeadSensor(t *testing.T) {
	tr := trackOf(2001, func(i int, s *Sample) {
		rolled(i, s, 5, 0)
		s.Alt = 500 + 0.3*float64(min(i, 1000)) - 0.3*from(i, 1000)*float64(i-1000)
		s.Cadence = 70 * truth(i <= 1000)
	})
	out := Reduce(tr, Model{})
	assert.InDelta(t, 70*1000/60., out.Recorded.SI(wear.Turns), 5)
	assert.Zero(t, out.Estimated[wear.Turns])
}

// A chairlift with the computer running and a cadence sensor that says zero:
// nothing is estimated for it.
func TestALiftIsNotADeadSensor(t *testing.T) {
	tr := trackOf(2001, func(i int, s *Sample) {
		rolled(i, s, 4, 0)
		s.Alt = 500 + 0.8*float64(min(i, 1000)) - 0.8*from(i, 1000)*float64(i-1000)
		s.Cadence = 0
	})
	out := Reduce(tr, Model{})
	assert.Zero(t, out.Recorded[wear.Turns]+out.Estimated[wear.Turns])
	assert.Zero(t, out.Estimated[wear.Work])
}

func TestPowerTellsWhoPedals(t *testing.T) {
	tr := turning(3601, func(int) float64 { return nan })
	for i := range tr.Samples {
		tr.Samples[i].Power = 150 * truth(i < 900)
	}
	assert.InDelta(t, 70*15, Reduce(tr, Model{}).Estimated.SI(wear.Turns), 5)
}
