package wear

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func fleetBikes() []FleetBike {
	bike := func(id ID, name, depot string) Bike {
		return Bike{ID: id, Name: name, Depot: depot, Fleet: true, Price: 4000}
	}
	cost := func(km, hundredths int64, days int) CostLine {
		return CostLine{Bikes: 1, Way: km * 100_000, Days: days, Spent: Spent{Paid: hundredths}, DaysSpent: Spent{Paid: hundredths}, Fare: int64(days) * 4000, FareDays: days}
	}
	return []FleetBike{
		{Bike: bike(1, "hire 10", "North"), Worst: Due, Jobs: 2, Minutes: 30, DueWeek: true, DueMonth: true, Stand: Stand{28, 7}, Cost: cost(500, 5000, 10)},
		{Bike: bike(2, "hire 9", "north"), Worst: Fine, DueMonth: true, Stand: Stand{28, 0}, Cost: cost(1500, 3000, 30)},
		{Bike: bike(3, "hire 2", "South"), Worst: Stop, Hold: Hold{Held: true}, Jobs: 1, Minutes: 5, DueWeek: true, DueMonth: true, Stand: Stand{14, 14}, Cost: cost(0, 100, 2)},
		{Bike: bike(4, "old", "South"), Standing: Retired, Cost: cost(1e6, 99999, 9)},
		{Bike: bike(5, "hire 11", ""), Worst: Stop, Hold: Hold{Lifted: &Status{}}, Jobs: 1, Stand: Stand{28, 0}, Cost: cost(100, 0, 0), UnTurned: true},
	}
}

func TestDepotsAddUpToAll(t *testing.T) {
	depots, all := Depots(fleetBikes())
	require.Len(t, depots, 3)
	assert.Equal(t, []string{"", "North", "South"}, []string{depots[0].Name, depots[1].Name, depots[2].Name})
	north := depots[1]
	assert.Equal(t, []int{2, 2, 0, 1, 2, 30}, []int{north.Bikes, north.OnHire, north.Held, north.DueWeek, north.DueMonth, north.Minutes})
	share, ok := north.Stand.Share()
	assert.True(t, ok)
	assert.InDelta(t, 1-7.0/56, share, 1e-12)
	perKm, ok := north.Cost.PerWay(0)
	assert.True(t, ok)
	assert.InDelta(t, 8000.0/2, perKm, 1e-9, "80.00 over 2,000 km")
	assert.Equal(t, 40, north.Cost.Days)
	assert.EqualValues(t, 40*4000, north.Cost.Fare)

	assert.Equal(t, []int{4, 3, 1, 1}, []int{all.Bikes, all.OnHire, all.Held, all.Lifted}, "a retired bike is gone")
	assert.Equal(t, 1, all.UnTurned)
	sum := Depot{All: true}
	for i := range depots {
		sum.Bikes += depots[i].Bikes
		sum.Cost.Add(depots[i].Cost)
		sum.Minutes += depots[i].Minutes
	}
	assert.Equal(t, []any{sum.Bikes, sum.Cost, sum.Minutes}, []any{all.Bikes, all.Cost, all.Minutes})
	south := depots[2]
	_, ok = south.Cost.PerWay(0)
	assert.False(t, ok, "not ridden")
}

func TestOrdersOfAFleet(t *testing.T) {
	for by, want := range map[FleetOrder][]string{
		ByUrgency: {"hire 2", "hire 11", "hire 10", "hire 9", "old"},
		ByName:    {"hire 2", "hire 9", "hire 10", "hire 11", "old"},
		ByCost:    {"hire 10", "hire 9", "old", "hire 11", "hire 2"},
		ByMinutes: {"hire 10", "hire 2", "hire 11", "hire 9", "old"},
		ByHeld:    {"hire 2", "hire 10", "hire 11", "hire 9", "old"},
	} {
		bikes := fleetBikes()
		SortFleet(bikes, by, 0)
		var names []string
		for _, b := range bikes {
			names = append(names, b.Bike.Name)
		}
		assert.Equal(t, want, names, by)
	}
	assert.Len(t, FleetOrders, 5)
}

func TestABikeOfAFleetByItsFindings(t *testing.T) {
	w := newWorld(t, 40)
	w.bike.Fleet, w.bike.Depot = true, "north"
	w.fit("guide", Ever)
	w.fit("front-pads", Ever)
	w.fit("sealant", Ever)
	for d := range 40 {
		w.ride(float64(d), Dry, hours(1))
	}
	c := w.build()
	fs := Assess(c, Default())
	b := FleetBikeOf(c, fs, nil)
	assert.Equal(t, Worst(fs), b.Worst)
	require.NotNil(t, b.Top)
	assert.Equal(t, fs[0].Job, b.Top.Job)
	assert.True(t, b.DueWeek && b.DueMonth)
	assert.Positive(t, b.Minutes)
	only := FleetBikeOf(c, fs, []string{"front-pads"})
	assert.Less(t, only.Jobs, b.Jobs)
	for _, f := range fs {
		if f.Kind == "front-pads" && f.Verdict >= Due {
			assert.Equal(t, f.Job, only.Top.Job)
			break
		}
	}

	b.Turned([]TurnRound{{At: days(3)}, {At: days(39), Void: true}, {At: days(50)}}, c.Today)
	assert.True(t, b.TurnRound != Ever && b.UnTurned)
	assert.Equal(t, days(3), b.TurnRound)
	b.TurnRound = Ever
	b.Turned([]TurnRound{{At: c.Use.Last + 1}}, c.Today)
	assert.False(t, b.UnTurned)
}

// TestTheWeeksWork: what is due within a week is done now, what within four along;
// nothing is counted twice, and a bike with nothing in the week does not come in.
func TestTheWeeksWork(t *testing.T) {
	w := newWorld(t, 75)
	w.bike.Depot = "north"
	w.fit("guide", Ever)
	w.fit("guide-bolts", Ever)
	w.fit("front-pads", Ever)
	w.fit("chain", Ever)
	w.fit("rear-sealant", Ever)
	w.fit("rear-tyre", Ever)
	for d := range 150 {
		w.ride(float64(d)/2, Unmarked, hours(1.2))
	}
	c := w.build()
	fs := Assess(c, Default())
	work, ok := WorkOf(c, fs)
	require.True(t, ok)
	tyre := slices.IndexFunc(fs, func(f Finding) bool { return f.Kind == "rear-tyre" && f.Act == ActChange })
	require.Equal(t, Fine, fs[tyre].Verdict)
	require.Greater(t, fs[tyre].Share, 1.0, "it lasted longer than such tyres do")
	assert.NotContains(t, work.Parts, "rear-tyre", "a count condemns nothing: the look decides")
	assert.True(t, slices.ContainsFunc(work.Now, func(f Finding) bool { return f.Kind == "rear-tyre" && f.Act == ActLook }))
	week, month := c.Today+7*Day, c.Today+28*Day
	seen := map[string]bool{}
	for i := range work.Now {
		f := &work.Now[i]
		assert.True(t, f.dueBy(week), f.Job)
		seen[f.Part+f.Job] = true
	}
	for i := range work.Along {
		f := &work.Along[i]
		assert.False(t, f.dueBy(week), f.Job)
		assert.True(t, f.dueBy(month), f.Job)
		assert.False(t, seen[f.Part+f.Job], "twice")
	}
	require.NotEmpty(t, work.Along)
	assert.Positive(t, work.Saved)
	assert.Equal(t, work.Minutes-work.Saved, minutes(work.Now))

	depots := PlanWeek([]BikeWork{work, {Bike: Bike{Name: "b", Depot: "North"}, Now: fs[:1], Minutes: 3}, {Bike: Bike{Name: "c"}, Now: fs[:1]}})
	require.Len(t, depots, 2)
	north := depots[1]
	require.Len(t, north.Works, 2)
	assert.Equal(t, work.Minutes+3, north.Minutes)
	assert.Equal(t, 1, north.Saved)
	total := 0
	for i, j := range north.Jobs {
		total += j.Minutes
		if i > 0 {
			assert.LessOrEqual(t, j.Minutes, north.Jobs[i-1].Minutes)
		}
	}
	assert.GreaterOrEqual(t, total, work.Minutes)

	idle := newWorld(t, 40)
	idle.fit("guide", Ever)
	_, ok = WorkOf(idle.build(), Assess(idle.build(), Default()))
	assert.False(t, ok)
}

func TestPointsOfATurnRound(t *testing.T) {
	kinds := map[string]bool{}
	for _, k := range Default().Kinds() {
		kinds[k.Name] = true
	}
	for _, p := range Points {
		assert.NotEmpty(t, p.About(), p)
		require.NotEmpty(t, p.Kinds(), p)
		for _, k := range p.Kinds() {
			assert.True(t, kinds[k], "%s: %s is no kind of the schedule", p, k)
		}
	}
	assert.True(t, PointTyres.Ambiguous())
	assert.False(t, PointGuide.Ambiguous())
}
