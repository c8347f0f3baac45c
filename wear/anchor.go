package wear

import (
	"fmt"
	"slices"
)

// anchor finds the moment that a job of a part counts from: the newest of its
// fit, its sign-offs, looks or readings, and the work that restarts it. Where a
// fit and an inspection share an instant, the first check stays open.
func (a *assessor) anchor(p *partView, j *Job) Anchor {
	at := p.fitAnchor(j)
	if r, ok := a.restart(p, j); ok && r.At >= at.At {
		at = r
	}
	if d, ok := p.done(j); ok && (d.At > at.At || d.At == at.At && len(j.Interval.First) == 0) {
		at = d
	}
	return at
}

// fitAnchor is the fit: this one where a first check follows each fit, the
// first one where hours count on from bike to bike.
func (p *partView) fitAnchor(j *Job) Anchor {
	from := p.begin()
	if len(j.Interval.First) > 0 {
		from = p.stay.From
	}
	if from == Ever {
		return Anchor{At: Ever, Why: "the bike's first ride", First: true}
	}
	why := "it was fitted"
	if from == p.stay.From && p.stay.Came {
		why = "it came with the bike"
	}
	return Anchor{At: from, Why: why, First: true}
}

// done is when the job was last done, by whatever counts as doing it.
func (p *partView) done(j *Job) (Anchor, bool) {
	best, ok := Anchor{At: Ever}, false
	take := func(at Instant, why, what string) {
		if at >= best.At {
			best, ok = Anchor{At: at, Why: why + what}, true
		}
	}
	var last *SignOff
	for i := range p.signoffs {
		s := &p.signoffs[i]
		done := s.Job == j.Name || slices.Contains(j.DoneBy, s.Job)
		if done && (!s.Witness || j.Act == ActCheck) && (last == nil || s.At >= last.At) {
			last = s
		}
	}
	switch {
	case last == nil:
	case last.Witness:
		take(last.At, "its witness mark was found intact", "")
	default:
		take(last.At, "the last sign-off of ", last.Job)
	}
	if l, has := p.lastLook(); j.Act == ActLook && has {
		take(l.At, "the last look ", "("+string(l.Word)+")")
	}
	if r, has := p.lastReading(); j.Act == ActMeasure && has {
		take(r.At, "the last reading", "")
	}
	return best, ok
}

// restart is the newest work on what the job depends on.
func (a *assessor) restart(p *partView, j *Job) (Anchor, bool) {
	best, ok := Anchor{At: Ever, First: true}, false
	if len(j.RestartedBy) == 0 {
		return best, false
	}
	for _, list := range [][]PartCase{a.c.Past, a.c.Parts} {
		for i := range list {
			if pc := &list[i]; slices.Contains(j.RestartedBy, pc.Part.Kind) {
				if at, why := a.lastWork(pc); at > best.At && at >= p.stay.From {
					best.At, best.Why, ok = at, why, true
				}
			}
		}
	}
	return best, ok
}

// lastWork is the newest dated fit of a part to this bike, or work signed off
// on it here; Ever where there was none.
func (a *assessor) lastWork(pc *PartCase) (at Instant, why string) {
	var done *SignOff
	at = Ever
	for i, st := range pc.Stays {
		if st.Host == a.c.Bike.ID && st.From > at && st.From <= a.c.Today && (i == 0 || !a.cameOnWheel(pc, st)) {
			at, why = st.From, pc.Part.Name+" was fitted"
		}
	}
	for i := range pc.SignOffs {
		s := &pc.SignOffs[i]
		if !s.Void && !s.Declined && s.Bike == a.c.Bike.ID && s.At > at && a.s.Work(pc.Part.Kind, *s) {
			at, done = s.At, s
		}
	}
	if done != nil {
		why = fmt.Sprintf("%s of %s was signed off", done.Job, pc.Part.Name)
	}
	return at, why
}

// cameOnWheel reports whether the part came to the bike again only because the
// wheel that carries it did: nobody worked on it.
func (a *assessor) cameOnWheel(pc *PartCase, st Stay) bool {
	k := a.s.kind(pc.Part.Kind)
	if k == nil || k.CarriedBy == "" {
		return false
	}
	for _, list := range [][]PartCase{a.c.Past, a.c.Parts} {
		for i := range list {
			if list[i].Part.Kind == k.CarriedBy && slices.ContainsFunc(list[i].Stays, func(w Stay) bool {
				return w.Host == st.Host && w.From == st.From
			}) {
				return true
			}
		}
	}
	return false
}

// since is the anchor as a day: the bike's first ride stands for Ever. ok is
// false where that is not known either.
func (a *assessor) since(p *partView, at Instant) (since Instant, ok bool) {
	if at != Ever {
		return at, true
	}
	if len(p.stays) == 0 || p.stays[0].Host == a.c.Bike.ID {
		return a.c.First, a.c.First != Ever
	}
	return p.stays[0].To, p.stays[0].To != Never // not later than that
}
