package wear

import "slices"

// declined is the newest sign-off by which somebody chose not to have a job done.
func (p *partView) declined(j *Job) (SignOff, bool) {
	for _, s := range slices.Backward(p.declines) {
		if s.Job == j.Name {
			return s, true
		}
	}
	return SignOff{}, false
}

// declined judges a job that was declined: what was due then is not asked for
// again until its next interval is over or a new reading or look asks for it.
// Work on what is safe or not cannot be declined away: it only says so.
func (a *assessor) declined(j *judge, d SignOff) *judge {
	note := "declined on " + a.day(d.At)
	if j.job.Safety || j.f.Verdict == Stop {
		j.note(note + ", but safety work stays due")
		return j
	}
	then := a.asOf(d.At)
	then.brief = true
	if !then.due(j.p.pc.Part.ID, j.job) {
		j.note(note + ", before it was due")
		return j
	}
	again := a.judgeFrom(j.p, j.job, Anchor{At: d.At, Why: "it was declined"}, d.At)
	if again.f.Verdict < Due {
		note += ": asked for again after its next interval"
	}
	again.note(note)
	return again
}

// due reports whether a job of a part was due or worse, or had been but for an
// earlier time that it was declined.
func (a *assessor) due(part ID, job *Job) bool {
	for _, p := range a.views {
		if p.pc.Part.ID == part {
			return a.judgeFrom(p, job, a.anchor(p, job), Ever).f.Verdict >= Due
		}
	}
	return false
}

// asOf is the bike as it was known at an instant at which its spans are cut;
// what was declined at that very instant is left out.
func (a *assessor) asOf(at Instant) *assessor {
	c := a.c.AsOf(at)
	return newAssessor(&c, a.s)
}

// take puts a part among those on the bike or those that were.
func (c *Case) take(pc PartCase) {
	on := func(s Stay) bool { return s.Host == c.Bike.ID && s.Holds(c.Today) }
	if slices.ContainsFunc(pc.Stays, on) {
		c.Parts = append(c.Parts, pc)
	} else {
		c.Past = append(c.Past, pc)
	}
}

func (pc PartCase) asOf(at Instant) PartCase {
	pc.Stays = until(pc.Stays, func(s Stay) bool { return s.From <= at })
	pc.Readings = until(pc.Readings, func(r Reading) bool { return r.At <= at })
	pc.Looks = until(pc.Looks, func(l Look) bool { return l.At <= at })
	pc.SignOffs = until(pc.SignOffs, func(s SignOff) bool { return s.At < at || s.At == at && !s.Declined })
	return pc
}

func until[T any](list []T, keep func(T) bool) []T {
	var kept []T
	for _, v := range list {
		if keep(v) {
			kept = append(kept, v)
		}
	}
	return kept
}
