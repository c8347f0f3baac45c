package wear

import (
	"cmp"
	"slices"
)

// Assess gives the verdict on every job of every part of a bike, the fine ones
// included, most urgent first. It reads nothing but its arguments and changes
// neither: the same facts in any order give the same findings. Of a retired
// bike nothing is due.
func Assess(c Case, s *Schedule) []Finding {
	if c.retired() {
		return nil
	}
	a := newAssessor(&c, s)
	judged := make([]*judge, 0, 3*len(a.views))
	for _, p := range a.views {
		judged = append(judged, a.part(p)...)
	}
	return urgent(a.frameless(), judged)
}

// AssessOnly is what [Assess] says of some verdicts. Where it is only asked what is
// due or stops the bike it needs no forecast, but where the wear since a reading may
// have come to the limit, and writes nothing down of what is fine.
func AssessOnly(c Case, s *Schedule, want ...Verdict) []Finding {
	wanted := func(v Verdict) bool { return slices.Contains(want, v) }
	if slices.ContainsFunc(want, func(v Verdict) bool { return v < Due }) {
		return slices.DeleteFunc(Assess(c, s), func(f Finding) bool { return !wanted(f.Verdict) })
	}
	if c.retired() {
		return nil
	}
	a := newAssessor(&c, s)
	a.only = true
	frameless := slices.DeleteFunc(a.frameless(), func(f Finding) bool { return !wanted(f.Verdict) })
	var judged []*judge
	for _, p := range a.views {
		judged = append(judged, a.partOnly(p, wanted)...)
	}
	return urgent(frameless, judged)
}

// partOnly judges every job of one part in brief, and in full those that are
// wanted, all of which are due or worse.
func (a *assessor) partOnly(p *partView, wanted func(Verdict) bool) []*judge {
	jobs := a.jobsOf(p)
	verdicts := make([]Verdict, len(jobs))
	a.brief = true
	changed := false
	for i, job := range jobs {
		j := a.judge(p, job)
		verdicts[i] = j.f.Verdict
		changed = changed || j.changed()
		a.idle = j
	}
	a.brief = false
	var list []*judge
	for i, job := range jobs {
		if wanted(verdicts[i]) && !(changed && spared(job.Act, verdicts[i])) {
			list = append(list, a.judge(p, job))
		}
	}
	return list
}

// jobsOf are the jobs of a part: those of its kind, and those that a look asks for.
func (a *assessor) jobsOf(p *partView) []*Job {
	jobs := make([]*Job, 0, len(p.kind.Jobs)+2)
	for i := range p.kind.Jobs {
		jobs = append(jobs, &p.kind.Jobs[i])
	}
	return append(jobs, a.implied(p)...)
}

// part judges every job of one part.
func (a *assessor) part(p *partView) []*judge {
	jobs := a.jobsOf(p)
	list := make([]*judge, len(jobs))
	changed := false
	for i, job := range jobs {
		list[i] = a.judge(p, job)
		changed = changed || list[i].changed()
	}
	if !changed {
		return list
	}
	for _, j := range list {
		if f := &j.f; spared(f.Act, f.Verdict) {
			f.Verdict = Fine
			f.Notes = append(f.Notes, "not asked for: the part is to be changed")
		}
	}
	return list
}

// changed reports whether the part is to be changed.
func (j *judge) changed() bool { return j.f.Act == ActChange && j.f.Verdict >= Due }

// spared reports whether a job is not asked for of a part that is to be changed
// anyway: inspections are not, but for those that stop the bike.
func spared(act Act, v Verdict) bool { return v == Due && (act == ActMeasure || act == ActLook) }

// urgent are the findings, most urgent first.
func urgent(frameless []Finding, judged []*judge) []Finding {
	list := make([]*Finding, 0, len(frameless)+len(judged))
	for i := range frameless {
		list = append(list, &frameless[i])
	}
	for _, j := range judged {
		list = append(list, &j.f)
	}
	if len(list) == 0 {
		return nil
	}
	slices.SortFunc(list, urgency)
	fs := make([]Finding, len(list))
	for i, f := range list {
		fs[i] = *f
	}
	return fs
}

func byUrgency(x, y Finding) int { return urgency(&x, &y) }

// urgency orders findings: verdict, what was seen before what was missed, safety,
// share, then names.
func urgency(x, y *Finding) int {
	return cmp.Or(
		cmp.Compare(y.Verdict, x.Verdict),
		cmp.Compare(boolInt(y.Seen), boolInt(x.Seen)),
		cmp.Compare(boolInt(y.Safety), boolInt(x.Safety)),
		cmp.Compare(y.Share, x.Share),
		cmp.Compare(x.Bike, y.Bike),
		cmp.Compare(x.Kind, y.Kind),
		cmp.Compare(x.Part, y.Part),
		cmp.Compare(x.Job, y.Job),
	)
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}
