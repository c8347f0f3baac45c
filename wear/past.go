package wear

import (
	"cmp"
	"slices"
	"sort"
)

// Ago is what [Stood] asks of the book about a bike's past.
type Ago struct {
	Held  func(Instant) (bool, error)            // whether it had to stay in: the exact answer for one instant
	Rides func(from, to Instant) ([]Ride, error) // that start in [from, to), in order, as far as sums ask
}

// past tells how a bike stood at earlier instants from the case of today.
//
// Within a span lies no fact but its rides, and those only add up: so do the counts
// since an anchor and the days. A look, a reading, a crash stops from the begin of
// the span to its end, a count from the instant on that it is past its limit. What
// stops the bike within a span therefore stops it at its end too, and of any instant
// within only the jobs that stop it at the end have to be asked again, with the
// rides that came later taken off. Their gears stay, because no job that can stop a
// bike counts by them, and so does the onset of the span: what it tells of a later
// ride lies beyond the hours ridden, where nothing is missed yet.
type past struct {
	c   *Case
	s   *Schedule
	ago Ago

	from, end Instant // the span that is looked at: [from, end)
	uncut     bool    // it holds facts after all, and the book has to be asked
	whole     Span    // with all its rides
	rides     []Ride
	a         *assessor // of its end
	stopping  []jobOf   // at its end
	frameless bool      // a crash stops the bike all through it
}

// jobOf is a job of a part.
type jobOf struct {
	part *partView
	job  *Job
}

// held reports whether the bike had to stay in at an instant.
func (p *past) held(at Instant) (bool, error) {
	then := *p.c
	then.Today = at
	switch is, _ := then.Standing(); {
	case is == Retired:
		return false, nil
	case is == Held:
		return true, nil
	case then.Release() != nil:
		return p.ago.Held(at)
	}
	return p.stopped(at)
}

// stopped reports whether a finding stopped the bike at an instant at which it was
// neither held back nor let go.
func (p *past) stopped(at Instant) (bool, error) {
	if p.a == nil || at < p.from || at >= p.end {
		if err := p.look(at); err != nil {
			return false, err
		}
	}
	switch {
	case p.uncut:
		return p.ago.Held(at)
	case p.frameless || len(p.stopping) == 0:
		return p.frameless, nil
	}
	p.cut(at)
	return slices.ContainsFunc(p.stopping, p.stops), nil
}

func (p *past) stops(j jobOf) bool { return p.a.judge(j.part, j.job).f.Verdict == Stop }

// look turns to the span in which an instant lies, and finds what stops the bike
// at its end.
func (p *past) look(at Instant) (err error) {
	bike := p.c.Bike.ID
	line := p.c.Lines[bike]
	n := sort.Search(len(line), func(i int) bool { return line[i].From > at })
	p.whole, p.from, p.end = line[n-1], line[n-1].From, p.c.Today+1
	if n < len(line) {
		p.end = line[n].From
	}
	p.uncut = p.c.uncut(p.from, p.end)
	then := p.c.AsOf(p.end - 1)
	then.Lines[bike] = slices.Clone(line[:n])
	p.a = newAssessor(&then, p.s)
	p.a.brief = true
	p.frameless = len(p.a.frameless()) > 0
	p.stopping, p.rides = nil, nil
	for _, v := range p.a.views {
		v.foreseen = true // a forecast stops nothing
		for _, job := range p.a.jobsOf(v) {
			if j := (jobOf{v, job}); p.stops(j) {
				p.stopping = append(p.stopping, j)
			}
		}
	}
	if len(p.stopping) > 0 && !p.uncut {
		p.rides, err = p.ago.Rides(p.from, p.end)
	}
	return err
}

// cut takes the rides that started after an instant off the span.
func (p *past) cut(at Instant) {
	n := sort.Search(len(p.rides), func(i int) bool { return p.rides[i].Start > at })
	var later Sums
	for _, r := range p.rides[n:] {
		later[r.Ground] = later[r.Ground].Add(r.Sum())
	}
	p.a.c.Today = at
	line := p.a.c.Lines[p.c.Bike.ID]
	line[len(line)-1].Sums = p.whole.Sums.Sub(later)
}

// uncut reports whether a fact that a verdict on the bike can rest on lies within
// [from, end) where its spans are not cut: a setting, or one of a part that was not
// on the bike then.
func (c *Case) uncut(from, end Instant) bool {
	line := c.Lines[c.Bike.ID]
	within := func(at Instant) bool {
		i, cut := sort.Find(len(line), func(i int) int { return cmp.Compare(at, line[i].From) })
		return from <= at && at < end && !(cut && i < len(line))
	}
	uncut := slices.ContainsFunc(c.Settings, func(s Setting) bool { return within(s.At) }) ||
		slices.ContainsFunc(c.Incidents, func(i Incident) bool { return within(i.At) })
	for _, list := range [][]PartCase{c.Past, c.Parts} {
		for i := range list {
			pc := &list[i]
			uncut = uncut || pc.Part.End != nil && within(pc.Part.End.At) ||
				slices.ContainsFunc(pc.SignOffs, func(s SignOff) bool { return s.Bike == c.Bike.ID && within(s.At) })
		}
	}
	return uncut
}
