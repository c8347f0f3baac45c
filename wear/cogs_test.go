package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var twelve = []int{10, 12, 14, 16, 18, 21, 24, 28, 33, 39, 45, 51}

func TestCogSharesByDevelopment(t *testing.T) {
	var g Gears
	for i, c := range twelve {
		g.ByDevelopment = append(g.ByDevelopment, Gear{Bin: DevelopmentBin(32 * 2.326 / float64(c)), Turns: int64(i+1) * 1_000_000})
	}
	uses, turns := CogShares(g, twelve, 32, 2.326)
	require.Len(t, uses, 12)
	assert.InDelta(t, 78_000, turns, 1e-9)
	for i, u := range uses {
		assert.Equal(t, CogUse{twelve[i], float64(i+1) / 78}, u)
	}
	uses, _ = CogShares(g, twelve, 0, 2.326)
	assert.Nil(t, uses, "no ring, no cogs")
	uses, _ = CogShares(g, nil, 32, 2.326)
	assert.Nil(t, uses)
	uses, _ = CogShares(Gears{}, twelve, 32, 2.326)
	assert.Nil(t, uses)
}

func TestRecordedGearNumbersGoFirst(t *testing.T) {
	g := Gears{
		ByDevelopment: []Gear{{Bin: DevelopmentBin(7), Turns: 9_000_000}},
		ByNumber:      []Gear{{Bin: 64 + 1, Turns: 1_000}, {Bin: 64 + 12, Turns: 3_000}, {Bin: 64 + 13, Turns: 5_000}},
	}
	uses, turns := CogShares(g, twelve, 32, 2.326)
	assert.InDelta(t, 4, turns, 1e-9, "there is no 13th cog")
	assert.Equal(t, CogUse{51, 0.25}, uses[11])
	assert.Equal(t, CogUse{10, 0.75}, uses[0])
}

func TestACassetteCountsByItsWorstCog(t *testing.T) {
	w := newWorld(t, 10)
	w.bike.Wheel = 2.326
	w.fit("ring", days(0)).Part.Teeth = 32
	cassette := w.fit("cassette", days(0))
	cassette.Part.Cogs = twelve
	w.ride(1, Dry, turns(100_000))
	c := w.build()
	at := func(cog int, n float64) Gear {
		return Gear{Bin: DevelopmentBin(32 * 2.326 / float64(cog)), Turns: int64(n * 1000)}
	}
	judged := func() Finding {
		for _, f := range Assess(c, Default()) {
			if f.Kind == "cassette" && f.Job == "look" {
				return f
			}
		}
		return Finding{}
	}
	// Half of the turns on the 51, but the teeth of the 14 are met more often.
	c.Gears.ByDevelopment = []Gear{at(51, 5000), at(21, 2000), at(14, 3000)}
	f := judged()
	assert.InDelta(t, 100_000*0.3*32/14, f.Used, 1e-6)
	assert.Contains(t, f.Notes, "by the gears of 10,000 turns: 30 % are on the 14, the cog that wears first")
	e, err := Explain(c, Default(), cassette.Part.ID, "look")
	require.NoError(t, err)
	assert.Equal(t, "turns × 0.3 × 32 / 14", e.Counts[0].Formula)

	c.Gears.ByDevelopment = c.Gears.ByDevelopment[1:]
	assert.Contains(t, judged().Notes, "gears not looked at: 20 % of the turns taken to be on the 18", "5,000 turns tell too little")
}
