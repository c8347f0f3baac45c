package wear

import (
	"cmp"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ridden is a bike with a chain that is ridden 1,000 turns a day on dry ground
// and reads on a line of 0.06 % + perLoad % in 100,000 turns on the days given.
func ridden(t *testing.T, today float64, perLoad float64, at ...float64) (*world, *PartCase) {
	w := newWorld(t, today)
	chain := w.fit("chain", days(0))
	for i := range int(today) {
		w.ride(float64(i)+0.1, Dry, turns(1000))
	}
	for _, day := range at {
		w.read(chain, day, 0.06+perLoad*day/100)
	}
	return w, chain
}

func rising(t *testing.T, r Range) {
	t.Helper()
	require.NotNil(t, r.P10)
	require.NotNil(t, r.P50)
	require.NotNil(t, r.P90)
	assert.Less(t, *r.P10, *r.P50)
	assert.Less(t, *r.P50, *r.P90)
}

func TestThreeReadingsTellTheWeek(t *testing.T) {
	w, _ := ridden(t, 150, 0.2, 50, 100, 149.5)
	f := w.judged("chain", "change")
	// 0.44 % at 0.2 % in 100,000 turns is 220,000 turns; 150,000 are done.
	rising(t, f.LoadLeft)
	assert.Equal(t, "turns", f.LoadUnit)
	assert.InDelta(t, 70_000, *f.LoadLeft.P50, 20_000, "what such chains last still pulls a little")
	rising(t, f.Left)
	assert.InDelta(t, 0.5-0.36, *f.Left.P50, 0.03)
	require.NotNil(t, f.Date.P50)
	assert.Less(t, *f.Date.P10, *f.Date.P50)
	assert.Less(t, *f.Date.P50, *f.Date.P90)
	assert.InDelta(t, *f.LoadLeft.P50/1000, f.Date.P50.DaysSince(w.today), 1)
	assert.Equal(t, Fine, f.Verdict)
	assert.Less(t, f.Chance, likely)
}

func TestOrderFromAFifthWithinTheLeadTime(t *testing.T) {
	last, ordered := 0.0, false
	for today := 150.0; today < 230; today += 5 {
		w, _ := ridden(t, today, 0.2, 50, 100, 149.5)
		f := w.judged("chain", "change")
		assert.GreaterOrEqual(t, f.Chance, last)
		assert.Equal(t, f.Chance >= likely, f.Verdict == Order, "day %g: %v", today, f.Chance)
		last, ordered = f.Chance, ordered || f.Verdict == Order
		for _, lead := range []float64{1, 200} {
			s := *Default()
			s.LeadDays = lead
			i := slices.IndexFunc(Assess(w.build(), &s), func(f Finding) bool { return f.Kind == "chain" && f.Job == "change" })
			require.GreaterOrEqual(t, i, 0)
			if g := Assess(w.build(), &s)[i]; lead == 1 {
				assert.LessOrEqual(t, g.Chance, f.Chance)
			} else {
				assert.GreaterOrEqual(t, g.Chance, f.Chance)
			}
		}
	}
	assert.True(t, ordered)
}

func TestReadingsNarrowTheRange(t *testing.T) {
	width := func(at ...float64) float64 {
		w, _ := ridden(t, 150, 0.14, at...)
		f := w.judged("chain", "change")
		return math.Log(*f.LoadLeft.P90 / *f.LoadLeft.P10)
	}
	none, one, three := width(), width(149), width(50, 100, 149)
	assert.Less(t, one, none)
	assert.Less(t, three, one)
}

func TestAPartNotMeasuredYetHasTheRangeOfWhatSuchPartsLast(t *testing.T) {
	w, _ := ridden(t, 20, 0)
	f := w.judged("chain", "change")
	assert.Equal(t, Fine, f.Verdict)
	rising(t, f.Left)
	assert.InEpsilon(t, 300_000, *f.Left.P50, 0.02)
	assert.InEpsilon(t, 320_000*math.Exp(-normal90*rateSpread)-20_000, *f.Left.P10, 0.05)
	assert.Zero(t, f.Chance, "the reading comes first")
	assert.Contains(t, f.Notes, "not measured yet")
}

func TestUnmarkedGroundWidensThePrior(t *testing.T) {
	spread := func(g Ground) float64 {
		w := newWorld(t, 30)
		w.fit("chain", days(0))
		w.ride(1, g, turns(1000))
		f := w.judged("chain", "change")
		return math.Log(*f.Left.P90 / *f.Left.P10)
	}
	assert.InEpsilon(t, rateUnmarked/rateSpread, spread(Unmarked)/spread(Dry), 0.05)
}

// worn gives the bike an earlier chain that read on a line of its own.
func worn(w *world, from, perLoad float64) {
	chain := w.fit("chain", days(from))
	for _, day := range []float64{20, 40, 60} {
		w.read(chain, from+day, 0.06+perLoad*day/100)
	}
	w.off(chain, days(from+60), Worn)
}

func TestEarlierChainsOfTheBikeMoveThePrior(t *testing.T) {
	life := func(perLoad float64, chains int) (f Finding) {
		w := newWorld(t, 200)
		for i := range 199 {
			w.ride(float64(i)+0.1, Dry, turns(1000))
		}
		for i := range chains {
			worn(w, float64(i)*60, perLoad)
		}
		w.fit("chain", days(199))
		return w.judged("chain", "change")
	}
	none, fast, faster, slow := life(0, 0), life(0.5, 1), life(0.5, 3), life(0.06, 3)
	assert.InEpsilon(t, 320_000, *none.Left.P50, 0.02)
	assert.Less(t, *fast.Left.P50, 0.75**none.Left.P50)
	assert.Less(t, *faster.Left.P50, *fast.Left.P50)
	assert.InEpsilon(t, 88_000, *faster.Left.P50, 0.35, "0.44 %% at 0.5 %% in 100,000 turns")
	assert.Greater(t, *slow.Left.P50, 1.2**none.Left.P50)
	width := func(f Finding) float64 { return *f.Left.P90 / *f.Left.P10 }
	assert.Less(t, width(faster), width(none))
}

func TestAChainThatChangedBikesKeepsItsWearAndTakesTheBikesRate(t *testing.T) {
	const other ID = 2
	moved := func(perLoad float64) (Finding, *PartCase) {
		w := newWorld(t, 200)
		for i := range 199 {
			w.ride(float64(i)+0.1, Dry, turns(1000))
		}
		worn(w, 0, 0.15)
		chain := w.fit("chain", days(150))
		chain.Stays = []Stay{{Part: chain.Part.ID, Host: other, From: days(0), To: days(150)}, chain.Stays[0]}
		w.read(chain, 75, 0.06+perLoad*75/100)
		w.read(chain, 149.5, 0.06+perLoad*149.5/100)
		c := w.build()
		c.Lines[other] = w.timeline()
		fs := Assess(c, Default())
		return fs[slices.IndexFunc(fs, func(f Finding) bool { return f.Part == chain.Part.Name && f.Job == "change" })], chain
	}
	f, _ := moved(0.2)
	// It came with 0.36 %; 0.15 % in 100,000 turns is this bike's way.
	assert.InDelta(t, 0.5-0.36-0.05*1.5, *f.Left.P50, 0.04)
	easy, _ := moved(0.05)
	assert.Greater(t, *easy.LoadLeft.P50, 1.8**f.LoadLeft.P50)
}

func TestAUsedPartStartsWorn(t *testing.T) {
	left := func(opening Load) Finding {
		w := newWorld(t, 30)
		chain := w.fit("chain", days(0))
		chain.Stays[0].Opening = opening
		w.ride(1, Dry, turns(1000))
		return w.judged("chain", "change")
	}
	none, some, unknown := left(Load{}), left(turns(80_000)), left(km(1000))
	assert.Less(t, *some.LoadLeft.P50, *none.LoadLeft.P50-80_000)
	assert.InEpsilon(t, (0.5-chainUsed)/0.44*320_000, *unknown.LoadLeft.P50, 0.1)
	assert.Less(t, *unknown.LoadLeft.P10, 0.4**unknown.LoadLeft.P50)
}

func TestAGaugeToo(t *testing.T) {
	w, chain := ridden(t, 150, 0.2)
	gauge := func(day, in, out float64) {
		w.next++
		g := &Gauge{In: in, Out: out, Points: 3}
		chain.Readings = append(chain.Readings, Reading{ID: w.next, Part: chain.Part.ID, Bike: bikeID, At: days(day), Of: Elongation,
			Value: g.middle(), Tool: toolGauge, Gauge: g})
	}
	before := w.judged("chain", "change")
	gauge(120, 0, 0.25)
	out := w.judged("chain", "change")
	assert.Greater(t, *out.LoadLeft.P50, *before.LoadLeft.P50)
	gauge(149, 0.25, 0.5)
	in := w.judged("chain", "change")
	rising(t, in.LoadLeft)
	assert.Less(t, *in.LoadLeft.P50, *out.LoadLeft.P50)
	assert.Equal(t, Fine, in.Verdict)
}

func TestADoubtfulReadingIsKeptOut(t *testing.T) {
	w, chain := ridden(t, 150, 0.2, 50, 100, 149)
	want := w.judged("chain", "change")
	w.read(chain, 120, 0.05)
	chain.Readings[3].Doubtful = true
	assert.Equal(t, want, w.judged("chain", "change"))
}

func TestMeasuringOnceMoreIsDueWhenTheForecastIsPastTheLimit(t *testing.T) {
	w, chain := ridden(t, 150, 0.2, 50, 100, 149)
	for i := range 100 {
		w.ride(150+float64(i)/100, Dry, turns(1000))
	}
	w.today = days(152)
	assert.Equal(t, Order, w.judged("chain", "change").Verdict, "a forecast condemns no chain")
	f := w.judged("chain", "measure")
	assert.Equal(t, Due, f.Verdict)
	w.read(chain, 151.5, 0.45)
	assert.Equal(t, Fine, w.judged("chain", "measure").Verdict)
}

func TestPadsRotorsAndKnobsToo(t *testing.T) {
	for kind, c := range map[string]struct {
		l    Load
		v    []float64
		unit string
	}{
		"rear-pads":   {mj(0.05), []float64{1.8, 1.6, 1.4}, "J"},
		"front-rotor": {mj(0.3), []float64{1.78, 1.72, 1.66}, "J"},
		"rear-tyre":   {km(8), []float64{3.6, 3.2, 2.8}, "m"},
	} {
		w := newWorld(t, 90)
		p := w.fit(kind, days(0))
		w.daily(90, c.l)
		for i, v := range c.v {
			w.read(p, 29.5+30*float64(i), v)
		}
		f := w.judged(kind, "change")
		assert.Equal(t, c.unit, f.LoadUnit, kind)
		rising(t, f.LoadLeft)
		rising(t, f.Left)
		require.NotNil(t, f.Date.P50, kind)
		assert.InDelta(t, 65, f.Date.P50.DaysSince(w.today), 40, kind)
	}
}

func TestTheForecastStandsStillForABikeThatDoes(t *testing.T) {
	w, _ := ridden(t, 100, 0.2, 50, 99)
	w.today = days(250)
	f := w.judged("chain", "change")
	assert.Nil(t, f.Date.P50)
	assert.NotNil(t, f.LoadLeft.P50)
	assert.Contains(t, f.Notes, "not ridden in the last 12 weeks: no date")
}

func TestUnreadPartsShareOneCurve(t *testing.T) {
	a, b := chainPrior(), chainPrior()
	b.rate -= 1
	assert.Same(t, a.unread(0.72).p, b.unread(0.72).p)
	own := a.fit(&evidence{}).steady(0.72)
	for _, q := range []float64{0.05, 0.1, 0.5, 0.9, 0.95} {
		assert.InEpsilon(t, own.quantile(q), a.unread(0.72).quantile(q), 1e-3)
		assert.InEpsilon(t, math.E*own.quantile(q), b.unread(0.72).quantile(q), 1e-3)
	}
}

// The worst of several places decides, their mean feeds the line.
func TestPlacesFeedTheLineByTheirMean(t *testing.T) {
	one, _ := ridden(t, 150, 0.2, 50, 100, 149)
	three, chain := ridden(t, 150, 0.2, 50, 100, 149)
	for i := range chain.Readings {
		v := chain.Readings[i].Value
		chain.Readings[i].Places = []float64{v - 0.02, v, v + 0.02}
	}
	a, b := one.judged("chain", "change"), three.judged("chain", "change")
	assert.InEpsilon(t, *a.LoadLeft.P50, *b.LoadLeft.P50, 0.15)
	assert.Less(t, *b.LoadLeft.P90-*b.LoadLeft.P10, *a.LoadLeft.P90-*a.LoadLeft.P10)
	assert.InDelta(t, a.Used+0.02, b.Used, 1e-9)
}

func TestForecastSameWhateverTheOrderOfFacts(t *testing.T) {
	build := func(r *rand.Rand) Case {
		w := newWorld(t, 400)
		for i := range 390 {
			w.ride(float64(i)+0.1, Ground(i%6), turns(900+float64(i)))
		}
		for i := range 5 {
			worn(w, float64(i)*62, 0.1+0.05*float64(i))
		}
		chain := w.fit("chain", days(330))
		for i := range 6 {
			w.read(chain, 340+8*float64(i), 0.1+0.03*float64(i))
			chain.Readings[i].Tool = []string{"ruler", "caliper"}[i%2]
		}
		c := w.build()
		if r != nil {
			r.Shuffle(len(c.Past), func(i, j int) { c.Past[i], c.Past[j] = c.Past[j], c.Past[i] })
			for _, p := range append(c.Past, c.Parts...) {
				r.Shuffle(len(p.Readings), func(i, j int) { p.Readings[i], p.Readings[j] = p.Readings[j], p.Readings[i] })
			}
		}
		return c
	}
	want := Assess(build(nil), Default())
	for seed := range uint64(4) {
		assert.Equal(t, want, Assess(build(rand.New(rand.NewPCG(seed, 2))), Default()))
	}
}

// A fleet is assessed side by side.
func TestForecastsInParallelAreTheSame(t *testing.T) {
	w, _ := ridden(t, 150, 0.2, 50, 100, 149)
	c := w.build()
	want := Assess(c, Default())
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() { assert.Equal(t, want, Assess(c, Default())) })
	}
	wg.Wait()
}

// measuredBike has 16 parts of which chain, pads and tyre were measured three times.
func measuredBike(tb testing.TB) Case {
	w := fullBike(&testing.T{})
	for i, kind := range []string{"chain", "rear-pads", "rear-tyre"} {
		k := slices.IndexFunc(w.parts, func(p *PartCase) bool { return p.Part.Kind == kind && p.Part.End == nil })
		require.GreaterOrEqual(tb, k, 0)
		p := w.parts[k]
		p.Readings = nil
		for n := range 3 {
			w.read(p, 100+30*float64(n), [][]float64{{0.2, 0.26, 0.35}, {1.7, 1.5, 1.3}, {3.5, 3.1, 2.7}}[i][n])
		}
	}
	c := w.build()
	c.Past = nil
	slices.SortFunc(c.Parts, func(x, y PartCase) int { return cmp.Or(len(y.Readings)-len(x.Readings), int(x.Part.ID)-int(y.Part.ID)) })
	c.Parts = c.Parts[:16]
	return c
}

// For the three readings of a part; 0.2 ms is what is promised.
func BenchmarkForecastExact(b *testing.B) { benchmarkForecast(b, threeReadings()) }

// The same of a gauge; 0.8 ms is what is promised.
func BenchmarkForecastGauge(b *testing.B) { benchmarkForecast(b, threeGauged()) }

func benchmarkForecast(b *testing.B, e *evidence) {
	p := paceOf([]weekly{{6000, 7}, {7000, 7}, {3000, 7}, {5000, 7}}, weekly{})
	b.ReportAllocs()
	for b.Loop() {
		c := course{prior: chainPrior(), gait: gaitOf(simReadingLimit()), evidence: *e}
		c.work()
		for _, q := range []float64{0.1, 0.5, 0.9} {
			c.curve.quantile(q)
			p.days(c.curve, 360_000, q)
		}
	}
}

// A bike with 16 parts, three of them measured; 0.8 ms is what is promised.
func BenchmarkAssessMeasured(b *testing.B) {
	c, s := measuredBike(b), Default()
	b.ReportAllocs()
	for b.Loop() {
		Assess(c, s)
	}
}

// 10,000 such bikes on all cores; 5 s on two is what is promised.
func BenchmarkAssessFleet(b *testing.B) {
	c, s := measuredBike(b), Default()
	b.ReportAllocs()
	for b.Loop() {
		var wg sync.WaitGroup
		for w := range runtime.GOMAXPROCS(0) {
			wg.Go(func() {
				for i := w; i < 10_000; i += runtime.GOMAXPROCS(0) {
					Assess(c, s)
				}
			})
		}
		wg.Wait()
	}
}
