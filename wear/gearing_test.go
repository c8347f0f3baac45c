package wear

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// on is the index of the only cog that a development falls on; -1 = on none.
func (g Gearing) on(metres float64) int {
	on := g.Fold(Gears{ByDevelopment: []Gear{{Bin: DevelopmentBin(metres), Turns: 1}}})
	return slices.Index(on.Turns, 1)
}

// Computed: a 32-tooth ring and a wheel of 2.326 m. A wheel that is 3 % off,
// which is what tyre sizes are good for, takes no gear to another cog.
func TestEveryDevelopmentOfATableFindsItsCog(t *testing.T) {
	g := Gearing{Ring: 32, Wheel: 2.326}
	table := rows(t, "development_32t.csv")
	for _, row := range table {
		g.Cogs = append(g.Cogs, int(figure(t, row["cog"])))
	}
	for i, row := range table {
		dev := figure(t, row["dev_m"])
		assert.InDelta(t, dev, float64(g.Ring)*g.Wheel/float64(g.Cogs[i]), 5e-6)
		for _, off := range []float64{1, 0.97, 1.03} {
			off := Gearing{g.Ring, g.Cogs, g.Wheel * off}
			assert.Equal(t, i, off.on(dev), "%d teeth, wheel %g", g.Cogs[i], off.Wheel)
		}
	}
	assert.Equal(t, -1, g.on(32*2.326/60), "no cog has 60 teeth")
	assert.Equal(t, -1, g.on(32*2.326/9))
	assert.Equal(t, -1, Gearing{0, g.Cogs, g.Wheel}.on(2.326), "39/14 and 53/19 develop the same: without the ring no cog is known")
	assert.Equal(t, -1, Gearing{32, g.Cogs, 0}.on(2.326))
}

// Published gear inches (cycletourist.com/gearchart) with three rings on a
// 26-inch wheel: the development of each is on its cog.
func TestPublishedGearsFindTheirCog(t *testing.T) {
	byRing := map[int]Gearing{}
	table := rows(t, "gears.csv")
	for _, row := range table {
		ring := int(figure(t, row["ring"]))
		g := byRing[ring]
		g.Ring, g.Wheel, g.Cogs = ring, 26*0.0254*math.Pi, append(g.Cogs, int(figure(t, row["cog"])))
		byRing[ring] = g
	}
	for _, row := range table {
		g := byRing[int(figure(t, row["ring"]))]
		slices.Sort(g.Cogs)
		dev := figure(t, row["gear_in_published"]) * 0.0254 * math.Pi
		assert.InEpsilon(t, figure(t, row["development_m"]), dev, 2e-4)
		i := g.on(dev)
		require.GreaterOrEqual(t, i, 0, "%v", row)
		assert.Equal(t, figure(t, row["cog"]), float64(g.Cogs[i]), "%v", row)
	}
}

func TestWhatIsBelievedOfARide(t *testing.T) {
	gear := func(turns int64) []Gear { return []Gear{{Bin: 70, Turns: turns}} }
	for name, c := range map[string]struct {
		g        Gears
		recorded bool
	}{
		"both":             {Gears{ByDevelopment: gear(90), ByNumber: gear(100)}, true},
		"numbers alone":    {Gears{ByNumber: gear(1)}, true},
		"half as many":     {Gears{ByDevelopment: gear(100), ByNumber: gear(50)}, true},
		"just less":        {Gears{ByDevelopment: gear(100), ByNumber: gear(49)}, false},
		"dead battery":     {Gears{ByDevelopment: gear(100), ByNumber: gear(0)}, false},
		"no electric gear": {Gears{ByDevelopment: gear(100)}, false},
	} {
		t.Run(name, func(t *testing.T) {
			c.g.Teeth = gear(7)
			told := c.g.Told()
			if c.recorded {
				assert.Equal(t, Gears{ByNumber: c.g.ByNumber, Teeth: c.g.Teeth}, told)
			} else {
				assert.Equal(t, Gears{ByDevelopment: c.g.ByDevelopment}, told)
			}
		})
	}
}

func TestRecordedNumbersCountFromTheInnermostCog(t *testing.T) {
	g := Gearing{Ring: 32, Cogs: twelve, Wheel: 2.326}
	on := g.Fold(Gears{ByNumber: []Gear{{Bin: 1, Turns: 1, Work: 10}, {Bin: 64 + 12, Turns: 3, Work: 30}, {Bin: 13, Turns: 5, Work: 50}}})
	assert.Equal(t, int64(1), on.Turns[11], "number 1 is the 51")
	assert.Equal(t, int64(3), on.Turns[0], "whatever the front")
	assert.Equal(t, OnCogs{Turns: on.Turns, Work: on.Work, Recorded: 4, Lost: 5, LostWork: 50}, on, "there is no 13th cog")
}

// Whatever is folded, nothing is lost or made, and the order does not matter.
func TestFoldingLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gears := rapid.SliceOf(rapid.Custom(func(t *rapid.T) Gear {
			return Gear{rapid.Int16Range(-64, 300).Draw(t, "bin"), rapid.Int64Range(0, 1e9).Draw(t, "turns"), rapid.Int64Range(0, 1e9).Draw(t, "work")}
		}))
		all := Gears{ByDevelopment: gears.Draw(t, "developments"), ByNumber: gears.Draw(t, "numbers")}
		g := Gearing{rapid.IntRange(0, 60).Draw(t, "ring"), twelve, rapid.Float64Range(0, 3).Draw(t, "wheel")}
		on := g.Fold(all)
		turns, work := on.Sum()
		var wantTurns, wantWork int64
		for _, gear := range slices.Concat(all.ByDevelopment, all.ByNumber) {
			wantTurns, wantWork = wantTurns+gear.Turns, wantWork+gear.Work
		}
		if turns+on.Lost != wantTurns || work+on.LostWork != wantWork {
			t.Fatalf("%d turns and %d J of %d and %d", turns+on.Lost, work+on.LostWork, wantTurns, wantWork)
		}
		slices.Reverse(all.ByDevelopment)
		slices.Reverse(all.ByNumber)
		assert.Equal(t, on, g.Fold(all))
	})
}

func TestBend(t *testing.T) {
	assert.InDelta(t, 1, Bend(32, 21), 1e-15)
	assert.InDelta(t, (1./30+1./10)/(1./32+1./21), Bend(30, 10), 1e-15)
	assert.Greater(t, Bend(32, 10), Bend(32, 51))
	assert.Greater(t, Bend(28, 21), Bend(36, 21), "a large ring spares the chain")
}

// ridesOn are steady turns on cogs, as noisy as real ones, whose wheel is so large.
func ridesOn(wheel float64, cogs ...int) []Ridden {
	turns := map[int16]int64{}
	for k, cog := range cogs {
		for off := -30; off <= 30; off++ { // a bell of 1.5 %
			dev := 32 * wheel / float64(cog) * math.Exp(0.001*float64(off))
			turns[DevelopmentBin(dev)] += int64(float64(20_000+5_000*k) * math.Exp(-float64(off*off)/450))
		}
	}
	r := Ridden{Ring: 32, Cogs: twelve}
	for bin, n := range turns {
		r.Gears = append(r.Gears, Gear{Bin: bin, Turns: n})
	}
	slices.SortFunc(r.Gears, func(x, y Gear) int { return int(x.Bin) - int(y.Bin) })
	return []Ridden{r}
}

func TestFindWheel(t *testing.T) {
	for _, wheel := range []float64{2.17, 2.233, 2.326, 2.38} {
		found, err := FindWheel(ridesOn(wheel, 14, 16, 18, 21, 24, 28), 2.28)
		require.NoError(t, err)
		assert.InEpsilon(t, wheel, found, 0.005)
		again, err := FindWheel(ridesOn(wheel, 14, 16, 18, 21, 24, 28), found)
		require.NoError(t, err)
		assert.InEpsilon(t, found, again, 1e-3, "found again from where it was found")
	}
	small := ridesOn(2.3, 14, 16, 18, 21)
	for i := range small[0].Gears {
		small[0].Gears[i].Turns /= 1000
	}
	two, past := ridesOn(2.3, 18, 21), ridesOn(2.5, 10)
	for _, r := range slices.Concat(two, past) {
		for i := range r.Gears {
			r.Gears[i].Turns *= 10
		}
	}
	for name, c := range map[string]struct {
		rides []Ridden
		says  string
	}{
		"nothing ridden": {nil, "0 turns of steady pedalling with known ring and cassette: 2,000 are needed"},
		"too little":     {small, "are needed"},
		"no ring":        {[]Ridden{{Gears: two[0].Gears, Cogs: twelve}}, "0 turns"},
		"two cogs":       {two, "too few cogs were ridden"},
		"far from near":  {past, "look at the teeth of ring and cassette"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := FindWheel(c.rides, 2.28)
			require.Error(t, err)
			assert.Contains(t, err.Error(), c.says)
		})
	}
}
