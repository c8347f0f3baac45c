package wear

import (
	"fmt"
	"slices"
)

// change is the verdict on changing a part that can be measured or looked at:
// readings decide, and looks; counts only say what to expect.
func (j *judge) change() {
	l := j.p.limit()
	if j.iv.Reading == nil {
		l = nil
	}
	if l != nil {
		j.iv.Reading = l
	}
	j.policy()
	r, has := j.p.lastReading()
	j.group = figReading
	if l == nil || !has {
		if len(j.iv.Expect) > 0 {
			j.group = figExpect
		}
		j.expectation(l)
		return
	}
	j.f.Basis, j.f.Used, j.f.Limit, j.f.Unit, j.f.Share = ByReading, r.Worst(), l.Due, l.Unit(), l.Share(r.Worst())
	j.rate(l, r)
	j.limits(l, r)
}

// limits holds the reading against due and stop.
func (j *judge) limits(l *Limit, r Reading) {
	say := func(limit float64) string { return fmt.Sprintf("%s, limit %g %s", r.held(), limit, l.Unit()) }
	if hard, ok := l.hard(j.a.c.Bike.Fleet); ok && l.Reached(r.Worst(), hard) {
		j.stop(ByReading, say(hard), j.job.Title)
		return
	}
	if l.Reached(r.Worst(), l.Due) {
		if r.At > j.known {
			j.raise(Due, ByReading, say(l.Due))
		}
	} else if j.within(j.f.Date.P50) {
		j.raise(Order, ByReading, fmt.Sprintf("%s: reached within %g days at the way the bike is ridden", say(l.Due), j.a.s.LeadDays))
	}
	if j.p.kind.Name == "chain" && j.p.setting.speeds == 0 && !j.p.setting.narrow {
		j.note("speeds of the cassette not given: the limit of 11-speed and up is taken")
	}
}

// expectation shows how far the part has come of what such parts last.
func (j *judge) expectation(l *Limit) {
	if l != nil {
		j.note("not measured yet")
	}
	j.count(j.iv.Expect, window{from: Ever, to: Never, opening: true})
	j.f.Since, _ = j.a.since(j.p, j.p.begin())
	j.anchor = Anchor{At: j.p.begin(), Why: "it was fitted"}
	if j.anchor.At == Ever {
		j.anchor.Why = "the bike's first ride"
	}
	j.show()
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

// load is the count that wear by reading is held to go with.
func (j *judge) load() (Count, bool) {
	iv, ok := j.p.changing()
	if !ok || len(iv.Expect) == 0 {
		return Count{CountBraking, 0}, j.p.kind.Family == "rotor"
	}
	return iv.Expect[0], true
}

// rate estimates when the limit is reached, by simple proportion: as much more
// wear per load as there was so far.
func (j *judge) rate(l *Limit, r Reading) {
	by, ok := j.load()
	if !ok {
		return
	}
	perLoad, why, ok := j.wearRate(l, r, by)
	j.how = append(j.how, why)
	if !ok {
		return
	}
	since := j.line(by, window{from: r.At, to: Never})
	now := r.Value + perLoad*since.Used
	toGo := (l.Due - now) / perLoad
	left := max(0, (l.Due-now)*sign(*l))
	j.f.Left.P50, j.f.Data = &left, since.Data
	j.how = append(j.how, fmt.Sprintf("%s since the reading: about %.3g %s now", about(by.Of, since.Used), now, l.Unit()))
	line := CountLine{By: by.Of.String(), Unit: by.Of.Unit(), Used: since.Used, Limit: since.Used + max(0, toGo), Data: since.Data, Grounds: since.Grounds}
	line.Share = l.Share(now)
	j.lines, j.best = []CountLine{line}, 0
	j.f.Date.P50 = j.date(&j.lines[0])
}

func sign(l Limit) float64 {
	if l.Rises() {
		return 1
	}
	return -1
}

// wearRate is the wear per unit of load, in the reading's unit.
func (j *judge) wearRate(l *Limit, r Reading, by Count) (perLoad float64, why string, ok bool) {
	from, start := Ever, l.New
	if j.p.used() && len(j.p.readings) > 1 {
		from, start = j.p.readings[0].At, j.p.readings[0].Value
	}
	u := j.a.usage(j.p, by.Of, window{from: from, to: r.At, opening: true})
	worn := (r.Value - start) / (l.Due - l.New)
	if u.used > 0 && worn > j.a.s.EarlyShare {
		return (r.Value - start) / u.used, fmt.Sprintf("from %.3g to %.3g %s over %s", start, r.Value, l.Unit(), about(by.Of, u.used)), true
	}
	if by.Limit == 0 {
		return 0, "too little wear yet to tell a rate", false
	}
	return (l.Due - l.New) / by.Limit, fmt.Sprintf("too little wear yet to tell a rate: the expected one, %g %s over %s, is taken",
		l.Due-l.New, l.Unit(), by), true
}

// estimated makes measuring due where the wear since the last reading must,
// by the same proportion, have come to the limit.
func (j *judge) estimated() {
	if j.job.Act != ActMeasure {
		return
	}
	l := j.p.limit()
	r, has := j.p.lastReading()
	if l == nil || !has || l.Reached(r.Worst(), l.Due) {
		return
	}
	sub := judge{a: j.a, p: j.p, anchor: j.anchor, best: -1}
	sub.rate(l, r)
	if sub.best >= 0 && sub.lines[0].Share >= 1 && sub.lines[0].Used > 0 && j.anchor.At <= r.At {
		j.raise(Due, ByCount, fmt.Sprintf("by simple proportion it has come to the limit since the last reading of %.3g %s", r.Value, l.Unit()))
	}
}
