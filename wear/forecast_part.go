package wear

import "math"

// leg is the time that a part spends on one bike, coming back included where
// it was on no other in between.
type leg struct {
	host     ID
	from, to Instant
	stays    []Stay
}

func (p *partView) legs() []leg {
	var list []leg
	for i, s := range p.stays {
		if n := len(list); n > 0 && list[n-1].host == s.Host {
			list[n-1].to, list[n-1].stays = s.To, p.stays[i-len(list[n-1].stays):i+1]
			continue
		}
		list = append(list, leg{s.Host, s.From, s.To, p.stays[i : i+1]})
	}
	return list
}

// used reports whether the part had a life before this leg that no bike tells.
func (l *leg) used() bool {
	for i := range l.stays {
		if l.stays[i].Opening != (Load{}) {
			return true
		}
	}
	return false
}

// legCourse is a part's course on one leg.
type legCourse struct {
	course
	host ID
	now  float64 // load since the leg began, today or at its end
	data Data
	used usage

	ids   []toolID // of the evidence's tools
	taken []reader // where each reading of the leg went
}

// draft is what is known of a part's courses without a line through the readings
// and without other parts: the sort of part, and each leg with its load, its
// readings and what its prior is by the schedule.
type draft struct {
	sort sortOf
	legs []leg
	list []legCourse
}

// drafted is the draft of a part; nil where nothing of it can be measured. It is
// worked out once.
func (a *assessor) drafted(p *partView) *draft {
	if !p.outlined {
		p.outlined = true
		if s, ok := p.sortOf(); ok {
			p.outline = &draft{sort: s, legs: p.legs()}
			a.lay(p, p.outline)
		}
	}
	return p.outline
}

func (a *assessor) lay(p *partView, d *draft) {
	d.list = make([]legCourse, len(d.legs))
	for i := range d.legs {
		c, l := &d.list[i], &d.legs[i]
		c.host, c.gait = l.host, d.sort.gait
		end := Never
		if i+1 < len(d.legs) {
			end = d.legs[i+1].from
		}
		c.used = a.usage(p, d.sort.by.Of, window{from: l.from, to: end})
		c.now, c.data = c.used.used, c.used.data()
		c.prior = d.sort.prior(a.unmarked(p, &d.sort, &c.used))
		a.readOn(p, &d.sort, c, window{from: l.from, to: end}, i == 0)
	}
}

// courses follows a part from bike to bike: it keeps the wear that it comes
// with, and its rate is the bike's. None is crossed yet. The draft is used up.
func (a *assessor) courses(p *partView, d *draft, known []earlier) []legCourse {
	p.outlined, p.outline = false, nil
	for i := range d.list {
		c, l := &d.list[i], &d.legs[i]
		if l.host == a.c.Bike.ID {
			c.prior.learnt(known)
		}
		if i > 0 {
			c.prior.start, c.prior.startSD = d.list[i-1].end()
		}
		if l.used() {
			d.sort.used(&c.prior, a.opened(p, d.sort.by.Of, l))
		}
		c.fit()
	}
	return d.list
}

// end is the wear with which a part leaves.
func (c *legCourse) end() (mean, sd float64) {
	if c.post == nil {
		c.post = c.prior.fit(&evidence{})
	}
	return c.post.wear(c.now)
}

// opened is the load that a part came with.
func (a *assessor) opened(p *partView, of CountOf, l *leg) float64 {
	u := usage{}
	for i := range l.stays {
		u.open(l.stays[i].Opening, counting{of: of, ratio: p.ratio(a, of, 0), factors: a.weights(p.kind, l.host)})
	}
	return u.used
}

// unmarked is the share of a load that unmarked ground has; before the first
// ride, of what the bike did lately.
func (a *assessor) unmarked(p *partView, s *sortOf, u *usage) float64 {
	if u.used == 0 {
		lately := a.recent(p, s.by.Of)
		u = &lately
	}
	if u.used == 0 {
		return 1
	}
	return min(1, a.weights(p.kind, p.stay.Host)[Unmarked]*u.amount[Unmarked]/u.used)
}

// readOn takes the readings of a leg with the load at each; the first leg has
// those from before it too.
func (a *assessor) readOn(p *partView, s *sortOf, c *legCourse, w window, first bool) {
	t := taker{gait: s.gait}
	for i := range p.readings {
		r := &p.readings[i]
		if r.At < w.from && !first || r.At >= w.to {
			continue
		}
		var load float64
		if r.At > w.from {
			load = a.usage(p, s.by.Of, window{from: w.from, to: r.At}).used
		}
		t.take(r, load)
	}
	c.evidence, c.ids, c.taken = t.e, t.ids, t.taken
}

// forecast is the last leg's course of a part, with what it took to get there.
type forecast struct {
	legCourse
	sort  sortOf
	known []earlier // of this bike
	none  bool      // nothing was read of the part, on whatever bike
	pace  pace
}

// forecast is how the part wears and when it comes to its limit; nil where
// nothing of it can be measured. It is worked out once.
func (a *assessor) forecast(p *partView) *forecast {
	f := a.fitAhead(p)
	if f != nil && f.curve == nil {
		f.cross()
		f.pace = a.pace(p, f.sort.by.Of)
	}
	return f
}

// fitAhead is the forecast as far as the line is fitted.
func (a *assessor) fitAhead(p *partView) *forecast {
	if p.foreseen {
		return p.ahead
	}
	p.foreseen = true
	d := a.drafted(p)
	if d == nil || len(d.list) == 0 {
		return nil
	}
	f := &forecast{sort: d.sort, known: a.earlierOn(p)}
	list := a.courses(p, d, f.known)
	f.legCourse, f.none = list[len(list)-1], len(p.readings) == 0
	p.ahead = f
	return f
}

// left is the load left until the limit with probability q; +Inf where it
// cannot be told.
func (f *forecast) left(q float64) float64 { return max(0, f.curve.quantile(q)-f.now) }

// within is the probability that the limit is reached within some days.
func (f *forecast) within(days float64) float64 {
	if f.pace.perDay <= 0 {
		return f.curve.at(f.now)
	}
	return f.pace.within(f.curve, f.now, days)
}

// days is the time until the limit with probability q; ok is false where the
// bike stands or it is too far ahead.
func (f *forecast) days(q float64) (days float64, ok bool) {
	if f.pace.perDay <= 0 {
		return 0, false
	}
	days = f.pace.days(f.curve, f.now, q)
	return days, !math.IsInf(days, 1)
}

// wear is what the part has come to: straight wear, mean and spread.
func (f *forecast) wear() (mean, sd float64) { return f.end() }

// share is how far straight wear has come from new to the limit.
func (f *forecast) share(w float64) float64 {
	return f.sort.limit.Share(f.gait.reading(w))
}
