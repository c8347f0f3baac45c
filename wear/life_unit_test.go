package wear

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// lifeOf is the unit of the world's part of a name.
func lifeOf(t *testing.T, w *world, name string) PartLoad {
	for _, l := range LifeUnits(w.build(), Default()) {
		if l.Name == name {
			return l
		}
	}
	require.Fail(t, "no unit", name)
	return PartLoad{}
}

// Ten rides of 30,000 dry turns, one a day, through one chain.
func chainOfTenDays(t *testing.T) (*world, *PartCase) {
	w := newWorld(t, 20)
	chain := w.fit("chain", days(0))
	for d := range 10 {
		w.ride(float64(d)+0.5, Dry, turns(30_000))
	}
	return w, chain
}

func TestLifeUnits(t *testing.T) {
	cases := map[string]struct {
		do   func(w *world, p *PartCase)
		want Unit
	}{
		"running":        {func(*world, *PartCase) {}, Unit{Load: 300_000}},
		"sold":           {func(w *world, p *PartCase) { w.off(p, days(5), Sold) }, Unit{Load: 150_000, Cause: Sold}},
		"worn, unlooked": {func(w *world, p *PartCase) { w.off(p, days(8), Worn) }, Unit{Load: 240_000, Cause: Worn}},
		"worn, found by readings": {func(w *world, p *PartCase) {
			w.read(p, 3, 0.2)
			w.read(p, 6, 0.55)
			w.off(p, days(8), Worn)
		}, Unit{Load: 180_000, Good: 90_000, Found: true, Cause: Worn}},
		"worn after a good look": {func(w *world, p *PartCase) {
			w.look(p, 4, Watch)
			w.off(p, days(8), Worn)
		}, Unit{Load: 240_000, Good: 120_000, Found: true, Cause: Worn}},
		"worn at the first look": {func(w *world, p *PartCase) {
			w.look(p, 4, Replace)
			w.off(p, days(8), Worn)
		}, Unit{Load: 120_000, Found: true, Cause: Worn}},
		"misread, then good again": {func(w *world, p *PartCase) {
			w.read(p, 2, 0.8)
			w.read(p, 3, 0.2)
			w.off(p, days(8), Worn)
		}, Unit{Load: 240_000, Good: 90_000, Found: true, Cause: Worn}},
		"a doubtful reading": {func(w *world, p *PartCase) {
			w.read(p, 2, 0.8)
			p.Readings[0].Doubtful = true
			w.off(p, days(8), Worn)
		}, Unit{Load: 240_000, Cause: Worn}},
		"gauges": {func(w *world, p *PartCase) {
			for i, g := range []Gauge{{Out: 0.5}, {In: 0.3, Out: 0.75}, {In: 0.5, Out: 0.75}} {
				w.read(p, float64(2+i), 0)
				p.Readings[i].Gauge = &g
			}
			w.off(p, days(8), Worn)
		}, Unit{Load: 120_000, Good: 60_000, Found: true, Cause: Worn}},
		"broke is when it broke": {func(w *world, p *PartCase) {
			w.read(p, 3, 0.55)
			w.off(p, days(8), Broke)
		}, Unit{Load: 240_000, Cause: Broke}},
		"running past its limit": {func(w *world, p *PartCase) {
			w.read(p, 3, 0.2)
			w.read(p, 6, 0.55)
		}, Unit{Load: 90_000}},
		"came used": {func(w *world, p *PartCase) {
			p.Stays[0].Opening = turns(100_000)
			w.off(p, days(5), Lost)
		}, Unit{Load: 290_000, Entry: 140_000, Cause: Lost}}, // unmarked ground weighs 1.4
		"ended after the day of the case": {func(w *world, p *PartCase) {
			w.off(p, days(30), Worn)
		}, Unit{Load: 300_000}},
	}
	for name, c := range cases {
		w, chain := chainOfTenDays(t)
		c.do(w, chain)
		c.want.Name = "chain-1"
		got := lifeOf(t, w, "chain-1")
		assert.Equal(t, c.want, got.Unit, name)
		assert.Equal(t, CountTurns, got.By, name)
	}
}

// Mud wears as three times the dry, the schedule's expectation is that of the
// bike's chains, and a part that went to another bike is that bike's.
func TestLifeUnitsFollowTheSchedule(t *testing.T) {
	w, chain := chainOfTenDays(t)
	w.off(chain, days(8), Worn)
	second := w.fit("chain", days(8))
	w.ride(15, Mud, turns(10_000))
	l := lifeOf(t, w, second.Part.Name)
	assert.Equal(t, 60_000+30_000.0, l.Load)
	assert.Equal(t, 320_000.0, l.Expect, "0.5 % of a 12-speed chain")
	w.fit("headset", days(0))
	assert.Len(t, LifeUnits(w.build(), Default()), 2, "nothing tells a headset's life")
	second.Stays[0].To = days(12)
	second.Stays = append(second.Stays, Stay{Part: second.Part.ID, Host: 77, From: days(12), To: Never})
	assert.Len(t, LifeUnits(w.build(), Default()), 1)
}

// From rides to the figure that takes the schedule's place.
func TestPartLifeOfABikesChains(t *testing.T) {
	w := newWorld(t, 400)
	for i := range 12 {
		from := float64(i) * 30
		chain := w.fit("chain", days(from))
		chain.Part.Name = fmt.Sprintf("chain-%d", i+1)
		for d := range 30 {
			w.ride(from+float64(d)+0.5, Dry, turns(8_000+float64(i%5)*1_000))
		}
		w.look(chain, from+24, Good)
		w.off(chain, days(from+30), Worn)
	}
	var units []Unit
	for _, l := range LifeUnits(w.build(), Default()) {
		units = append(units, l.Unit)
	}
	require.Len(t, units, 12)
	r, err := PartLife(units)
	require.NoError(t, err)
	assert.InDelta(t, 27*10_000, r.Prior.Median, 30_000, "between day 24 and day 30 at 8,000 to 12,000 a day")
	assert.Greater(t, r.Prior.LogSD, 0.05)
	assert.Less(t, r.Prior.LogSD, 0.45, "tighter than the schedule's spread")
}

// A part's life is the same whether it is told from ring and cassette alone or
// from all that the bike has and had.
func TestLifeUnitsAskOnlyWhatTheyNeed(t *testing.T) {
	met := 0
	rapid.Check(t, func(rt *rapid.T) {
		w := randomWorld(t, rt)
		w.bike.Speeds = rapid.SampledFrom([]int{0, 10, 12}).Draw(rt, "speeds")
		for _, p := range w.parts {
			if p.Part.Kind == "cassette" {
				p.Part.Cogs = twelve
			}
			p.Part.Narrow = rapid.Bool().Draw(rt, "narrow")
		}
		c := w.build()
		if c.First != Ever {
			c = inGears(t, c, Gears{ByDevelopment: []Gear{onCog(51, rapid.Float64Range(0, 30_000).Draw(rt, "low")), onCog(14, 8000)}})
		}
		var want []PartLoad
		for _, list := range [][]PartCase{c.Past, c.Parts} {
			for i := range list {
				all := c
				all.Parts = []PartCase{list[i]}
				for k := range c.Parts {
					if c.Parts[k].Part.Kind != list[i].Part.Kind {
						all.Parts = append(all.Parts, c.Parts[k])
					}
				}
				if l, ok := lifeUnit(&all, Default(), nil); ok {
					want = append(want, l)
				}
			}
		}
		assert.Equal(t, want, LifeUnits(c, Default()))
		met += len(want)
	})
	assert.Positive(t, met)
}
