package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func evenWeeks(n int, used float64) []weekly {
	list := make([]weekly, n)
	for i := range list {
		list[i] = weekly{used, 7}
	}
	return list
}

func TestPaceOfEvenWeeks(t *testing.T) {
	p := paceOf(evenWeeks(13, 700), weekly{})
	assert.InDelta(t, 100, p.perDay, 1e-9)
	assert.InDelta(t, paceSpread, p.spread, 1e-9)
	assert.InDelta(t, 0, p.weekly, 1e-9)
	assert.Equal(t, pace{}, paceOf(evenWeeks(13, 0), weekly{}))
	assert.Equal(t, pace{}, paceOf(nil, weekly{}))
}

func TestNewerWeeksWeighMore(t *testing.T) {
	up, down := evenWeeks(12, 700), evenWeeks(12, 700)
	for i := range 4 {
		up[8+i].used, down[i].used = 1400, 1400
	}
	assert.Greater(t, paceOf(up, weekly{}).perDay, paceOf(down, weekly{}).perDay)
	assert.InDelta(t, 100*(1+(1-0.5)/(1-0.125)), paceOf(up, weekly{}).perDay, 1e-9, "four weeks halve the weight")
}

func TestTheSeasonOfAYearAgoCountsAsMuch(t *testing.T) {
	assert.InDelta(t, 75, paceOf(evenWeeks(13, 700), weekly{12 * 350, 84}).perDay, 1e-9)
	assert.InDelta(t, 100, paceOf(evenWeeks(13, 700), weekly{0, 84}).perDay, 1e-9, "a season without rides says nothing")
}

func TestUnevenWeeksWidenTheDate(t *testing.T) {
	list := evenWeeks(12, 700)
	for i := range list {
		list[i].used *= float64(i % 2 * 2)
	}
	p := paceOf(list, weekly{})
	assert.Greater(t, p.over(14), p.over(140), "what varies from week to week evens out")
	assert.Greater(t, p.over(140), paceOf(evenWeeks(12, 700), weekly{}).over(140))
}

// weeksOf puts the rides of a world into weeks, as a book keeps them.
func weeksOf(w *world) Case {
	c := w.build()
	monday := days(-700) // a multiple of seven days before the beginning
	for at := monday; at <= c.Today; at += 7 * Day {
		var s Sums
		n := 0
		for _, r := range w.rides {
			if r.at >= at && r.at < at+7*Day && r.at <= c.Today {
				one := Ride{Ground: r.g, Recorded: r.l}
				s[r.g] = s[r.g].Add(one.Sum())
				n++
			}
		}
		if n > 0 {
			c.Use.Weeks = append(c.Use.Weeks, Week{at, s})
		}
	}
	return c
}

func TestWeeksMakeThePace(t *testing.T) {
	perDay := func(today float64, rides func(w *world)) float64 {
		w := newWorld(t, today)
		w.fit("chain", days(0))
		rides(w)
		c := weeksOf(w)
		a := newAssessor(&c, Default())
		return a.pace(a.chain, CountTurns).perDay
	}
	every := func(from, to int, n float64) func(w *world) {
		return func(w *world) {
			for i := from; i < to; i++ {
				w.ride(float64(i)+0.1, Dry, turns(n))
			}
		}
	}
	assert.InDelta(t, 1000, perDay(100, every(0, 100, 1000)), 15)
	assert.InDelta(t, 1000, perDay(20, every(0, 20, 1000)), 60, "a young bike counts from its first ride")
	assert.InDelta(t, 280, perDay(100, every(0, 60, 1000)), 40, "weeks without a ride count")
	assert.Zero(t, perDay(250, every(0, 60, 1000)))
	// A year ago the twelve weeks that followed had twice as much.
	twice := func(w *world) {
		every(0, 36, 1000)(w)
		every(36, 120, 2000)(w)
		every(120, 400, 1000)(w)
	}
	assert.InDelta(t, 1500, perDay(400, twice), 60)
}

// A week that waits for its ride is no slower week.
func TestASundayRiderHasOnePaceAllWeek(t *testing.T) {
	for _, weekday := range []float64{0, 3, 6} {
		moved := map[string][2]float64{}
		for day := range 15 {
			today := 210 + float64(day)
			w := newWorld(t, today)
			w.fit("chain", days(0))
			w.fit("ring", days(150))
			for at := weekday + 0.4; at < today; at += 7 {
				w.ride(at, Dry, turns(7000))
			}
			c := weeksOf(w)
			a := newAssessor(&c, Default())
			assert.InEpsilon(t, 1000, a.pace(a.chain, CountTurns).perDay, 0.01, "ride on day %g, today %g", weekday, today)
			for _, f := range Assess(c, Default()) {
				if at := f.Date.P50; at != nil && *at > c.Today { // what is overdue is due today, every day
					k := f.Kind + " " + f.Job
					d := at.DaysSince(days(0))
					if _, seen := moved[k]; !seen {
						moved[k] = [2]float64{d, d}
					}
					moved[k] = [2]float64{min(moved[k][0], d), max(moved[k][1], d)}
				}
			}
		}
		require.Contains(t, moved, "chain change")
		require.Contains(t, moved, "ring look", "a count, not a reading")
		for job, d := range moved {
			t.Logf("ride on day %g, %s: the date moves by %.2f days", weekday, job, d[1]-d[0])
			assert.LessOrEqual(t, d[1]-d[0], 3.0, "ride on day %g, %s", weekday, job)
		}
	}
}

func TestUntilInvertsRidden(t *testing.T) {
	for _, ahead := range []float64{-7, -3, 0, 4, 6.9} {
		p := pace{perDay: 1, ahead: ahead}
		for _, d := range []float64{0, 0.5, 7, 8, 100} {
			assert.InDelta(t, d, p.until(p.ridden(d)), 1e-9)
		}
	}
}

func TestTheRunningWeekCountsWhereNoOtherDoes(t *testing.T) {
	idle := append(evenWeeks(12, 0), weekly{700, 3})
	assert.Equal(t, paceOf(idle, weekly{}), paceToday(idle, weekly{}))
	young := append(make([]weekly, 11), weekly{300, 1}, weekly{300, 5})
	assert.Equal(t, paceOf(young, weekly{}), paceToday(young, weekly{}))
	assert.InDelta(t, 7-3, paceToday(append(evenWeeks(12, 700), weekly{7000, 3}), weekly{}).ahead, 1e-9, "a week at most")
}

func TestDaysOfACrossing(t *testing.T) {
	pr := chainPrior()
	c := pr.unread(0.72)
	p := pace{perDay: 1000, spread: 0.3}
	for _, q := range []float64{0.1, 0.5, 0.9} {
		d := p.days(c, 100_000, q)
		assert.InDelta(t, q, p.within(c, 100_000, d), 1e-4)
	}
	assert.Zero(t, p.days(c, 2_000_000, 0.5), "past it already")
	assert.True(t, math.IsInf(pace{perDay: 1}.days(c, 0, 0.5), 1), "a lifetime ahead")
	even := pace{perDay: 1000}
	assert.InEpsilon(t, c.quantile(0.5)/1000, even.days(c, 0, 0.5), 1e-3)
}

// A count has its limit; only its date varies.
func TestCountedWearVariesByUseAlone(t *testing.T) {
	w := newWorld(t, 100)
	w.fit("ring", days(0))
	w.daily(100, turns(1000))
	f := w.judged("ring", "look")
	assert.Equal(t, *f.Left.P50, *f.Left.P10)
	assert.Equal(t, *f.Left.P50, *f.Left.P90)
	require.NotNil(t, f.Date.P90)
	mid := f.Date.P50.DaysSince(w.today)
	assert.InEpsilon(t, math.Exp(normal90*paceUnknown), f.Date.P90.DaysSince(w.today)/mid, 1e-3)
	assert.InEpsilon(t, math.Exp(-normal90*paceUnknown), f.Date.P10.DaysSince(w.today)/mid, 1e-3)
}
