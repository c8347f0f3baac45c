package wear

import (
	"fmt"
	"strings"
)

func (o rawOverride) block() (b block, w *wrongBlock) {
	kinds, w := Default().kindsOf(o.Kind)
	if w != nil {
		return b, w
	}
	if b.scope, b.key, w = scope(o.Kind, o.Model, o.Bike, o.Part); w != nil {
		return b, w
	}
	if b.over, w = o.override(); w != nil {
		return b, w
	}
	for _, k := range kinds {
		if w := b.over.fits(k); w != nil {
			return b, w
		}
	}
	o.Model, o.Bike, o.Part = "", "", ""
	b.text.Job = []rawOverride{o}
	return b, nil
}

// override reads the figures of a block.
func (o *rawOverride) override() (*override, *wrongBlock) {
	over := &override{kind: o.Kind, job: o.Job, reading: o.Reading, advice: o.Advice, minutes: o.Minutes, said: o.Source}
	for _, c := range []struct {
		word string
		from *rawCounts
		to   *[]Count
	}{{"first", o.First, &over.figures.First}, {"then", o.Then, &over.figures.Then}, {"soon", o.Soon, &over.figures.Soon}, {"expect", o.Expect, &over.figures.Expect}} {
		if c.from == nil {
			continue
		}
		if *c.to = c.from.list(); *c.to == nil {
			return nil, wrongAt(c.word, "%s: names no count above 0", c.word)
		}
		if err := checkCounts(*c.to); err != nil {
			return nil, wrongAt(c.word, "%s: %w", c.word, err)
		}
	}
	for _, e := range []struct {
		word string
		from *[]string
		to   *[]Event
	}{{"after", o.After, &over.figures.After}, {"soon_after", o.SoonAfter, &over.figures.SoonAfter}} {
		if e.from == nil {
			continue
		}
		list, err := events(*e.from)
		if err != nil {
			return nil, wrongAt(e.word, "%w", err)
		}
		*e.to = append([]Event{}, list...)
	}
	if o.Minutes < 0 || o.Minutes > 24*60 {
		return nil, wrongAt("minutes", "minutes %d: not between 0 and a day", o.Minutes)
	}
	return over, o.tighten(over)
}

// tighten reads the makers' torques, of which the lower wins.
func (o *rawOverride) tighten(over *override) *wrongBlock {
	for _, t := range o.Torque {
		nm, err := ParseTorque(t)
		if err != nil {
			return wrongAt("torque", "%w", err)
		}
		over.torque = LowerTorque(over.torque, nm)
	}
	if len(over.gives()) == 0 && over.advice == "" && over.minutes == 0 {
		return wrongAt("", "changes nothing: write first, then, soon, after, expect, reading, torque, advice or minutes")
	}
	return nil
}

// fits refuses figures that make no sense for a kind, whatever else holds for
// the part.
func (o *override) fits(k *Kind) *wrongBlock {
	j, ok := k.Job(o.job)
	if !ok {
		return wrongAt("job", "job %q: no such job of %s%s", o.job, k.Name, k.nearJob(o.job))
	}
	if o.reading != nil && j.Interval.Reading == nil {
		return wrongAt("reading", "reading: the %s job of %s goes by no reading", j.Name, k.Name)
	}
	if o.reading != nil && !o.reading.positive() {
		return wrongAt("reading", "reading: due, stop and fleet_stop must be above 0")
	}
	if j.Act == ActChange && o.figures.Then != nil && k.Inspected() {
		return wrongAt("then", "then: a part that can be measured or looked at is not changed by a count: use expect")
	}
	intervals := []Interval{j.Interval}
	for _, v := range j.Variants {
		intervals = append(intervals, j.Interval.with(v.Interval))
	}
	for _, iv := range intervals {
		r := rule{Interval: iv}
		if r.apply(o); len(r.notes) > 0 {
			return o.unfit(iv)
		}
	}
	return nil
}

// unfit says why figures do not go with an interval.
func (o *override) unfit(iv Interval) *wrongBlock {
	next := iv.with(o.figures)
	word := "soon"
	if o.reading != nil && iv.Reading != nil {
		l := o.reading.on(*iv.Reading)
		next.Reading = &l
		if l.check() != nil {
			word = "reading"
		}
	}
	return wrongAt(word, "%w", next.check())
}

func (r *rawReading) positive() bool {
	for _, v := range []*float64{r.Due, r.Stop, r.FleetStop} {
		if v != nil && !(*v > 0) {
			return false
		}
	}
	return true
}

// nearJob is a hint at the job that was meant.
func (k *Kind) nearJob(name string) string {
	var names []string
	for i := range k.Jobs {
		names = append(names, k.Jobs[i].Name)
	}
	if n := Nearest(name, names); n != "" {
		return fmt.Sprintf(" (did you mean %s?)", n)
	}
	if len(names) == 0 {
		return ", which has none"
	}
	return ": it has " + strings.Join(names, ", ")
}

func (o rawFactors) block() (b block, w *wrongBlock) {
	if _, w = Default().kindsOf(o.Kind); w != nil {
		return b, w
	}
	if b.scope, b.key, w = scope(o.Kind, o.Model, o.Bike, o.Part); w != nil {
		return b, w
	}
	b.over = &override{kind: o.Kind, said: o.Source,
		factors: [NGrounds]*float64{Unmarked: o.Unmarked, Dry: o.Dry, Dusty: o.Dusty, Gritty: o.Gritty, Wet: o.Wet, Mud: o.Mud, Trainer: o.Trainer, Rollers: o.Rollers}}
	given := false
	for g, f := range b.over.factors {
		if f != nil && !(*f >= 0 && *f <= mostFactor) {
			return b, wrongAt(Ground(g).String(), "%s %g: not between 0 and %d", Ground(g), *f, mostFactor)
		}
		given = given || f != nil
	}
	if !given {
		return b, wrongAt("", "changes nothing: write a factor for one of %v", groundNames)
	}
	o.Model, o.Bike, o.Part = "", "", ""
	b.text.Ground = []rawFactors{o}
	return b, nil
}

// mostFactor is beyond any ground: a slip of the pen.
const mostFactor = 100

func (o rawPolicy) block() (b block, w *wrongBlock) {
	b.over = &override{said: o.Source, leadDays: o.LeadDays}
	b.scope, b.key = ForBook, ""
	if o.Bike != "" {
		b.scope, b.key = ForBike, o.Bike
	}
	switch o.Drivetrain {
	case "":
	case SaveCassette, RunOutTogether:
		run := o.Drivetrain == RunOutTogether
		b.over.runOut = &run
	default:
		return b, wrongAt("drivetrain", "drivetrain %q: not one of %s, %s", o.Drivetrain, SaveCassette, RunOutTogether)
	}
	if o.LeadDays != 0 && !(o.LeadDays > 0 && o.LeadDays <= 365) {
		return b, wrongAt("lead_days", "lead_days %g: not between 1 and 365", o.LeadDays)
	}
	if b.over.runOut == nil && o.LeadDays == 0 {
		return b, wrongAt("", "changes nothing: write drivetrain or lead_days")
	}
	o.Bike = ""
	b.text.Policy = []rawPolicy{o}
	return b, nil
}
