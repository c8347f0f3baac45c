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

// group adds all that is to be done of one verdict, bike by bike.
func (p *duePage) group(v wear.Verdict, fs []*wear.Finding) {
	if len(fs) == 0 {
		return
	}
	p.heading(v, fs)
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
	bikes := map[urgency]bool{}
	for _, f := range fs {
		bikes[urgency{v, f.BikeID, f.Bike}] = true
	}
	p.gap()
	p.line(p.verdict(v), "  ", plural(len(fs), "job", "jobs"), " on ", plural(len(bikes), "bike", "bikes"))
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
	if f.Advice != "" {
		p.para(indent, sentence(f.Advice))
	}
	if f.Verdict == wear.Stop {
		p.para(indent, clearing(f))
	}
	p.mind(indent, f)
}

// mind adds the caution, once for all jobs of a bike that share it.
func (p *duePage) mind(indent string, f *wear.Finding) {
	if f.Caution == "" {
		return
	}
	if first, told := p.minded[f.Caution]; told {
		p.para(indent, "Caution – as for "+brief(first, longName)+".")
		return
	}
	p.minded[f.Caution] = f.Part
	p.para(indent, "Caution – "+strings.TrimSuffix(f.Caution, ".")+".")
}

// state is the figures, the reason where they do not tell it, and the footnotes.
func (p *duePage) state(f *wear.Finding) string {
	out := p.figures(f)
	switch why := because(f); {
	case out == "":
		out = sentence(why)
	case why != "":
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

// because is the deciding reason where the figures do not say it already.
func because(f *wear.Finding) string {
	if len(f.Reasons) == 0 || f.Verdict != wear.Stop && f.Limit != 0 && f.Basis == wear.ByCount {
		return ""
	}
	return f.Reasons[0].Text
}

// figures is used, limit, share, since when, what is left and until when.
func (p *duePage) figures(f *wear.Finding) string {
	var out []string
	if used := p.used(f); used != "" {
		if f.Basis == wear.ByReading {
			used = "reads " + used
		}
		out = append(out, used, share(f.Share)+" used")
	}
	if d := data(f); d != "" {
		out = append(out, d)
	}
	if f.Since != wear.Ever && f.Basis == wear.ByCount {
		out = append(out, "since "+p.day(f.Since, p.today))
	}
	if left := f.Left.P50; left != nil && *left > 0 && f.Unit != "" {
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
		return ""
	}
	out := p.day(*d.P50, p.today)
	if d.P10 != nil && d.P90 != nil {
		out += fmt.Sprintf(" (%s – %s)", p.day(*d.P10, p.today), p.day(*d.P90, p.today))
	}
	return out
}

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
