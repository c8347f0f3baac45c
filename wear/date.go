package wear

import (
	"fmt"
	"math"
	"slices"
)

// pace is how fast the part's count grows at the way the bike was ridden lately.
// Parts that count alike share it.
func (a *assessor) pace(p *partView, of CountOf) pace {
	if of == CountDays {
		return pace{perDay: 1, exact: true}
	}
	if p.paces[of] == nil {
		p.paces[of] = a.paceAs(a.counting(p, of))
	}
	return *p.paces[of]
}

// countPace is the pace of what counts in one way.
type countPace struct {
	counting counting
	pace     pace
}

// paceAs is the pace of a count, which is worked out once.
func (a *assessor) paceAs(c counting) *pace {
	for _, known := range a.paces {
		if known.counting == c {
			return &known.pace
		}
	}
	v := &countPace{c, a.paceNow(&c)}
	a.paces = append(a.paces, v)
	return &v.pace
}

func (a *assessor) paceNow(c *counting) pace {
	use := &a.c.Use
	if len(use.Weeks) > 0 {
		return paceToday(a.weeks(c))
	}
	if use.Days <= 0 {
		return pace{}
	}
	return pace{perDay: c.amount(&use.Sums) / use.Days, spread: paceUnknown}
}

// weeks are the last ones with the running one, and what the weeks came to that
// followed the same day a year ago.
func (a *assessor) weeks(c *counting) (lately []weekly, season weekly) {
	if a.calendar == nil {
		a.calendar = newCalendar(a.c)
	}
	lately, season = slices.Clone(a.calendar.lately[:]), weekly{days: a.calendar.season}
	for i, ago := range a.calendar.ago {
		switch {
		case ago >= 0 && ago <= paceWeeks:
			lately[paceWeeks-ago].used += c.amount(&a.c.Use.Weeks[i].Sums)
		case ago >= paceYear-paceWeeks && ago < paceYear:
			season.used += c.amount(&a.c.Use.Weeks[i].Sums)
		}
	}
	return lately, season
}

// calendar says of the weeks of a bike's use when they were.
type calendar struct {
	lately [paceWeeks + 1]weekly // their days only
	season float64               // days of the season a year ago
	ago    []int                 // how many weeks each was before the running one
}

func newCalendar(c *Case) *calendar {
	const week = 7 * Day
	list, today := c.Use.Weeks, c.Today
	running := today - (today-list[len(list)-1].From)%week
	days := func(ago int) float64 {
		from := running - Instant(ago)*week
		return max(0, min(from+week, today).DaysSince(max(from, c.First)))
	}
	cal := &calendar{ago: make([]int, len(list))}
	for ago := range cal.lately {
		cal.lately[paceWeeks-ago].days = days(ago)
	}
	for ago := paceYear - paceWeeks; ago < paceYear; ago++ {
		cal.season += days(ago)
	}
	for i := range list {
		cal.ago[i] = int(math.Round(running.DaysSince(list[i].From) / 7)) // weeks where the clocks change are an hour longer
	}
	return cal
}

// recent is the bike's use of the last weeks, as the part counts it today.
func (a *assessor) recent(p *partView, of CountOf) usage {
	var t tally
	var u usage
	t.add(&a.c.Use.Sums, of)
	u.flush(&t, a.counting(p, of))
	return u
}

// counting is how the part counts today.
func (a *assessor) counting(p *partView, of CountOf) counting {
	return counting{of, p.ratio(a, of, a.ringTeeth()), a.weights(p.kind, a.c.Bike.ID)}
}

func (a *assessor) ringTeeth() int {
	if a.ring == nil {
		return 0
	}
	return a.ring.pc.Part.Teeth
}

// daysLeft is the calendar time until a count is reached at the pace of the
// last weeks; ok is false where the bike stands.
func (j *judge) daysLeft(l *CountLine) (days float64, ok bool) {
	p := j.a.pace(j.p, countOf(l))
	if p.perDay <= 0 {
		return 0, false
	}
	return p.until(max(0, l.Limit-l.Used) / p.perDay), true
}

// farDays is how far a date is given: past it the pace of some weeks says nothing.
const farDays = 3650

// normal90 is the ninth decile of a standard normal.
const normal90 = 1.2815515655446004

// date is when the count is reached, its range from how the pace varies; empty,
// and a note, where the bike stands.
func (j *judge) date(l *CountLine) Dates {
	days, ok := j.daysLeft(l)
	if !ok {
		j.note("not ridden in the last 12 weeks: no date")
		return Dates{}
	}
	s := j.a.pace(j.p, countOf(l)).over(days)
	return Dates{j.a.inDays(days * math.Exp(-normal90*s)), j.a.inDays(days), j.a.inDays(days * math.Exp(normal90*s))}
}

// inDays is the instant so many days ahead; nil past farDays.
func (a *assessor) inDays(days float64) *Instant {
	if !(days <= farDays) {
		return nil
	}
	at := a.c.Today + Instant(days*Day)
	return &at
}

// likely is the probability of reaching the limit within the lead time from
// which a part is to be ordered.
const likely = 0.2

// chance is the probability that a count comes to its limit within some days.
func (j *judge) chance(l *CountLine, within float64) float64 {
	days, ok := j.daysLeft(l)
	switch s := j.a.pace(j.p, countOf(l)).over(days); {
	case l.Used >= l.Limit:
		return 1
	case !ok:
		return 0
	case s == 0:
		return float64(boolInt(days <= within))
	default:
		return phi(math.Log(within/days) / s)
	}
}

// soon says how likely a part is to come to its limit within the lead time.
func (j *judge) soon(p float64) string {
	return fmt.Sprintf("%.0f %% likely to be reached within %g days at the way the bike is ridden", 100*p, j.a.s.LeadDays)
}
