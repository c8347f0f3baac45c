package wear

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseTrip(t *testing.T) {
	for text, want := range map[string]Trip{
		"7 days, 250km, 9000m":   {Days: 7, Distance: 250_000, Climb: 9000},
		"9000 m, 250 km, 7 d":    {Days: 7, Distance: 250_000, Climb: 9000},
		"1 day":                  {Days: 1},
		"40km":                   {Days: 1, Distance: 40_000},
		"3 Days, 100mi, 10000ft": {Days: 3, Distance: 160_934.4, Climb: 3048},
		"2 days, 12,5h":          {Days: 2, Moving: 45_000},
		"7 days,250km":           {Days: 7, Distance: 250_000},
		"1 week 1,250 km":        {Days: 7, Distance: 1_250_000},
		"2w; 9,000m and 30hours": {Days: 14, Climb: 9000, Moving: 108_000},
	} {
		got, err := ParseTrip(text)
		require.NoError(t, err, text)
		assert.InDelta(t, want.Distance, got.Distance, 1e-6, text)
		assert.InDelta(t, want.Climb, got.Climb, 1e-6, text)
		assert.Equal(t, want.Days, got.Days, text)
		assert.Equal(t, want.Moving, got.Moving, text)
	}
	for text, why := range map[string]string{
		"": `"" is neither`, "far": `"far" is neither`, "7 days, 8 days": "days given twice", "0km": "not between 0", "-3km": "is neither",
		"900000km": "not between 0 and 50,000", "900m": "a climb alone", "7 moons": `"7 moons" is neither`, "1e9 km": "is neither",
		"60 weeks": "not between 0 and 52 weeks", "5 days, far": `"far" is neither`, "1.2.3 km": "not between",
	} {
		_, err := ParseTrip(text)
		assert.ErrorContains(t, err, why, text)
		var wrong *TripError
		require.ErrorAs(t, err, &wrong)
		assert.Contains(t, wrong.Hint(), "250km")
	}
}

func lineOf(t *testing.T, list []TripLine, kind, job string) TripLine {
	t.Helper()
	i := slices.IndexFunc(list, func(l TripLine) bool { return l.Finding.Kind == kind && l.Finding.Job == job })
	require.GreaterOrEqual(t, i, 0, "%s %s", kind, job)
	return list[i]
}

func TestWillACountLast(t *testing.T) {
	w := newWorld(t, 84)
	w.fit("frame", days(0))
	w.fit("front-sealant", days(0))
	for i := range 30 {
		w.ride(float64(2*i), Dry, hours(1)) // 10 km each, and no climb
	}
	c := w.build()
	for km, want := range map[float64]struct {
		lasts bool
		day   float64
	}{100: {true, 0}, 150: {true, 0}, 190: {false, 0}, 200: {false, 5}, 400: {false, 3}} {
		list := WillItLast(c, Default(), Trip{Days: 5, Distance: km * 1000})
		l := lineOf(t, list, "frame", "look")
		assert.Equal(t, want.lasts, l.Lasts, "%g km", km)
		assert.Equal(t, want.day, l.Day, "%g km", km)
		assert.InDelta(t, km/10*3600, l.Adds, 2)
		assert.InDelta(t, (30+km/10)/50, l.After, 1e-3)
		assert.Equal(t, l.Chance < likely, l.Lasts)
	}
	assert.True(t, lineOf(t, WillItLast(c, Default(), Trip{Days: 5}), "front-sealant", "top-up").Lasts)
	l := lineOf(t, WillItLast(c, Default(), Trip{Days: 6}), "front-sealant", "top-up")
	assert.False(t, l.Lasts, "the 90th day is the last of the trip")
	assert.Equal(t, 6.0, l.Day)
}

func TestWillAChainLast(t *testing.T) {
	w, _ := ridden(t, 150, 0.2, 50, 100, 149)
	for i := range w.rides {
		w.rides[i].l[Distance] = 5_000 * 100
	}
	c := w.build()
	last := 0.0
	for _, km := range []float64{5, 100, 250, 500, 2000} {
		list := WillItLast(c, Default(), Trip{Days: 7, Distance: km * 1000})
		l := lineOf(t, list, "chain", "change")
		assert.InDelta(t, km*200, l.Adds, 1)
		assert.Greater(t, l.Chance, last)
		last = l.Chance
		assert.Equal(t, km < 500, l.Lasts, "%g km: %v", km, l.Chance)
		for i := range list[1:] {
			assert.LessOrEqual(t, boolInt(list[i].Lasts), boolInt(list[i+1].Lasts), "what does not last comes first")
		}
	}
}

func TestClimbTakesBrakesAndTime(t *testing.T) {
	w := newWorld(t, 84)
	w.fit("rear-pads", days(0))
	w.fit("frame", days(0))
	l := hours(1)
	l[Climb], l[Descent] = 200*100, 200*100
	w.ride(80, Dry, l)
	c := w.build()
	flat := WillItLast(c, Default(), Trip{Days: 1, Distance: 50_000, Climb: 100})
	steep := WillItLast(c, Default(), Trip{Days: 1, Distance: 50_000, Climb: 2000})
	assert.InEpsilon(t, 20, lineOf(t, steep, "rear-pads", "change").Adds/lineOf(t, flat, "rear-pads", "change").Adds, 1e-3)
	assert.Greater(t, lineOf(t, steep, "frame", "look").Adds, lineOf(t, flat, "frame", "look").Adds)
}

func TestATripOnABikeNotRiddenYet(t *testing.T) {
	w := newWorld(t, 1)
	w.fit("chain", days(0))
	w.fit("rear-pads", days(0))
	list := WillItLast(w.build(), Default(), Trip{Days: 2, Distance: 100_000, Climb: 3000})
	// 130 km with the climb as way, against 42 km of the usual day's 35 with its 700 m.
	assert.InDelta(t, 1.4*35*200*130/42, lineOf(t, list, "chain", "clean").Adds, 1)
	assert.InDelta(t, 1.5*1.5e6, lineOf(t, list, "rear-pads", "measure").Adds, 1e4)
	assert.Equal(t, 1.0, lineOf(t, list, "chain", "measure").Chance, "due when fitted")
}

func TestWhatIsDueNowComesFirst(t *testing.T) {
	w := newWorld(t, 84)
	w.fit("chain", days(0))
	w.daily(84, turns(1000))
	list := WillItLast(w.build(), Default(), Trip{Days: 7, Distance: 100_000})
	l := lineOf(t, list, "chain", "clean")
	assert.False(t, l.Lasts)
	assert.Equal(t, "due before the trip", l.Text)
	assert.Positive(t, l.Adds, "what the trip adds is told of it too")
	assert.Equal(t, "turns", l.Unit)
	for i := range list[1:] {
		assert.GreaterOrEqual(t, list[i].Chance, list[i+1].Chance-1e-9)
	}
}

func TestARetiredBikeGoesOnNoTrip(t *testing.T) {
	w, _ := ridden(t, 30, 0.2)
	w.statuses = []Status{{ID: 1, Bike: bikeID, At: days(20), Is: Retired}}
	assert.Empty(t, WillItLast(w.build(), Default(), Trip{Days: 1}))
}
