package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// outings are the rides of the world from one instant to another.
func (w *world) outings(from, to Instant) []Outing {
	var list []Outing
	for _, r := range w.rides {
		if r.at >= from && r.at <= to {
			list = append(list, Outing{At: r.at, Way: r.l[Distance]})
		}
	}
	return list
}

// fitted signs a change of a part off and fits the new one.
func (w *world) fitted(old *PartCase, day float64, o SignOff) *PartCase {
	w.off(old, days(day), Worn)
	next := w.fit(old.Part.Kind, days(day))
	next.Part.Model = old.Part.Model
	w.next++
	o.ID, o.Part, o.Bike, o.At, o.Job, o.Fitted = w.next, old.Part.ID, bikeID, days(day), "change", next.Part.ID
	old.SignOffs = append(old.SignOffs, o)
	return next
}

// A bike of 100 days with a ride of 10 km each day, and a new chain on day 30,
// which cost 25.00 and took 20 minutes, and on day 60, of which neither was said.
func hundredDays(t *testing.T) (*world, [3]*PartCase) {
	w := newWorld(t, 100)
	w.bike.Price = 2000
	c1 := w.fit("chain", Ever)
	c1.Stays[0].Came = true
	c1.Part.Model = "Links 12"
	for d := range 100 {
		w.ride(float64(d)+0.5, Dry, hours(1))
	}
	c2 := w.fitted(c1, 30, SignOff{Cost: 2500, Minutes: 20, By: "Kim"})
	c3 := w.fitted(c2, 60, SignOff{})
	return w, [3]*PartCase{c1, c2, c3}
}

func wholeWindow(by CostBy) CostQuery { return CostQuery{By: by, From: days(0), To: days(100)} }

// By hand: 25.00 as entered and 24.00 by the list are 49.00; 20 minutes and the
// schedule's 15 are 35, at 60.00 an hour 35.00. 100 rides of 10 km are 1,000 km
// and 100 hire days: 84.00 per 1,000 km, 0.84 a day of 20.00.
func TestCostsByHand(t *testing.T) {
	w, _ := hundredDays(t)
	q := wholeWindow(ByKind)
	q.Prices = PricesOf([]Stock{{ID: 1, Kind: "chain", Model: "links 12", At: days(10), Price: 2400, Terms: true}}, days(100))
	c := w.build()
	b := CostsOf(c, Default(), q, w.outings(q.From, q.To))
	table := NewCostTable(q)
	table.Add(c.Bike, b)
	got := table.Costs()
	require.Len(t, got.Lines, 1)
	assert.Equal(t, Spent{Changes: 2, ByList: 1, Paid: 2500, Listed: 2400, Minutes: 35, Typical: 15}, got.Total.Spent)
	assert.Equal(t, got.Total.Spent, got.Lines[0].Spent)
	assert.EqualValues(t, 8400, got.Total.Spent.Cost(6000))
	per, ok := got.Total.PerWay(6000)
	assert.True(t, ok)
	assert.InDelta(t, 8400, per, 1e-9)
	day, ok := got.Total.PerDay(6000)
	assert.True(t, ok)
	assert.InDelta(t, 84, day, 1e-9)
	fare, ok := got.Total.FarePerDay()
	assert.True(t, ok)
	assert.InDelta(t, 2000, fare, 1e-9)
}

func TestCostsOfOneBike(t *testing.T) {
	later := []Stock{{ID: 1, Kind: "chain", At: days(90), Price: 2000, Terms: true}}
	cases := map[string]struct {
		do   func(w *world, p [3]*PartCase, q *CostQuery)
		want Spent
	}{
		"no price at all": {func(*world, [3]*PartCase, *CostQuery) {}, Spent{Changes: 2, NoPrice: 1, Paid: 2500, Minutes: 35, Typical: 15}},
		"a price of the kind, said later": {func(_ *world, _ [3]*PartCase, q *CostQuery) { q.Prices = PricesOf(later, days(100)) },
			Spent{Changes: 2, ByList: 1, Later: 1, Paid: 2500, Listed: 2000, Minutes: 35, Typical: 15}},
		"a price said after today": {func(_ *world, _ [3]*PartCase, q *CostQuery) { q.Prices = PricesOf(later, days(80)) },
			Spent{Changes: 2, NoPrice: 1, Paid: 2500, Minutes: 35, Typical: 15}},
		"the window begins between": {func(_ *world, _ [3]*PartCase, q *CostQuery) { q.From = days(30) + 1 },
			Spent{Changes: 1, NoPrice: 1, Minutes: 15, Typical: 15}},
		"its ends count": {func(_ *world, _ [3]*PartCase, q *CostQuery) { q.From, q.To = days(30), days(30) },
			Spent{Changes: 1, Paid: 2500, Minutes: 20}},
		"taken back": {func(_ *world, p [3]*PartCase, _ *CostQuery) { p[0].SignOffs[0].Void = true },
			Spent{Changes: 2, NoPrice: 2, Minutes: 30, Typical: 30}}, // the part is there: it was fitted
		"declined": {func(w *world, p [3]*PartCase, _ *CostQuery) {
			w.decline(p[2], 70, "clean")
			p[2].SignOffs[0].Cost = 900
		}, Spent{Changes: 2, NoPrice: 1, Paid: 2500, Minutes: 35, Typical: 15}},
		"other work": {func(w *world, p [3]*PartCase, _ *CostQuery) {
			w.signoff(p[2], 70, "clean")
			p[2].SignOffs[0].Cost = 300
		}, Spent{Changes: 2, NoPrice: 1, Jobs: 1, Paid: 2800, Minutes: 45, Typical: 25}},
		"work on another bike": {func(w *world, p [3]*PartCase, _ *CostQuery) {
			w.signoff(p[2], 70, "clean")
			p[2].SignOffs[0].Bike = 77
		}, Spent{Changes: 2, NoPrice: 1, Paid: 2500, Minutes: 35, Typical: 15}},
		"fitted without a sign-off": {func(w *world, _ [3]*PartCase, _ *CostQuery) { w.fit("dropper", days(50)) },
			Spent{Changes: 3, NoPrice: 2, Paid: 2500, Minutes: 35, Typical: 15, Untimed: 1}},
		"came used, or with the bike": {func(w *world, _ [3]*PartCase, _ *CostQuery) {
			w.fit("dropper", days(50)).Stays[0].Opening = hours(10)
			w.fit("saddle", days(50)).Stays[0].Came = true
		}, Spent{Changes: 2, NoPrice: 1, Paid: 2500, Minutes: 35, Typical: 15}},
		"another kind": {func(w *world, _ [3]*PartCase, q *CostQuery) { q.Kind = "ring" }, Spent{}},
		"an override of the minutes": {func(w *world, _ [3]*PartCase, _ *CostQuery) {
			w.settings = []Setting{{ID: 1, Name: SettingSchedule, Scope: ForKind, Key: "chain", At: Ever,
				Text: "[[job]]\nkind = \"chain\"\njob = \"change\"\nminutes = 8\n"}}
		}, Spent{Changes: 2, NoPrice: 1, Paid: 2500, Minutes: 28, Typical: 8}},
	}
	for name, tc := range cases {
		for _, by := range CostGroups {
			t.Run(name+" by "+string(by), func(t *testing.T) {
				w, p := hundredDays(t)
				q := wholeWindow(by)
				tc.do(w, p, &q)
				c := w.build()
				table := NewCostTable(q)
				table.Add(c.Bike, CostsOf(c, Default(), q, w.outings(q.From, q.To)))
				got := table.Costs()
				assert.Equal(t, tc.want, got.Total.Spent)
				var sum Spent
				for _, l := range got.Lines {
					sum = sum.Add(l.Spent)
				}
				assert.Equal(t, tc.want, sum, "the lines add up")
			})
		}
	}
}

// What was ridden with a part: 30, 30 and 40 days of three chains, one of them
// of another model; of the kind all of it once.
func TestCostsTellWhatWasRiddenWithAPart(t *testing.T) {
	w, p := hundredDays(t)
	p[2].Part.Model = "Links 13"
	spare := w.fit("chain", days(20)) // on at the same time: counted once
	spare.Stays[0].Came = true
	spare.Part.Model = "LINKS 12"
	c := w.build()
	q := wholeWindow(ByModel)
	b := CostsOf(c, Default(), q, w.outings(q.From, q.To))
	require.Len(t, b.Lines, 2)
	assert.Equal(t, "LINKS 12", b.Lines[0].Model)
	assert.EqualValues(t, 100*10*100_000, b.Lines[0].Way)
	assert.EqualValues(t, 40*10*100_000, b.Lines[1].Way)
	assert.Equal(t, 40, b.Lines[1].Days)
	q.By = ByKind
	b = CostsOf(c, Default(), q, w.outings(q.From, q.To))
	require.Len(t, b.Lines, 1)
	assert.EqualValues(t, 100*10*100_000, b.Lines[0].Way)
	assert.Equal(t, 100, b.Lines[0].Days)
}

// An odometer does not tell hire days: what such a bike costs is left out of
// the cost of a day, not of the cost of a kilometre.
func TestCostsOfAnOdometersBike(t *testing.T) {
	w, _ := hundredDays(t)
	c, q := w.build(), wholeWindow(ByDepot)
	table := NewCostTable(q)
	table.Add(Bike{Depot: "Lake"}, CostsOf(c, Default(), q, w.outings(q.From, q.To)))
	rest := []Outing{{At: days(40), Way: 50_000_000, Rest: true}, {At: days(80), Way: 50_000_000}}
	table.Add(Bike{Depot: "Lake"}, CostsOf(c, Default(), q, rest))
	table.Add(Bike{Depot: "Hill"}, CostsOf(c, Default(), q, nil))
	got := table.Costs()
	require.Len(t, got.Lines, 2)
	lake := got.Lines[0]
	assert.Equal(t, "Lake", lake.Name)
	assert.Equal(t, []int{2, 100, 1, 100}, []int{lake.Bikes, lake.Days, lake.Blind, lake.FareDays})
	day, _ := lake.PerDay(0)
	assert.InDelta(t, 25, day, 1e-9)
	way, _ := lake.PerWay(0)
	assert.InDelta(t, 2500, way, 1e-9)
	_, ok := got.Lines[1].PerWay(0)
	assert.False(t, ok)
	_, ok = got.Lines[1].PerDay(0)
	assert.False(t, ok)
}

// Two windows side by side cost what both together do, whatever the day
// between them, and bikes can be added in any order.
func TestCostsSplitAnywhere(t *testing.T) {
	w, p := hundredDays(t)
	w.signoff(p[2], 70, "clean")
	c := w.build()
	rapid.Check(t, func(rt *rapid.T) {
		by := rapid.SampledFrom(CostGroups).Draw(rt, "by")
		cut := days(0) + Instant(rapid.Int64Range(0, 100*Day).Draw(rt, "cut"))
		all, before, later := wholeWindow(by), wholeWindow(by), wholeWindow(by)
		before.To, later.From = cut-1, cut
		one, two := NewCostTable(all), NewCostTable(all)
		one.Add(c.Bike, CostsOf(c, Default(), all, w.outings(all.From, all.To)))
		parts := []CostQuery{before, later}
		if rapid.Bool().Draw(rt, "swap") {
			parts[0], parts[1] = parts[1], parts[0]
		}
		for _, q := range parts {
			two.Add(c.Bike, CostsOf(c, Default(), q, w.outings(q.From, q.To)))
		}
		a, b := one.Costs().Total, two.Costs().Total
		assert.Equal(rt, a.Spent, b.Spent)
		assert.Equal(rt, a.Way, b.Way)
		assert.GreaterOrEqual(rt, b.Days, a.Days)
		assert.LessOrEqual(rt, b.Days, a.Days+1)
	})
}

func TestPriceOnADay(t *testing.T) {
	said := []Stock{
		{ID: 3, Kind: "chain", Model: "A", At: days(5), Price: 300},
		{ID: 1, Kind: "chain", Model: "A", At: days(2), Price: 200},
		{ID: 2, Kind: "chain", Model: "A", At: days(3), Price: 999, Void: true},
		{ID: 4, Kind: "chain", At: days(4), Price: 50},
		{ID: 5, Kind: "chain", Model: "A", At: days(6), Count: 7},
	}
	list := PricesOf(said, days(10))
	cases := []struct {
		model string
		day   float64
		want  int64
		later bool
	}{{"a", 1, 200, true}, {"A ", 2, 200, false}, {"A", 4.9, 200, false}, {"A", 5, 300, false}, {"A", 9, 300, false},
		{"B", 5, 50, false}, {"", 3, 50, true}}
	for _, tc := range cases {
		price, later, ok := list.On("chain", tc.model, days(tc.day))
		assert.True(t, ok)
		assert.Equal(t, tc.want, price, "%+v", tc)
		assert.Equal(t, tc.later, later, "%+v", tc)
	}
	_, _, ok := list.On("ring", "A", days(5))
	assert.False(t, ok)
}
