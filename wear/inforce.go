package wear

import (
	"fmt"
	"strings"
)

// InForceLine is a job of the schedule as shipped, or what an override puts in
// the place of some of its figures.
type InForceLine struct {
	Kind   string // a kind, or a family of an override; "" = a policy
	Job    string // "" = ground factors or a policy
	Title  string
	Rule   string // as it says itself; of an override only what it changes
	Source string // whence the figures come, the file of an override included
	File   string // the override's file; "" = shipped, or not from a file
	Scope  Scope  // "" = shipped
	Key    string // of the scope: a kind or model
	Of     ID     // of the scope: a bike or part
	Since  Instant
}

// InForce lists every job of the schedule with its figures and whence they
// come, and behind each what overrides put in their place, the widest scope
// first: what comes later wins. Policies come last.
func InForce(settings []Setting, s *Schedule) []InForceLine {
	over, _ := inForce(settings)
	var list []InForceLine
	for i := range s.kinds {
		k := &s.kinds[i]
		for n := range k.Jobs {
			j := &k.Jobs[n]
			list = append(list, InForceLine{Kind: k.Name, Job: j.Name, Title: j.Title, Rule: j.Rule(), Source: j.Source, Since: Ever})
			list = append(list, lines(over, func(o *override) bool { return o.of(k) && o.job == j.Name }, k.Name, j.Title)...)
		}
		list = append(list, lines(over, func(o *override) bool { return o.of(k) && o.job == "" }, k.Name, k.Title)...)
	}
	return append(list, lines(over, func(o *override) bool { return o.kind == "" }, "", "policy")...)
}

func lines(over []*override, takes func(*override) bool, kind, title string) []InForceLine {
	var list []InForceLine
	for _, o := range over {
		if takes(o) {
			list = append(list, InForceLine{Kind: kind, Job: o.job, Title: title, Rule: o.String(), Source: o.source(),
				File: o.set.File, Scope: o.set.Scope, Key: o.set.Key, Of: o.set.Of, Since: o.set.At})
		}
	}
	return list
}

// Rule says the job's interval, and behind it what differs for some parts or
// bikes: "every 25 h. steel: expected at 2,000,000 turns of the crank".
func (j *Job) Rule() string {
	s := j.say(j.Interval)
	for _, v := range j.Variants {
		words := make([]string, len(v.Is))
		for i, c := range v.Is {
			words[i] = string(c)
		}
		if said := v.Interval.said(); said != "" {
			s += ". " + strings.Join(words, " or ") + ": " + said
		}
	}
	return s
}

// said is what an interval says; nothing where it has nothing to say.
func (iv Interval) said() string {
	if len(iv.First)+len(iv.Then)+len(iv.Soon)+len(iv.After)+len(iv.Expect) == 0 && iv.Reading == nil {
		return ""
	}
	return iv.String()
}

// String says what the override puts in the place of the schedule's figures.
func (o *override) String() string {
	s := o.figures.said()
	if o.figures.Soon == nil && len(o.figures.SoonAfter) > 0 {
		s = join(s, "; ", "sooner "+saySoon(o.figures.SoonAfter))
	}
	if o.figures.After != nil && len(o.figures.After) == 0 {
		s = join(s, "; ", "after no event")
	}
	if o.reading != nil {
		s = join(s, "; ", o.reading.String())
	}
	if o.torque > 0 {
		s = join(s, "; ", "torque "+Torque(o.torque))
	}
	for g, f := range o.factors {
		if f != nil {
			s = join(s, ", ", fmt.Sprintf("%s × %g", Ground(g), *f))
		}
	}
	if o.runOut != nil {
		word := SaveCassette
		if *o.runOut {
			word = RunOutTogether
		}
		s = join(s, "; ", "drivetrain "+word)
	}
	if o.leadDays > 0 {
		s = join(s, "; ", fmt.Sprintf("parts ordered %g days ahead", o.leadDays))
	}
	if o.advice != "" {
		s = join(s, "; ", o.advice)
	}
	if o.minutes > 0 {
		s = join(s, "; ", fmt.Sprintf("%d min at the stand", o.minutes))
	}
	return s
}

// String says what differs from the schedule's limit.
func (r *rawReading) String() string {
	var s string
	for _, f := range []struct {
		words string
		v     *float64
	}{{"new", r.New}, {"at", r.Due}, {"stop at", r.Stop}, {"stop in a fleet at", r.FleetStop}} {
		if f.v != nil {
			s = join(s, ", ", fmt.Sprintf("%s %g", f.words, *f.v))
		}
	}
	if r.Stamped != nil {
		word := "the figure stamped on the part goes first"
		if !*r.Stamped {
			word = "whatever is stamped on the part"
		}
		s = join(s, ", ", word)
	}
	return s
}
