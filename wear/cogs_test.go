package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var twelve = []int{10, 12, 14, 16, 18, 21, 24, 28, 33, 39, 45, 51}

// onCog is steady pedalling on a cog of a 32-tooth ring and a 2.326 m wheel.
func onCog(cog int, turns float64) Gear {
	return Gear{Bin: DevelopmentBin(32 * 2.326 / float64(cog)), Turns: int64(turns * 1000), Work: int64(turns * 100)}
}

// geared is a bike with a 32-tooth ring and twelve cogs that did 100,000 turns.
func geared(t *testing.T) (w *world, cassette *PartCase) {
	w = newWorld(t, 10)
	w.bike.Wheel = 2.326
	w.fit("ring", days(0)).Part.Teeth = 32
	cassette = w.fit("cassette", days(0))
	cassette.Part.Cogs = twelve
	w.ride(1, Dry, turns(100_000))
	return w, cassette
}

// inGears puts gears into the span that the ride starts in.
func inGears(t *testing.T, c Case, g Gears) Case {
	t.Helper()
	line := c.Lines[bikeID]
	for i := range line {
		line[i].Cogs, line[i].Wheel = twelve, 2.326
		if line[i].Sums.All().Rides > 0 {
			line[i].Gears = g
			return c
		}
	}
	require.Fail(t, "no ride")
	return c
}

func TestACassetteCountsByItsWorstCog(t *testing.T) {
	w, cassette := geared(t)
	judged := func(c Case) Finding {
		for _, f := range Assess(c, Default()) {
			if f.Kind == "cassette" && f.Job == "look" {
				return f
			}
		}
		return Finding{}
	}
	// Half of the turns on the 51, but the teeth of the 14 are met more often.
	c := inGears(t, w.build(), Gears{ByDevelopment: []Gear{onCog(51, 5000), onCog(21, 2000), onCog(14, 3000)}})
	f := judged(c)
	assert.InDelta(t, 100_000*0.3*32/14, f.Used, 1e-6)
	assert.Contains(t, f.Notes, "by the gears of 10,000 turns: 30 % are on the 14, the cog that wears first")
	e, err := Explain(c, Default(), cassette.Part.ID, "look")
	require.NoError(t, err)
	assert.Equal(t, "turns × 0.3 × 32 / 14", e.Counts[0].Formula)

	c = inGears(t, w.build(), Gears{ByDevelopment: []Gear{onCog(21, 2000), onCog(14, 3000)}})
	assert.Contains(t, judged(c).Notes, "gears not looked at: 20 % of the turns taken to be on the 18", "5,000 turns tell too little")
}
