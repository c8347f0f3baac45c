package wear

import (
	"fmt"
	"math"
	"slices"
)

// change is the verdict on changing a part that can be measured or looked at:
// readings decide, and looks; counts only say what to expect.
func (j *judge) change() {
	l := j.p.limit()
	if j.iv.Reading == nil {
		l = nil
	}
	if l != nil && l != j.iv.Reading {
		own := *j.iv
		own.Reading, j.iv = l, &own
	}
	j.policy()
	r, has := j.p.deciding(l)
	j.group = figReading
	if l == nil || !has {
		if len(j.iv.Expect) > 0 {
			j.group = figExpect
		}
		j.expectation(l)
		return
	}
	j.f.Basis, j.f.Used, j.f.Limit, j.f.Unit, j.f.Share = ByReading, r.Worst(), l.Due, l.Unit(), l.Share(r.Worst())
	if r.Gauge != nil && r.Gauge.open() {
		j.f.Below = r.Gauge.Out
	}
	j.ahead()
	j.limits(l, r)
}

// limits holds the reading against due and stop.
func (j *judge) limits(l *Limit, r Reading) {
	say := func(limit float64) string { return fmt.Sprintf("%s, limit %g %s", r.held(), limit, l.Unit()) }
	if hard, ok := l.hard(j.a.c.Bike.Fleet); ok {
		if worst, _ := j.p.decidingAt(hard); l.Reached(worst.Worst(), hard) {
			j.stop(ByReading, fmt.Sprintf("%s, limit %g %s", worst.held(), hard, l.Unit()), j.job.Title)
			return
		}
	}
	if l.Reached(r.Worst(), l.Due) {
		if r.At > j.known {
			j.raise(Due, ByReading, say(l.Due))
		}
	} else if j.f.Chance >= likely {
		j.raise(Order, ByReading, say(l.Due)+": "+j.soon(j.f.Chance))
	} else if r.Gauge != nil && r.Gauge.open() {
		j.raise(Fine, ByReading, say(l.Due))
	}
	if j.p.kind.Name == "chain" && j.p.setting.speeds == 0 && !j.p.setting.narrow {
		j.note("speeds of the cassette not given: the limit of 11-speed and up is taken")
	}
}

// expectation shows how far the part has come of what such parts last.
func (j *judge) expectation(l *Limit) {
	j.f.Expects = true
	j.anchor = Anchor{At: j.p.begin(), Why: "it was fitted"}
	if j.anchor.At == Ever {
		j.anchor.Why = "the bike's first ride"
	}
	if j.a.brief {
		return // it makes nothing due
	}
	if l != nil {
		j.note("not measured yet")
	}
	j.count(j.iv.Expect, window{from: Ever, to: Never, opening: true})
	j.f.Since, _ = j.a.since(j.p, j.anchor.At)
	j.show()
	j.unread()
	if l != nil && j.f.Used > 0 && j.best >= 0 {
		j.note(fmt.Sprintf("going by the %s alone it would read about %.2g %s", countKinds[countOf(&j.lines[j.best])].of, j.guess(l), l.Unit()))
	}
	if len(j.iv.Expect) > 0 {
		j.note("a count says what to expect, never that the part is worn")
	}
}

// guess is what a part not measured yet would read, had it worn as such parts
// are expected to; it asks for nothing.
func (j *judge) guess(l *Limit) float64 {
	return max(0, l.New+(l.Due-l.New)*j.f.Share)
}

// policy says that the drivetrain is run out together, where it is.
func (j *judge) policy() {
	if by := j.a.runOutBy; j.a.runOut && slices.ContainsFunc(j.job.Variants, func(v Variant) bool { return slices.Contains(v.Is, IsRunOut) }) {
		j.note("policy " + RunOutTogether + ": " + by.source())
	}
}

// ahead puts the forecast of a part that was measured into the finding.
func (j *judge) ahead() {
	if j.a.brief {
		return // it makes nothing due
	}
	f := j.a.forecast(j.p)
	if f == nil {
		return
	}
	mean, sd := f.wear()
	rest := func(z float64) *float64 { v := f.gait.left(mean+z*sd, j.f.Limit); return &v }
	j.f.Left = Range{rest(normal90), rest(0), rest(-normal90)}
	j.f.Data = f.data
	since := f.now - f.last
	line := CountLine{By: f.sort.by.Of.String(), Unit: f.sort.by.Of.Unit(), Used: since, Limit: since + f.left(0.5), Data: f.data, Share: f.share(mean)}
	if j.a.detail {
		u := j.a.usage(j.p, f.sort.by.Of, window{from: j.lastRead(), to: Never})
		j.explainLine(&line, f.sort.by.Of, &u)
	}
	j.lines, j.best = []CountLine{line}, 0
	j.foresee(f)
}

func (j *judge) lastRead() Instant {
	r, _ := j.p.lastReading()
	return r.At
}

// unread gives a part that can be measured, but was not yet, the range of what
// such parts last; the chance is not told, because the reading comes first.
func (j *judge) unread() {
	f := j.a.forecast(j.p)
	if f == nil || f.sort.guessed || j.best < 0 || countOf(&j.lines[j.best]) != f.sort.by.Of {
		return
	}
	j.foresee(f)
	j.f.Left, j.f.Chance = j.f.LoadLeft, 0
}

// foresee puts load left, date and chance into the finding.
func (j *judge) foresee(f *forecast) {
	load := func(q float64) *float64 {
		if v := f.left(q); !math.IsInf(v, 1) {
			return &v
		}
		return nil
	}
	date := func(q float64) *Instant {
		if days, ok := f.days(q); ok {
			return j.a.inDays(days)
		}
		return nil
	}
	j.f.LoadLeft, j.f.LoadUnit = Range{load(0.1), load(0.5), load(0.9)}, f.sort.by.Of.Unit()
	j.f.Date = Dates{date(0.1), date(0.5), date(0.9)}
	j.f.Chance = f.within(j.a.s.LeadDays)
	if f.pace.perDay <= 0 {
		j.note("not ridden in the last 12 weeks: no date")
	}
}

// estimated makes measuring due where the wear since the last reading has, as
// likely as not, come to the limit.
func (j *judge) estimated() {
	if j.job.Act != ActMeasure || j.a.brief && j.f.Verdict >= Due {
		return
	}
	l := j.p.limit()
	r, has := j.p.deciding(l)
	if l == nil || !has || l.Reached(r.Worst(), l.Due) || j.anchor.At > r.At {
		return
	}
	if (j.a.brief || j.a.only) && !j.p.foreseen && j.a.roughlyShort(j.p) {
		return
	}
	if f := j.a.fitAhead(j.p); f == nil || f.now <= f.last || f.curve == nil && f.surelyShort(f.now) {
		return
	}
	if f := j.a.forecast(j.p); f.curve.at(f.now) >= 0.5 {
		j.raise(Due, ByCount, "it has by the forecast come to the limit since the last reading"+r.figure())
	}
}
