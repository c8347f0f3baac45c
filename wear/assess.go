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

// part judges every job of one part.
func (a *assessor) part(p *partView) []Finding {
	fs := make([]Finding, 0, len(p.kind.Jobs))
	for i := range p.kind.Jobs {
		fs = append(fs, a.judge(p, &p.kind.Jobs[i]).f)
	}
	for _, job := range a.implied(p) {
		fs = append(fs, a.judge(p, job).f)
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
