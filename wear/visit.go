package wear

import "slices"

// VisitPlan is what the visit of one bike comes to.
type VisitPlan struct {
	Bike     string    // name; empty where no finding told it
	At       Instant   // the end of that day
	Findings []Finding // to be worked through, in working order
	Minutes  int       // typical bench time; work that other work includes counts once
	Parts    []string  // kinds of the parts to take, in working order; one entry a part
}

// PlanVisit tells what a visit will do: all of that bike that is to be ordered,
// due or a stop, and what comes due by the end of that day as likely as not.
func PlanVisit(v Visit, findings []Finding) VisitPlan {
	plan := VisitPlan{At: v.At}
	for i := range findings {
		f := &findings[i]
		if f.BikeID != v.Bike {
			continue
		}
		plan.Bike = f.Bike
		if f.upBy(v.At) && !f.spared(findings) {
			plan.Findings = append(plan.Findings, *f)
		}
	}
	plan.Findings = WorkingOrder(plan.Findings)
	plan.Minutes, plan.Parts = minutes(plan.Findings), toTake(plan.Findings)
	return plan
}

// upBy reports whether the finding asks for something by an instant.
func (f *Finding) upBy(at Instant) bool {
	return f.Verdict >= Order || f.comesDue(at)
}

// spared reports whether the finding is an inspection that was not asked for
// since its part is to be changed.
func (f *Finding) spared(all []Finding) bool {
	return f.Verdict == Fine && (f.Act == ActMeasure || f.Act == ActLook) && slices.ContainsFunc(all, func(o Finding) bool {
		return o.samePart(f) && o.Act == ActChange && o.Verdict >= Due
	})
}

func (f *Finding) samePart(o *Finding) bool { return f.BikeID == o.BikeID && f.PartID == o.PartID }

// minutes is the bench time of all findings together.
func minutes(fs []Finding) int {
	sum := 0
	for i := range fs {
		if !fs[i].included(fs) {
			sum += fs[i].Minutes
		}
	}
	return sum
}

// included reports whether another job of the same part does this one as well.
func (f *Finding) included(all []Finding) bool {
	k := Default().kind(f.Kind)
	if k == nil {
		return false
	}
	job, ok := k.Job(f.Job)
	return ok && slices.ContainsFunc(all, func(o Finding) bool {
		return o.samePart(f) && slices.Contains(job.DoneBy, o.Job)
	})
}

// toTake are the kinds of the parts that are changed or to be ordered.
func toTake(fs []Finding) []string {
	var kinds []string
	takes := func(f *Finding) bool { return f.Act == ActChange || f.Verdict == Order }
	for i := range fs {
		f := &fs[i]
		taken := slices.ContainsFunc(fs[:i], func(o Finding) bool { return o.samePart(f) && takes(&o) })
		if takes(f) && !taken {
			kinds = append(kinds, f.Kind)
		}
	}
	return kinds
}
