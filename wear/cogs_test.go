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

// The turns of a chain count by how far its links bend where the cog is known,
// plainly where it is not, and the pace with them.
func TestAChainCountsByHowItBends(t *testing.T) {
	w, _ := geared(t)
	chain := w.fit("chain", days(0))
	w.ride(2, Dry, turns(50_000))
	used := func(c Case) float64 {
		for _, f := range Assess(c, Default()) {
			if f.Kind == "chain" && f.Job == "clean" {
				return f.Used
			}
		}
		require.Fail(t, "no such job")
		return 0
	}
	assert.InDelta(t, 150_000, used(w.build()), 1e-6)

	c := inGears(t, w.build(), Gears{ByDevelopment: []Gear{onCog(51, 20_000), onCog(10, 10_000)}, ByNumber: []Gear{{Bin: 99, Turns: 5_000_000}}})
	bent := used(c)
	assert.InDelta(t, 150_000+20_000*(Bend(32, 51)-1)+10_000*(Bend(32, 10)-1), bent, 1e-6)
	e, err := Explain(c, Default(), chain.Part.ID, "clean")
	require.NoError(t, err)
	assert.Regexp(t, `^turns × \(1/ring \+ 1/cog\) / \(1/32 \+ 1/21\), × [\d.]+ as the bike is ridden$`, e.Counts[0].Formula)
	assert.InDelta(t, bent/150_000*c.Use.Sums.All().Total().SI(Turns), e.Recent.Used, 1)
}

func TestCogsOfABike(t *testing.T) {
	w, cassette := geared(t)
	w.ride(3, Mud, turns(20_000))
	c := inGears(t, w.build(), Gears{
		ByDevelopment: []Gear{onCog(21, 20_000), onCog(14, 5_000), onCog(60, 1_000)},
		ByNumber:      []Gear{{Bin: 1, Turns: 15_000_000, Work: 4_500_000}},
		Teeth:         []Gear{{Bin: TeethBin(0, 30), Turns: 9}, {Bin: TeethBin(1, 50), Turns: 9}, {Bin: TeethBin(2, 45), Turns: 9}},
	})
	v, err := CogsOf(c, Default())
	require.NoError(t, err)
	assert.InDelta(t, 120_000, v.Turns, 1e-9)
	assert.InDelta(t, 40_000, v.Known, 1e-9)
	assert.InDelta(t, 15_000, v.Recorded, 1e-9)
	assert.InDelta(t, 1_000, v.Lost, 1e-9, "what no cog explains is left out and said")
	assert.False(t, v.Rough)
	assert.Equal(t, []string{"the device took the ring for 30 teeth, here 32; gear 1 for 50 teeth, here 51: the bike's own are taken"}, v.Notes)
	require.Len(t, v.Lines, 12)
	assert.InDelta(t, 0.5, v.Lines[5].Share, 1e-12)
	assert.InDelta(t, 0.375, v.Lines[11].Share, 1e-12)
	assert.InDelta(t, 2./7, v.Lines[5].WorkShare, 1e-12, "2.0 of 7.0 MJ")
	assert.Equal(t, SuitSmaller, v.Suit, "%g of the work on the two largest", v.Largest)

	// The contacts of the worst cog are what due counts.
	mud := Default().kind("cassette").Factors[Mud]
	ridden := 100_000 + 20_000*mud
	assert.InEpsilon(t, ridden*0.5*32/21, v.Lines[5].Contacts, 1e-12)
	for _, f := range Assess(c, Default()) {
		if f.Kind == "cassette" && f.Job == "look" {
			assert.InEpsilon(t, f.Used, v.Lines[5].Contacts, 1e-12)
		}
	}
	require.Positive(t, v.Limit)
	assert.InEpsilon(t, v.Lines[5].Contacts/v.Limit, v.Lines[5].Worn, 1e-12)
	assert.NotEmpty(t, v.Source)

	cassette.Part.Cogs = nil
	_, err = CogsOf(w.build(), Default())
	assert.EqualError(t, err, `part "cassette-1": its cogs are not given`)
	w.off(cassette, days(5), Worn)
	_, err = CogsOf(w.build(), Default())
	assert.EqualError(t, err, `bike "enduro": no cassette on it`)
}

func TestWhyNoCogIsKnown(t *testing.T) {
	w, _ := geared(t)
	says := func(c Case, note string) {
		t.Helper()
		v, err := CogsOf(c, Default())
		require.NoError(t, err)
		assert.True(t, v.Rough)
		assert.Equal(t, SuitUnknown, v.Suit)
		assert.Equal(t, []string{note}, v.Notes)
		for _, l := range v.Lines {
			assert.False(t, l.Contacts != l.Contacts || l.WorkShare != l.WorkShare, "no figure from nothing")
		}
	}
	says(w.build(), "no ride tells its gears: that takes recorded gear changes, or speed and cadence")
	says(inGears(t, w.build(), Gears{ByDevelopment: []Gear{onCog(21, 9_999)}}),
		"fewer than 10,000 turns are known: due goes by 20 % of all turns on the 18")
	w.bike.Wheel = 0
	says(w.build(), "circumference of the wheel not given: no cog can be told from speed and cadence")
}

func TestWheelFromTheRidesSinceTheTyreCame(t *testing.T) {
	w, _ := geared(t)
	w.ride(6, Dry, turns(100_000))
	w.bike.Wheel = 2.28
	old, now := ridesOn(2.38, 14, 16, 18, 21, 24), ridesOn(2.3, 14, 16, 18, 21, 24)
	w.off(w.fit("rear-tyre", days(0)), days(5), Worn)
	w.fit("rear-tyre", days(5))
	c := w.build()
	line := c.Lines[bikeID]
	for i := range line {
		line[i].Cogs, line[i].Gears.ByDevelopment = twelve, old[0].Gears
		if line[i].From >= days(5) {
			line[i].Gears.ByDevelopment = now[0].Gears
		}
	}
	wheel, since, err := WheelOf(c, Gears{})
	require.NoError(t, err)
	assert.Equal(t, days(5), since)
	assert.InEpsilon(t, 2.3, wheel, 0.003)
	assert.Equal(t, wheel, float64(int(wheel*1000+0.5))/1000, "whole mm")

	for i := range line {
		line[i].Gears = Gears{ByNumber: []Gear{{Bin: 7, Turns: 1}}}
	}
	wheel, _, err = WheelOf(c, Gears{ByDevelopment: now[0].Gears})
	require.NoError(t, err, "rides with recorded gear changes tell it too")
	assert.InEpsilon(t, 2.3, wheel, 0.003)
	c.Bike.Wheel = 0
	_, _, err = WheelOf(c, Gears{})
	assert.EqualError(t, err, `bike "enduro": circumference not given, not even roughly`)
}

// BenchmarkFoldLine folds a bike of 80 spans, each with 40 bins.
func BenchmarkFoldLine(b *testing.B) {
	line := make(Timeline, 80)
	for i := range line {
		s := &line[i]
		s.Ring, s.Cogs, s.Wheel = 32, twelve, 2.3
		for bin := range int16(40) {
			s.Gears.ByDevelopment = append(s.Gears.ByDevelopment, Gear{Bin: 20 + 2*bin, Turns: 1000, Work: 100_000})
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		foldLine(line)
	}
}
