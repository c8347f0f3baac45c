package wear

// perDay is how much of a count the bike lately puts on a day; 0 = it stands.
func (a *assessor) perDay(p *partView, of CountOf) float64 {
	if of == CountDays {
		return 1
	}
	use := &a.c.Use
	if use.Days <= 0 {
		return 0
	}
	return a.recent(p, of).used / use.Days
}

// recent is the bike's use of the last weeks, as the part counts it today.
func (a *assessor) recent(p *partView, of CountOf) usage {
	var t tally
	var u usage
	t.add(&a.c.Use.Sums, of)
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
	rate := j.a.perDay(j.p, countOf(l))
	if rate <= 0 {
		return 0, false
	}
	return max(0, l.Limit-l.Used) / rate, true
}

// farDays is how far a date is given: past it the pace of twelve weeks says nothing.
const farDays = 3650

// date is when the count is reached; nil, and a note, where the bike stands.
func (j *judge) date(l *CountLine) *Instant {
	days, ok := j.daysLeft(l)
	if !ok {
		j.note("not ridden in the last 12 weeks: no date")
		return nil
	}
	if days > farDays {
		return nil
	}
	at := j.a.c.Today + Instant(days*Day)
	return &at
}

// within reports whether the date lies within the lead time of an order.
func (j *judge) within(at *Instant) bool {
	return at != nil && at.DaysSince(j.a.c.Today) <= j.a.s.LeadDays
}
