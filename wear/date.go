package wear

import (
	"fmt"
	"math"
)

// pace is how fast the part's count grows at the way the bike was ridden lately.
func (a *assessor) pace(p *partView, of CountOf) pace {
	if of == CountDays {
		return pace{perDay: 1, exact: true}
	}
	if v, known := p.paces[of]; known {
		return v
	}
	if p.paces == nil {
		p.paces = map[CountOf]pace{}
	}
	v := a.paceNow(p, of)
	p.paces[of] = v
	return v
}

func (a *assessor) paceNow(p *partView, of CountOf) pace {
	use := &a.c.Use
	if len(use.Weeks) > 0 {
		return paceToday(a.weeks(p, of))
	}
	if use.Days <= 0 {
		return pace{}
	}
	return pace{perDay: a.recent(p, of).used / use.Days, spread: paceUnknown}
}

// weeks are the last ones with the running one, and what the weeks came to that
// followed the same day a year ago.
func (a *assessor) weeks(p *partView, of CountOf) (lately []weekly, season weekly) {
	const week, year = 7 * Day, paceYear
	list, today := a.c.Use.Weeks, a.c.Today
	running := today - (today-list[len(list)-1].From)%week
	days := func(ago int) float64 {
		from := running - Instant(ago)*week
		return max(0, min(from+week, today).DaysSince(max(from, a.c.First)))
	}
	lately = make([]weekly, paceWeeks+1)
	for ago := range lately {
		lately[paceWeeks-ago].days = days(ago)
	}
	for ago := year - paceWeeks; ago < year; ago++ {
		season.days += days(ago)
	}
	for i := range list {
		ago := int(math.Round(running.DaysSince(list[i].From) / 7)) // weeks where the clocks change are an hour longer
		switch {
		case ago >= 0 && ago <= paceWeeks:
			lately[paceWeeks-ago].used += a.amount(p, of, &list[i].Sums)
		case ago >= year-paceWeeks && ago < year:
			season.used += a.amount(p, of, &list[i].Sums)
		}
	}
	return lately, season
}

// recent is the bike's use of the last weeks, as the part counts it today.
func (a *assessor) recent(p *partView, of CountOf) usage { return a.lately(p, of, &a.c.Use.Sums) }

// amount is what some rides add to a count of the part as it is today.
func (a *assessor) amount(p *partView, of CountOf, s *Sums) float64 { return a.lately(p, of, s).used }

func (a *assessor) lately(p *partView, of CountOf, s *Sums) usage {
	var t tally
	var u usage
	t.add(s, of)
	u.flush(&t, counting{of, p.ratio(a, of, a.ringTeeth()), a.weights(p.kind, a.c.Bike.ID)})
	return u
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
