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
	fs := a.frameless()
	for _, p := range a.views {
		fs = append(fs, a.part(p)...)
	}
	slices.SortFunc(fs, byUrgency)
	return fs
}

// AssessOnly is what [Assess] says of some verdicts. Where it is only asked what is
// due or stops the bike it needs no forecast, but where the wear since a reading may
// have come to the limit, and writes nothing down of what is fine.
func AssessOnly(c Case, s *Schedule, want ...Verdict) []Finding {
	wanted := func(f Finding) bool { return slices.Contains(want, f.Verdict) }
	if slices.ContainsFunc(want, func(v Verdict) bool { return v < Due }) {
		return slices.DeleteFunc(Assess(c, s), func(f Finding) bool { return !wanted(f) })
	}
	if c.retired() {
		return nil
	}
	a := newAssessor(&c, s)
	var fs []Finding
	for _, f := range a.frameless() {
		if wanted(f) {
			fs = append(fs, f)
		}
	}
	for _, p := range a.views {
		fs = append(fs, a.partOnly(p, wanted)...)
	}
	slices.SortFunc(fs, byUrgency)
	return fs
}

// partOnly judges every job of one part in brief, and in full those that are
// wanted, all of which are due or worse.
func (a *assessor) partOnly(p *partView, wanted func(Finding) bool) []Finding {
	jobs := a.jobsOf(p)
	fs := make([]Finding, len(jobs))
	a.brief = true
	for i, job := range jobs {
		fs[i] = a.judge(p, job).f
	}
	a.brief = false
	spare(fs)
	var list []Finding
	for i, job := range jobs {
		if wanted(fs[i]) {
			list = append(list, a.judge(p, job).f)
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
func (a *assessor) part(p *partView) []Finding {
	jobs := a.jobsOf(p)
	fs := make([]Finding, len(jobs))
	for i, job := range jobs {
		fs[i] = a.judge(p, job).f
	}
	spare(fs)
	return fs
}

// spare takes back inspections of a part that is to be changed anyway, but for
// those that stop the bike.
func spare(fs []Finding) {
	if !slices.ContainsFunc(fs, func(f Finding) bool { return f.Act == ActChange && f.Verdict >= Due }) {
		return
	}
	for i := range fs {
		if f := &fs[i]; f.Verdict == Due && (f.Act == ActMeasure || f.Act == ActLook) {
			f.Verdict = Fine
			f.Notes = append(f.Notes, "not asked for: the part is to be changed")
		}
	}
}

// byUrgency orders findings: verdict, safety, share, then names.
func byUrgency(x, y Finding) int {
	return cmp.Or(
		cmp.Compare(y.Verdict, x.Verdict),
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
