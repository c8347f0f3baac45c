package report

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"pawl/wear"
)

// longNote is the most columns that a note from outside takes.
const longNote = 400

// longName is the most columns that a name from outside takes in running text.
const longName = 48

// farAhead is the days from which a forecast names no day, only a month.
const farAhead = 180

// group adds what is to be done of one verdict, bike by bike, from one job to another.
func (p *duePage) group(g dueGroup, from, to int) {
	p.heading(g.verdict, g.jobs)
	fs := g.jobs[from:to]
	for i, f := range fs {
		if i == 0 || f.BikeID != fs[i-1].BikeID || f.Bike != fs[i-1].Bike {
			p.gap()
			p.painted("", brief(f.Bike, longName), p.bold)
			p.minded = map[string]string{}
		}
		p.item(f)
	}
}

func (p *duePage) heading(v wear.Verdict, fs []*wear.Finding) {
	p.gap()
	p.line(p.verdict(v), "  ", plural(len(fs), "job", "jobs"), " on ", plural(bikesOf(fs), "bike", "bikes"))
}

// verdict is the word, then the shape, both in the verdict's colour.
func (s Style) verdict(v wear.Verdict) string {
	return s.paint(v.Words()+" "+signs[v].shape, signs[v].colour)
}

// item adds one job in full.
func (p *duePage) item(f *wear.Finding) {
	const indent = "    "
	mark := p.paint(signs[f.Verdict].shape, signs[f.Verdict].colour)
	p.painted("  "+mark+" ", brief(f.Part, longName)+": "+f.Title, p.bold)
	if state := p.state(f); state != "" {
		p.para(indent, state)
	}
	caution, same := p.caution(f)
	p.para(indent, strings.TrimSpace(sentence(f.Advice)+" "+same))
	if f.Verdict == wear.Stop {
		p.para(indent, clearing(f))
	}
	if caution != "" {
		p.para(indent, "Caution – "+strings.TrimSuffix(caution, ".")+".")
	}
}

// caution is the caution of a job, or a short reference to it where an earlier
// job of the same bike has the same.
func (p *duePage) caution(f *wear.Finding) (whole, same string) {
	if f.Caution == "" || f.Caution == wear.StopCaution && f.Verdict == wear.Stop {
		return "", ""
	}
	if first, told := p.minded[f.Caution]; told {
		return "", "Caution as for " + brief(first, longName) + "."
	}
	p.minded[f.Caution] = f.Part
	return f.Caution, ""
}

// state is the figures, the reasons that they do not tell, and the footnotes.
func (p *duePage) state(f *wear.Finding) string {
	out := p.figures(f)
	switch why := because(f); {
	case why == "":
	case out == "" || f.Unit == "rides": // a figure of rides is told better by its reason
		out = sentence(why)
	default:
		out += ": " + why
	}
	return out + p.marks(f.Notes)
}

// clearing is what clears a stop, and who knows better.
func clearing(f *wear.Finding) string {
	if f.Clears == "" {
		return sentence(wear.StopCaution)
	}
	return sentence("to clear it: "+f.Clears) + " " + sentence(wear.StopCaution)
}

// because is the reasons that the figures do not tell already.
func because(f *wear.Finding) string {
	reasons := f.Reasons
	if len(reasons) > 0 && f.Verdict != wear.Stop && f.Unit != "rides" && counts(f) && f.Share >= 1 {
		reasons = reasons[1:]
	}
	texts := make([]string, len(reasons))
	for i, r := range reasons {
		texts[i] = r.Text
	}
	return strings.Join(texts, "; ")
}

// counts reports whether the figures of a finding decide, and not an event or
// a look beside them.
func counts(f *wear.Finding) bool {
	switch {
	case f.Unit == "" || f.Limit == 0 || f.Basis == wear.ByLook:
		return false
	case f.Basis == wear.ByReading:
		return true
	}
	return f.Used >= f.Limit || f.Share < 1
}

// reads is what the deciding reading says: a figure, or only a bound.
func (p *duePage) reads(f *wear.Finding, used string) string {
	if f.Below > 0 {
		return "reads below " + p.amount(f.Below, f.Unit) + ", limit " + p.amount(f.Limit, f.Unit)
	}
	return "reads " + used
}

// figures is used, limit, share, since when, what is left and until when.
func (p *duePage) figures(f *wear.Finding) string {
	used := p.used(f)
	if used == "" || f.Basis == wear.ByLook {
		return ""
	}
	if f.Basis == wear.ByReading {
		used = p.reads(f, used)
	}
	out := []string{used}
	if counts(f) {
		out = append(out, share(f.Share)+" used")
	}
	if d := data(f); d != "" {
		out = append(out, d)
	}
	if f.Since != wear.Ever && f.Basis == wear.ByCount {
		out = append(out, "since "+p.day(f.Since, p.today))
	}
	if left := f.Left.P50; left != nil && *left > 0 {
		out = append(out, "left "+p.amount(*left, f.Unit))
	}
	if when := p.when(f); when != "" {
		out = append(out, "about "+when)
	}
	return strings.Join(out, ", ")
}

// when is the day on which the limit is reached with its range, empty where
// it is not known or has been reached.
func (p *duePage) when(f *wear.Finding) string {
	d := f.Date
	if d.P50 == nil || *d.P50 <= p.today {
		return p.maybeNow(f)
	}
	name := p.soonDay
	if d.P50.DaysSince(p.today) > farAhead {
		name = p.month
	}
	out := name(*d.P50)
	if d.P10 == nil {
		return out
	}
	from := name(*d.P10)
	if *d.P10 <= p.today {
		from = "now"
	}
	switch {
	case d.P90 == nil:
		out += " (not before " + from + ")"
	case from != name(*d.P90):
		out += " (" + from + " – " + name(*d.P90) + ")"
	}
	return out
}

// maybeNow is for a forecast that has as likely as not come to the limit, which
// no reading has told yet.
func (p *duePage) maybeNow(f *wear.Finding) string {
	d := f.Date
	switch {
	case d.P50 == nil || f.Verdict >= wear.Due || f.Basis != wear.ByReading:
		return ""
	case d.P90 == nil || *d.P90 <= p.today:
		return "now"
	}
	return "now (– " + p.soonDay(*d.P90) + ")"
}

// yearAhead is the days from which a day to come is told with its year.
const yearAhead = 330

// soonDay is a day to come: the next of that name needs no year.
func (p *duePage) soonDay(i wear.Instant) string {
	if i.DaysSince(p.today) < yearAhead {
		return p.day(i, i)
	}
	return p.fullDay(i)
}

func (p *duePage) month(i wear.Instant) string { return i.Time().In(p.zone()).Format("Jan 2006") }

// marks is the numbers of the footnotes that hold the notes: " [1] [3]".
func (p *duePage) marks(notes []string) string {
	var b strings.Builder
	for _, n := range notes {
		i := slices.Index(p.notes, n)
		if i < 0 {
			i = len(p.notes)
			p.notes = append(p.notes, n)
		}
		fmt.Fprintf(&b, " [%d]", i+1)
	}
	return b.String()
}

// sentence has a capital letter and a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return ""
	}
	s = string(unicode.ToUpper(r)) + s[n:]
	if strings.ContainsAny(s[len(s)-1:], ".!?") {
		return s
	}
	return s + "."
}
