package wear

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// needed are the lines of what the worlds need in so many weeks.
func needed(weeks float64, worlds ...*world) []OrderLine {
	var needs []*Need
	for _, w := range worlds {
		needs = append(needs, Needs(w.build(), Default())...)
	}
	return Orders(needs, OrderQuery{Weeks: weeks, Service: 0.95})
}

func orderOf(t *testing.T, lines []OrderLine, kind string) OrderLine {
	t.Helper()
	i := slices.IndexFunc(lines, func(l OrderLine) bool { return l.Kind == kind })
	require.GreaterOrEqual(t, i, 0, "no line for %s", kind)
	return lines[i]
}

func TestAPartThatIsDueIsNeededForCertain(t *testing.T) {
	w, chain := ridden(t, 100, 0.1, 50)
	before := orderOf(t, needed(6, w), "chain")
	assert.Less(t, before.Need, 0.9)
	w.read(chain, 99.9, 0.6)
	l := orderOf(t, needed(6, w), "chain")
	assert.InDelta(t, 1, l.Need, 0.01, "the next one does not wear out in 8 weeks")
	assert.Equal(t, []int{1, 1, 1}, []int{l.P10, l.P90, l.Hold})
	require.Len(t, l.Bikes, 1)
	assert.Equal(t, Asker{"enduro", "chain-1", 1, NeedDue, nil}, l.Bikes[0])
	assert.Equal(t, []string{"1 due now"}, l.Says())

	w.statuses = []Status{{Bike: bikeID, At: days(99), Is: Held}}
	assert.Equal(t, l, orderOf(t, needed(6, w), "chain"), "a bike that is held needs what it needs")
	w.statuses = []Status{{Bike: bikeID, At: days(99), Is: Retired}}
	assert.Empty(t, needed(6, w), "a retired one nothing")
}

func TestALookThatSaysReplaceNeedsThePart(t *testing.T) {
	for _, kind := range []string{"ring", "guide", "frame", "bottom-bracket"} {
		w := newWorld(t, 10)
		w.look(w.fit(kind, days(0)), 5, Replace)
		l := orderOf(t, needed(2, w), kind)
		assert.InDelta(t, 1, l.Need, 1e-9, kind)
		assert.Equal(t, 1, l.Hold, kind)
	}
	w := newWorld(t, 10)
	w.fit("guide", days(0))
	assert.Empty(t, needed(52, w), "of a guide nothing tells but a look")
}

func TestAChangeThatWasDeclinedIsNotOrdered(t *testing.T) {
	w := newWorld(t, 60)
	ring := w.fit("ring", days(0))
	w.look(ring, 5, Replace)
	w.decline(ring, 6, "change")
	for _, l := range needed(2, w) {
		assert.Less(t, l.Need, 0.01, l.Kind)
	}
}

// A cable is changed every 365 days: the day falls into the weeks and the lead
// time of 14 days, or it does not; in a long window it comes twice.
func TestWhatADayChangesIsCertain(t *testing.T) {
	for _, c := range []struct {
		age, weeks float64
		want       float64
	}{{365 - 43, 4, 0}, {365 - 42, 4, 1}, {400, 4, 1}, {365 - 41, 4, 1}, {100, 52, 1}, {365 - 12, 52, 2}, {365 - 14, 52, 1}} {
		w := newWorld(t, c.age)
		w.fit("cable", days(0))
		l := orderOf(t, needed(c.weeks, w), "cable")
		assert.InDelta(t, c.want, l.Need, 1e-9, "%g days old, %g weeks", c.age, c.weeks)
		assert.InDelta(t, 7*c.weeks+14, l.Days, 0)
		assert.Equal(t, int(c.want), l.Hold)
	}
}

// The chance of a part over all seasons is the one that due tells: the season is
// a part of its spread, not added to it.
func TestTheSeasonsTogetherAreTheForecast(t *testing.T) {
	for _, rate := range []float64{0.08, 0.15, 0.25, 0.35} {
		w, _ := ridden(t, 150, rate, 50, 100, 149.5)
		f := w.judged("chain", "change")
		l := orderOf(t, needed(0, w), "chain")
		require.Equal(t, 14.0, l.Days)
		if f.Verdict < Due {
			assert.InDelta(t, f.Chance, 1-chanceOfNone(w, l), 0.01, "%g %%", rate)
		}
	}
}

func chanceOfNone(w *world, l OrderLine) float64 {
	n := Needs(w.build(), Default())[0]
	var none float64
	for i, z := range seasonAt {
		none += seasonWeight[i] * (1 - n.within(l.Days, z, seasonSpread).once)
	}
	return none
}

// Bikes that share a season need more at once than bikes that do not: with no
// spread of seasons the mixture is the plain sum.
func TestASeasonOfNoSpreadIsThePlainSum(t *testing.T) {
	var needs []*Need
	var plain []chances
	for i := range 40 {
		w, _ := ridden(t, 120+float64(i), 0.2, 50, 100)
		n := Needs(w.build(), Default())[0]
		needs = append(needs, n)
		plain = append(plain, n.own(70, 0, 0))
	}
	want := demandOf(plain)
	l := OrderLine{Days: 70}
	got := l.demand(needs, 0)
	for k := range 2*len(needs) + 1 {
		assert.InDelta(t, want.Chance(k), got.Chance(k), 1e-12)
	}
	l = OrderLine{Days: 70}
	spread := l.demand(needs, seasonSpread)
	assert.InDelta(t, want.Mean(), spread.Mean(), 0.02*want.Mean(), "the mean is the same")
	assert.Greater(t, spread.Hold(0.99), want.Hold(0.99), "the season hits all")
	var sum float64
	for k := range 2*len(needs) + 1 {
		sum += spread.Chance(k)
	}
	assert.InDelta(t, 1, sum, 1e-12)
}

const runOutText = "[[policy]]\ndrivetrain = \"run-out-together\""

// drivetrain is a bike with chain, ring and cassette and a chain that reads so.
func drivetrain(t *testing.T, reads float64) *world {
	w, chain := ridden(t, 100, 0.1)
	w.fit("ring", days(0)).Part.Teeth = 32
	w.fit("cassette", days(0))
	w.read(chain, 99.9, reads)
	return w
}

func TestRunOutTogetherIsOneEventOfThreeParts(t *testing.T) {
	w := drivetrain(t, 0.9)
	apart := needed(6, w)
	w.settings = []Setting{{Name: SettingSchedule, Scope: ForBook, Text: runOutText}}
	lines := needed(6, w)
	chain := orderOf(t, lines, "chain")
	assert.Greater(t, chain.Need, 0.1)
	assert.Less(t, chain.Need, 1.0)
	for _, kind := range []string{"ring", "cassette"} {
		l := orderOf(t, lines, kind)
		assert.Equal(t, chain.Need, l.Need, "%s goes with the chain", kind)
		assert.Greater(t, l.Need, orderOf(t, apart, kind).Need*0.999, kind)
		assert.Equal(t, 1, l.Set)
		assert.Contains(t, l.Notes[0], "on 1 bike chain, ring and cassette are run out together")
	}
	assert.Equal(t, []string{"ring", "cassette"}, chain.Bikes[0].Tied)

	w = drivetrain(t, 1.02)
	w.settings = []Setting{{Name: SettingSchedule, Scope: ForBook, Text: runOutText}}
	for _, kind := range []string{"chain", "ring", "cassette"} {
		assert.GreaterOrEqual(t, orderOf(t, needed(6, w), kind).Need, 1.0, "%s is due", kind)
	}
}

func TestAChainPastItsLimitTakesItsCassette(t *testing.T) {
	w := drivetrain(t, 0.76)
	l := orderOf(t, needed(6, w), "cassette")
	assert.InDelta(t, cassetteGoes, l.Need, 0.1)
	assert.Equal(t, 1, l.With)
	assert.Equal(t, []string{"chain"}, l.Bikes[0].Tied)
	assert.Contains(t, l.Notes[0], "the chain is past 0.75 %: 70 % likely that the cassette goes with it")
	w = drivetrain(t, 0.7)
	l = orderOf(t, needed(6, w), "cassette")
	assert.Less(t, l.Need, 0.1)
	assert.Zero(t, l.With)
}

// The chance of two in one window, against a fine sum over both lives.
func TestTwoInOneWindow(t *testing.T) {
	life := lifespan{median: 100, spread: 0.45}
	for _, c := range []struct{ now, load float64 }{{0, 150}, {50, 150}, {90, 200}, {0, 300}, {200, 80}} {
		w := way{now: c.now, first: life, next: life, lived: true}
		alive := life.survives(c.now)
		const n = 20_000
		var want float64
		for i := range n {
			x := c.load * (float64(i) + 0.5) / n
			ends := (life.survives(c.now+c.load*float64(i)/n) - life.survives(c.now+c.load*float64(i+1)/n)) / alive
			want += ends * (1 - life.survives(c.load-x))
		}
		got := w.after(c.load)
		exact := func(x float64) float64 { return math.Erfc(math.Log(x/100)/0.45/math.Sqrt2) / 2 }
		if c.now > 0 {
			assert.InDelta(t, 1-exact(c.now+c.load)/exact(c.now), got.once, 1e-5)
		}
		assert.InDelta(t, want, got.twice, 0.02*got.once, "from %g, over %g", c.now, c.load)
		assert.LessOrEqual(t, got.twice, got.once)
	}
	over := way{now: 1e7, first: life, next: life, lived: true}
	assert.Equal(t, 1.0, over.after(1).once, "past all that such a part lasts")
}

// More days never make a part less likely to be needed.
func TestNeedsGrowWithTheWindow(t *testing.T) {
	w := drivetrain(t, 0.3)
	w.fit("idler", days(0))
	w.fit("cable", days(-150))
	last := map[string]float64{}
	for weeks := range 30 {
		for _, l := range needed(float64(weeks), w) {
			assert.GreaterOrEqual(t, l.Need, last[l.Kind]-1e-9, "%s in %d weeks", l.Kind, weeks)
			assert.LessOrEqual(t, l.Need, 2.0)
			last[l.Kind] = l.Need
		}
	}
	assert.Len(t, last, 5)
	for kind, v := range last {
		assert.Positive(t, v, kind)
	}
}

func TestWhatNobodyMeasuredAndNothingTellsIsSaidNotCounted(t *testing.T) {
	w := newWorld(t, 30)
	w.fit("front-rotor", days(0))
	w.ride(1, Dry, hours(5))
	l := orderOf(t, needed(6, w), "front-rotor")
	assert.Zero(t, l.Need)
	assert.Zero(t, l.Hold)
	assert.Equal(t, []string{"1 part not measured yet, and the schedule does not say how long such a part lasts: not counted"}, l.Notes)
}

// A part life of the book takes the place of what the schedule expects.
func TestFleetLivesTakeThePlaceOfTheSchedule(t *testing.T) {
	w := newWorld(t, 200)
	for i := range 6 {
		ring := w.fit("ring", days(float64(20*i)))
		ring.Part.Model = "Round"
		w.off(ring, days(float64(20*i+20)), Worn)
	}
	w.fit("ring", days(120)).Part.Model = "round"
	for d := range 200 {
		w.ride(float64(d)+0.2, Dry, turns(2000+30*float64(d%20)))
	}
	for i := range w.parts { // lives that differ
		if end := w.parts[i].Part.End; end != nil {
			shift := Instant(i%3-1) * 4 * Day
			end.At += shift
			w.parts[i].Stays[0].To += shift
			if i+1 < len(w.parts) {
				w.parts[i+1].Stays[0].From += shift
			}
		}
	}
	c := w.build()
	lives := FleetLives(LifeUnits(c, Default()))
	require.Len(t, lives, 1)
	life := lives[LifeKey{"ring", "round", CountTurns}]
	require.Equal(t, 6, life.Failures)
	needs := Needs(c, Default())
	plain := orderOf(t, Orders(needs, OrderQuery{Weeks: 2, Service: 0.95}), "ring")
	here := orderOf(t, Orders(needs, OrderQuery{Weeks: 2, Service: 0.95, Lives: lives}), "ring")
	assert.Less(t, plain.Need, 0.01, "the schedule expects 1,000,000 turns")
	assert.Greater(t, here.Need, 0.9, "here they lasted some 45,000")
	assert.Equal(t, []string{"1 by how long 6 such parts lasted here"}, here.Says())
	again := orderOf(t, Orders(needs, OrderQuery{Weeks: 2, Service: 0.95}), "ring")
	assert.Equal(t, plain, again, "the needs stay as they were")
}

// Stock, lead time and price of a line, whatever the case of the model.
func TestOrderLinesTakeTheShelf(t *testing.T) {
	var worlds []*world
	for i := range 20 {
		w := newWorld(t, 400)
		w.bike.Name = string(rune('a' + i))
		w.fit("cable", days(0)).Part.Model = []string{"Slick", "slick"}[i%2]
		worlds = append(worlds, w)
	}
	var needs []*Need
	for _, w := range worlds {
		needs = append(needs, Needs(w.build(), Default())...)
	}
	shelf := Shelf{Kind: "cable", Model: "Slick", Counted: true, OnHand: 12, Price: 450, Lead: 30, Supplier: "Nail & Co"}
	q := OrderQuery{Weeks: 6, Service: 0.95, Shelves: map[ShelfKey]Shelf{KeyOf("cable", "Slick"): shelf}}
	lines := Orders(needs, q)
	require.Len(t, lines, 1)
	l := lines[0]
	assert.Equal(t, "Slick", l.Model)
	assert.Equal(t, []int{20, 20, 20, 8}, []int{l.P10, l.P90, l.Hold, l.Order})
	assert.InDelta(t, 72, l.Days, 0)
	assert.True(t, l.LeadSaid)
	assert.Equal(t, int64(8*450), l.Cost)
	assert.Len(t, l.Bikes, 20)
	slices.Reverse(needs)
	assert.Equal(t, lines, Orders(needs, q), "the order of the bikes does not matter")

	shelf.OnHand, shelf.Short = 0, 3
	q.Shelves[KeyOf("cable", "Slick")] = shelf
	assert.Contains(t, Orders(needs, q)[0].Notes, "3 more were fitted than the shelf can have had: count again")

	terms := map[ShelfKey]Shelf{KeyOf("cable", ""): {Kind: "cable", Counted: true, OnHand: 99, Price: 300, Lead: 21, Supplier: "Any"}}
	q.Shelves = terms
	l = Orders(needs, q)[0]
	assert.Equal(t, Shelf{Price: 300, Lead: 21, Supplier: "Any"}, l.Shelf, "what is said of the kind holds but for the number")
	assert.Equal(t, 20, l.Order)
}

// Whatever happened to a bike: what is due to be changed is needed for certain,
// nothing else is said to be due, and no chance leaves its bounds.
func TestNeedsAgreeWithWhatIsDue(t *testing.T) {
	met := 0
	rapid.Check(t, func(r *rapid.T) {
		c := randomWorld(t, r).build()
		due := map[string]bool{}
		for _, f := range Assess(c, Default()) {
			if f.Act == ActChange && f.Verdict >= Due {
				due[f.Part] = true
			}
		}
		needs := Needs(c, Default())
		for _, n := range needs {
			assert.Equal(t, due[n.Part], n.Basis == NeedDue, n.Part)
			delete(due, n.Part)
			before := 0.0
			for _, days := range []float64{0, 7, 56, 366} {
				o, _ := n.outlook(days, seasonSpread)
				for i := range seasonNodes {
					once, twice := o.once[i], o.twice[i]
					assert.True(t, 0 <= twice && twice <= once && once <= 1, "%s in %g days: %g, %g", n.Part, days, once, twice)
				}
				assert.GreaterOrEqual(t, o.any, before-1e-9, "%s in %g days", n.Part, days)
				before = o.any
			}
			met++
		}
		assert.Empty(t, due, "due and not needed")
	})
	assert.Positive(t, met)
}

// BenchmarkNeeds is what one bike with a full drivetrain asks for.
func BenchmarkNeeds(b *testing.B) {
	t := &testing.T{}
	w, chain := ridden(t, 300, 0.1)
	for day := 50.0; day < 300; day += 50 {
		w.read(chain, day, 0.1*day/100)
	}
	for _, kind := range []string{"ring", "cassette", "idler", "front-pads", "rear-pads", "front-tyre", "rear-tyre", "cable", "guide", "fork"} {
		w.fit(kind, days(0))
	}
	c := w.build()
	for b.Loop() {
		Needs(c, Default())
	}
}

// BenchmarkOrders10000 is ten thousand bikes of 14 kinds.
func BenchmarkOrders10000(b *testing.B) {
	var needs []*Need
	for i := range 10_000 {
		for k := range 14 {
			life := lifespan{median: 1000, spread: 0.5}
			now := 1000 * math.Mod(float64(i*14+k)*math.Phi, 1)
			w := way{now: now, first: life, next: life, lived: k%2 == 0, pace: pace{perDay: 5, spread: 0.3, weekly: 0.5}}
			n := &Need{Bike: "b", Kind: Default().kinds[k].Name, Lead: 14, Basis: NeedExpect}
			n.add(w, CountTurns)
			needs = append(needs, n)
		}
	}
	for b.Loop() {
		Orders(needs, OrderQuery{Weeks: 6, Service: 0.95})
	}
}
