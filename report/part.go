package report

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"pawl/wear"
)

// PartPage is one part with all that happened to it.
type PartPage struct {
	Part     PartLine
	Stays    []StayLine
	Readings []wear.Reading
	Looks    []wear.Look
	SignOffs []wear.SignOff
}

// StayLine is one stay of a part.
type StayLine struct {
	Stay  wear.Stay
	Bike  string
	Total wear.Sum // of the stay, without its opening figure
}

// Part writes one part and its history to a terminal.
func Part(w io.Writer, d PartPage, s Style) error {
	p := &page{Style: s}
	part := d.Part.Part
	p.painted("", brief(part.Name, longName), p.bold)
	for _, fact := range [][2]string{
		{"kind", clean(part.Kind)},
		{"model", brief(describe(part), longNote)},
		{"where", d.Part.where()},
		{"treated", clean(part.Treated)},
		{"ended", s.ended(part.End)},
		{"total", s.lifeTotal(d.Part.Total)},
		{"note", brief(part.Note, longNote)},
	} {
		if fact[1] != "" {
			p.para("  "+fact[0]+strings.Repeat(" ", 9-width(fact[0])), fact[1])
		}
	}
	p.stays(d.Stays)
	p.history(d.Readings, d.Looks, d.SignOffs)
	return p.to(w)
}

func (s Style) ended(e *wear.End) string {
	if e == nil {
		return ""
	}
	return s.fullDay(e.At) + ", " + string(e.Cause)
}

// lifeTotal is a sum in words, with the quantities that are estimated.
func (s Style) lifeTotal(sum wear.Sum) string {
	t := sum.Total()
	out := strings.Join([]string{
		plural(int(sum.Rides), "ride", "rides"), s.distance(t.SI(wear.Distance)), s.height(t.SI(wear.Climb)) + " up",
		hours(t.SI(wear.Moving)), whole(t.SI(wear.Turns)) + " turns", energy(t.SI(wear.Work)),
	}, ", ")
	if e := estimated(sum.Estimated); len(e) > 0 {
		out += "; estimated at least in part: " + strings.Join(e, ", ")
	}
	return out
}

func (p *page) stays(stays []StayLine) {
	if len(stays) == 0 {
		return
	}
	p.gap()
	p.line("Stays")
	for _, st := range latest(p, stays, fewRows) {
		p.para("  "+brief(st.Bike, longName)+"  ", p.stay(st.Stay.From, st.Stay.To)+": "+p.lifeTotal(st.Total))
		if st.Stay.Opening != (wear.Load{}) {
			p.para("    ", "came used: "+p.opening(st.Stay.Opening)+" before")
		}
	}
}

// opening is what is known of what a part did before.
func (s Style) opening(l wear.Load) string {
	var out []string
	if l[wear.Distance] != 0 {
		out = append(out, s.distance(l.SI(wear.Distance)))
	}
	if l[wear.Moving] != 0 {
		out = append(out, hours(l.SI(wear.Moving)))
	}
	if l[wear.Turns] != 0 {
		out = append(out, whole(l.SI(wear.Turns))+" turns")
	}
	if l[wear.Braking] != 0 {
		out = append(out, energy(l.SI(wear.Braking))+" of braking")
	}
	return strings.Join(out, ", ")
}

// event is one dated line of a history.
type event struct {
	at   wear.Instant
	text string
	void bool
}

func (p *page) history(readings []wear.Reading, looks []wear.Look, signoffs []wear.SignOff) {
	var events []event
	for _, r := range readings {
		events = append(events, event{r.At, "reading: " + readingText(r), r.Void})
	}
	for _, l := range looks {
		events = append(events, event{l.At, "look: " + lookText(l), l.Void})
	}
	for _, o := range signoffs {
		events = append(events, event{o.At, "sign-off: " + signOffText(o), o.Void})
	}
	if len(events) == 0 {
		return
	}
	slices.SortStableFunc(events, func(a, b event) int { return cmp.Compare(a.at, b.at) })
	p.gap()
	p.line("History")
	for _, e := range latest(p, events, manyRows) {
		if e.void {
			e.text += " (taken back)"
		}
		p.para(fmt.Sprintf("  %-11s  ", p.fullDay(e.at)), e.text)
	}
}

// latest are the last of many lines of a page, after how many there were before.
func latest[T any](p *page, lines []T, most int) []T {
	earlier := len(lines) - most
	if earlier <= 0 {
		return lines
	}
	p.para("  ", "after "+plural(earlier, "earlier one", "earlier ones")+", which --json has")
	return lines[earlier:]
}

func lookText(l wear.Look) string { return withNote(string(l.Word)+by(l.By), l.Note) }

func signOffText(o wear.SignOff) string {
	out := clean(o.Job)
	if o.Declined {
		out += ", declined"
	}
	if o.Torque > 0 {
		out += ", " + torque(o.Torque)
	}
	if o.Minutes > 0 {
		out += ", " + number(float64(o.Minutes), 0) + " min"
	}
	if o.Cost > 0 {
		out += ", cost " + number(float64(o.Cost)/100, 2)
	}
	return withNote(out+by(o.By), o.Note)
}

func by(who string) string {
	if who == "" {
		return ""
	}
	return ", by " + brief(who, longName)
}

func withNote(text, note string) string {
	if note == "" {
		return text
	}
	return text + " – " + brief(note, longNote)
}
