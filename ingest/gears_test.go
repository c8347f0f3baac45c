package ingest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// Every cog of a 32-tooth ring and a 2.326 m wheel (computed table) ridden for
// a minute at 70 a minute: the work and turns land in the bin of its
// development, and a wheel 3 % off cannot take it to another cog.
func TestGearsFindTheCog(t *testing.T) {
	var developments []float64
	for _, row := range checks(t, "development_32t.csv") {
		developments = append(developments, number(t, row, "dev_m"))
	}
	tr := trackOf(60*len(developments)+1, func(i int, s *Sample) {
		gear := min(i/60, len(developments)-1)
		s.Cadence, s.Power = 70, 200
		s.Speed = developments[gear] * 70 / 60
	})
	gears := Reduce(tr, Model{}).Gears.ByDevelopment
	turns := map[int16]float64{}
	for k, g := range gears {
		if k > 0 {
			assert.Less(t, gears[k-1].Bin, g.Bin, "sorted")
		}
		turns[g.Bin] = wear.Turns.SI(g.Turns)
		assert.InEpsilon(t, wear.Turns.SI(g.Turns)/70*60*200, float64(g.Work), 0.01)
	}
	for k, d := range developments {
		assert.InDelta(t, 70, turns[wear.DevelopmentBin(d)], 5, "cog %d", k)
		for j, other := range developments {
			if j != k {
				assert.NotEqual(t, wear.DevelopmentBin(d*1.03), wear.DevelopmentBin(other))
			}
		}
	}
}

func TestOnlySteadyPedallingCounts(t *testing.T) {
	cases := map[string]struct {
		fn   func(i int, s *Sample)
		want bool
	}{
		"steady":         {func(i int, s *Sample) { s.Speed, s.Cadence = 5, 75 }, true},
		"too slow":       {func(i int, s *Sample) { s.Speed, s.Cadence = 2, 39 }, false},
		"not a number":   {func(i int, s *Sample) { s.Speed, s.Cadence = nan, 75 }, false},
		"no such gear":   {func(i int, s *Sample) { s.Speed, s.Cadence = 30, 60 }, false},
		"unsteady":       {func(i int, s *Sample) { s.Speed, s.Cadence = 5, 75+25*float64(i%2) }, false},
		"every other 7s": {func(i int, s *Sample) { s.Speed, s.Cadence, s.T = 5, 75, s.T+6000*int64(i) }, true},
		"far apart":      {func(i int, s *Sample) { s.Speed, s.Cadence, s.T = 5, 75, s.T+11000*int64(i) }, false},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			got := Reduce(trackOf(301, c.fn), Model{}).Gears.ByDevelopment
			assert.Equal(t, c.want, len(got) > 0, "%v", got)
		})
	}
}

func TestGearsByNumber(t *testing.T) {
	tr := turning(601, func(int) float64 { return 60 })
	at := func(i int64) int64 { return tr.Start + i*1000 }
	tr.Shifts = []Shift{ // out of order, and with what devices write for none
		{T: at(300), Front: 2, Rear: 7},
		{T: at(100), Front: 0, Rear: 5},
		{T: at(400), Front: 255, Rear: 5},
		{T: at(500), Front: 1, Rear: 255},
	}
	gears := Reduce(tr, Model{}).Gears.ByNumber
	require.Len(t, gears, 2)
	assert.Equal(t, int16(5), gears[0].Bin)
	assert.InDelta(t, 200+100, wear.Turns.SI(gears[0].Turns), 1)
	assert.Equal(t, int16(2*64+7), gears[1].Bin)
	assert.InDelta(t, 100, wear.Turns.SI(gears[1].Turns), 1)

	silent := turning(601, func(int) float64 { return nan })
	silent.Shifts = tr.Shifts
	gears = Reduce(silent, Model{}).Gears.ByNumber
	require.Len(t, gears, 2, "electronic gears often come without cadence")
	assert.InDelta(t, 300*pedalRate/60., wear.Turns.SI(gears[0].Turns), 2)
	assert.Positive(t, gears[0].Work)
}
