package wear

import (
	"fmt"
	"math"
)

// judge works out the finding of one job of one part.
type judge struct {
	a      *assessor
	p      *partView
	job    *Job
	rule   *rule
	iv     *Interval // of the rule, for this part
	group  group     // whence the limit of the finding comes
	anchor Anchor
	lines  []CountLine
	best   int // index of the line that decides; -1 = none
	f      Finding
	how    []string // the steps of left and date, for Explain
	known  Instant  // readings, looks and events up to here were declined; Ever = none
}

func (a *assessor) judge(p *partView, job *Job) *judge {
	j := a.judgeFrom(p, job, a.anchor(p, job), Ever)
	d, ok := p.declined(job)
	if !ok || d.At <= j.anchor.At {
		return j
	}
	if j.f.Verdict >= Due {
		j = a.declined(j, d)
	}
	j.f.Declined = d.At
	return j
}

func (a *assessor) judgeFrom(p *partView, job *Job, from Anchor, known Instant) *judge {
	j := a.idle
	if j == nil {
		j = new(judge)
	}
	a.idle = nil
	*j = judge{a: a, p: p, job: job, anchor: from, best: -1, known: known, lines: j.lines[:0]}
	j.rule, j.group = p.at(job), figThen
	j.iv = &j.rule.Interval
	j.f = Finding{
		Bike: a.c.Bike.Name, Part: p.pc.Part.Name, Kind: p.kind.Name, Job: job.Name, Title: job.Title,
		BikeID: a.c.Bike.ID, PartID: p.pc.Part.ID, Act: job.Act, Safety: job.Safety,
		Basis: ByCount, Data: DataRecorded, Advice: j.rule.advice, Caution: job.Caution, Minutes: j.rule.minutes,
	}
	if !a.brief {
		j.f.Notes = append(append(j.f.Notes, p.remarks...), j.rule.notes...)
	}
	j.f.Since, _ = a.since(p, j.anchor.At)
	if job.Act == ActChange && p.kind.Inspected() {
		j.change()
	} else {
		j.counted()
	}
	j.look()
	if len(a.incidents) > 0 {
		j.named()
	}
	j.settle()
	return j
}

// counted is the verdict of a job that counts and events decide.
func (j *judge) counted() {
	j.count(j.due(), window{from: j.anchor.At, to: Never, opening: false})
	j.show()
	if j.best >= 0 && j.lines[j.best].Share >= 1 {
		l := &j.lines[j.best]
		j.raise(Due, ByCount, j.sayReached(l))
	}
	j.events()
	j.expected()
	j.estimated()
	if j.job.Act == ActChange && j.f.Verdict == Fine && j.f.Chance >= likely {
		j.raise(Order, ByCount, j.soon(j.f.Chance))
	}
	j.missed()
	j.fleet()
}

func (j *judge) sayReached(l *CountLine) string {
	of := countOf(l)
	used, limit := about(of, l.Used), Count{of, l.Limit}
	if j.anchor.First && len(j.iv.First) > 0 {
		return fmt.Sprintf("first check after %s: %s since %s", limit, used, j.anchor.Why)
	}
	return fmt.Sprintf("%s since %s, limit %s", used, j.anchor.Why, Thousands(l.Limit/countKinds[of].scale))
}

// due are the counts that hold now: the first ones while a first check is
// open, the shorter ones after the events that call for them.
func (j *judge) due() []Count {
	if j.anchor.First && len(j.iv.First) > 0 {
		j.group = figFirst
		return j.iv.First
	}
	for _, e := range j.iv.SoonAfter {
		if why, ok := j.happened(e, true); ok {
			j.note("shorter interval: " + why)
			j.group = figSoon
			return j.iv.Soon
		}
	}
	return j.iv.Then
}

// count works out every count over a window.
func (j *judge) count(cs []Count, w window) {
	if j.lines = j.lines[:0]; cap(j.lines) < len(cs) || j.lines == nil {
		j.lines = make([]CountLine, 0, len(cs))
	}
	for _, c := range cs {
		j.lines = append(j.lines, j.line(c, w))
	}
	j.decide()
}

func (j *judge) line(c Count, w window) CountLine {
	l := CountLine{By: c.Of.String(), Unit: c.Of.Unit(), Limit: c.Limit, Data: DataRecorded}
	if c.Of == CountDays {
		if since, ok := j.a.since(j.p, w.from); ok {
			l.Used = max(0, min(j.a.c.Today, w.to).DaysSince(since))
		}
	} else {
		u := j.a.usage(j.p, c.Of, w)
		l.Used, l.Data = u.used, u.data()
		if !j.a.brief {
			j.remark(c.Of, &u)
		}
		if j.a.detail {
			j.explainLine(&l, c.Of, &u)
		}
	}
	l.Share = l.Used / c.Limit
	return l
}

// remark notes what the reader must know of a count.
func (j *judge) remark(of CountOf, u *usage) {
	if u.lacking > 0 {
		j.note(fmt.Sprintf("%s could not be told for %s: more was ridden than is counted", countKinds[of].of, plural(u.lacking, "ride")))
	}
	if !of.Derived() {
		return
	}
	as := &j.a.s.Assumed
	switch part := &j.p.pc.Part; {
	case of == CountIdler && part.Teeth == 0:
		j.note(fmt.Sprintf("teeth of %s not given: %g taken", part.Name, as.Idler))
	case of == CountPulley && part.Teeth == 0:
		j.note(fmt.Sprintf("teeth of %s not given: %g taken", part.Name, as.Pulley))
	case of == CountContacts && j.p.told > 0:
		j.note(fmt.Sprintf("by the gears of %s turns: %.0f %% are on the %g, the cog that wears first", Thousands(math.Round(j.p.told)), j.p.busyShare*100, j.p.busyTeeth))
	case of == CountContacts:
		j.note(fmt.Sprintf("gears not looked at: %g %% of the turns taken to be on the %g", j.p.busyShare*100, j.p.busyTeeth))
	}
	if u.noRing {
		j.note(fmt.Sprintf("teeth of the ring not known throughout: %g taken", as.Ring))
	}
}

// decide picks the count that is or will be reached first.
func (j *judge) decide() {
	j.best = -1
	for i := range j.lines {
		if j.best < 0 || j.sooner(&j.lines[i], &j.lines[j.best]) {
			j.best = i
		}
	}
	if j.best >= 0 {
		j.lines[j.best].Decides = true
	}
}

func (j *judge) sooner(x, y *CountLine) bool {
	if x.Share < 1 && y.Share < 1 && !j.a.brief {
		dx, okx := j.daysLeft(x)
		dy, oky := j.daysLeft(y)
		if okx && oky && dx != dy {
			return dx < dy
		}
	}
	return x.Share > y.Share
}

// show puts the deciding count into the finding.
func (j *judge) show() {
	if j.best < 0 || j.a.brief {
		return
	}
	l := &j.lines[j.best]
	j.f.Used, j.f.Limit, j.f.Unit, j.f.Share, j.f.Data = l.Used, l.Limit, l.Unit, l.Share, l.Data
	left := max(0, l.Limit-l.Used)
	j.f.Left = Range{&left, &left, &left}
	j.f.Date = j.date(l)
	j.f.Chance = j.chance(l, j.a.s.LeadDays)
}

// raise makes the verdict at least v; the reason of the worst comes first.
func (j *judge) raise(v Verdict, by Basis, why string) {
	r := Reason{by, why}
	if v > j.f.Verdict {
		j.f.Verdict, j.f.Basis = v, by
		j.f.Reasons = append([]Reason{r}, j.f.Reasons...)
		return
	}
	j.f.Reasons = append(j.f.Reasons, r)
}

func (j *judge) note(s string) {
	if j.a.brief {
		return
	}
	for _, n := range j.f.Notes {
		if n == s {
			return
		}
	}
	j.f.Notes = append(j.f.Notes, s)
}

// settle makes the figures of a finding agree with its verdict.
func (j *judge) settle() {
	if j.a.brief {
		return
	}
	j.f.Rule, j.f.Source = j.rule.said, j.rule.sourceOf(j.group)
	if j.f.Rule == "" || j.iv != &j.rule.Interval {
		j.f.Rule = j.job.say(*j.iv)
	}
	j.torque()
	if j.f.Verdict < Due {
		return
	}
	zero, today := 0.0, j.a.c.Today
	j.f.Share, j.f.Chance = max(1, j.f.Share), 1
	j.f.Left, j.f.Date = Range{&zero, &zero, &zero}, Dates{&today, &today, &today}
	if j.f.LoadUnit != "" {
		j.f.LoadLeft = j.f.Left
	}
}

func countOf(l *CountLine) CountOf {
	for i := range countKinds {
		if countKinds[i].key == l.By {
			return CountOf(i)
		}
	}
	return CountTurns
}

func plural(n int64, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return Thousands(float64(n)) + " " + noun + "s"
}
