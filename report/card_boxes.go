package report

import (
	"cmp"
	"slices"
	"strings"

	"pawl/wear"
)

// unitOf is in what a card asks for a reading.
var unitOf = map[wear.ReadingOf]string{wear.Elongation: "%", wear.Lining: "mm", wear.Thickness: "mm", wear.Knob: "mm"}

// asked is what a job asks a tool for; empty where it does not.
func asked(f *wear.Finding) wear.ReadingOf {
	k, ok := wear.Default().Kind(f.Kind)
	if !ok || f.Act != wear.ActMeasure && f.Act != wear.ActLook {
		return ""
	}
	return k.Measurable()
}

// cardReadings are the blanks for readings.
func (s Style) cardReadings(c *CardPage) []cardReading {
	var out []cardReading
	for i, f := range c.jobs() {
		of := asked(f)
		if of == "" {
			continue
		}
		r := cardReading{N: i + 1, Part: brief(f.Part, longName), Of: string(of), Unit: unitOf[of]}
		if change := c.change(f); change != nil && change.Limit > 0 {
			r.Limit = "limit " + s.amount(change.Limit, change.Unit)
			if change.Basis == wear.ByReading && change.Below == 0 {
				r.Limit += ", was " + s.amount(change.Used, change.Unit)
			}
		}
		out = append(out, r)
	}
	return out
}

// cardOrder is what to have in before it is due.
func (s Style) cardOrder(c *CardPage) []cardLine {
	p := &duePage{page: page{Style: s}, today: c.Today}
	var out []cardLine
	for i := range c.Findings {
		f := &c.Findings[i]
		if f.Verdict != wear.Order {
			continue
		}
		text := brief(f.Title, longName*2)
		if when := p.when(f); when != "" {
			text += ", about " + when
		}
		out = append(out, cardLine{brief(f.Part, longName), text})
	}
	return out
}

// cardSignOffs are the last sign-offs, newest first, or all that was declined.
func (s Style) cardSignOffs(c *CardPage, declined bool) []cardLine {
	list := c.SignOffs
	if declined {
		list = c.Declined
	}
	list = slices.DeleteFunc(slices.Clone(list), func(o CardSignOff) bool { return o.Void || o.Declined != declined })
	slices.SortStableFunc(list, func(a, b CardSignOff) int { return cmp.Compare(b.At, a.At) })
	var out []cardLine
	for _, o := range list[:min(len(list), cardSignOffs)] {
		o.Declined, o.Minutes, o.Cost = false, 0, 0 // the heading says it; the others are of no use at the stand
		out = append(out, cardLine{brief(o.Part, longName), brief(signOffText(o.SignOff), longAdvice) + ", " + s.day(o.At, c.Today)})
	}
	return out
}

// cardSetup is how the guide is set up, as far as the stand needs it.
type cardSetup struct {
	Facts [][2]string // an empty figure is a blank to fill
	Check *cardCheck
	Wrong []string
}

type cardCheck struct {
	Sign cardSign
	Why  string
}

// standFacts are the figures that a mechanic sets or checks; those always shown
// are blanks where they are not known.
var standFacts = map[string]bool{
	"mount": true, "spacers": true, "torque": true, "chain line": true, "guide angle": true,
	"lower guide": false, "set for": false, "guide takes": false, "frame clears": false, "chain": false, "chain angle": false, "last set": false,
}

func (s Style) cardSetup(d *SetupPage) *cardSetup {
	if d == nil {
		return nil
	}
	out, page := &cardSetup{}, *d
	if !d.Known {
		page.State.Set = wear.Ever
	}
	for _, f := range s.setupFacts(page) {
		if always, known := standFacts[f[0]]; known && (always || f[1] != "") {
			out.Facts = append(out.Facts, [2]string{f[0], brief(f[1], longNote)})
		}
	}
	if d.Guided && (d.State.CheckDue || !d.Known) {
		out.Check = &cardCheck{cardSignOf(wear.Due), brief(strings.Join(d.State.Why, "; "), longAdvice)}
	}
	for _, w := range d.State.Warnings {
		out.Wrong = append(out.Wrong, sentence(brief(w, longAdvice)))
	}
	return out
}
