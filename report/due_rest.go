package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pawl/wear"
)

// shownNoBike is how many rides without a bike are named one by one.
const shownNoBike = 5

// noBike adds the rides that count nowhere because nobody knows their bike.
func (p *duePage) noBike(d DueList) {
	if len(d.NoBike) == 0 {
		return
	}
	p.painted("", plural(len(d.NoBike), "ride counts", "rides count")+" nowhere yet: no bike is known", p.bold)
	for i, r := range d.NoBike {
		if i == shownNoBike {
			p.line("  and ", number(float64(len(d.NoBike)-i), 0), " more")
			break
		}
		text := fmt.Sprintf("%s, %s", p.minute(r.Ride.Start), p.distance(r.Ride.Total().SI(wear.Distance)))
		if r.File != "" {
			text += ", " + brief(r.File, longName)
		}
		if r.Ride.Because != "" && (i == 0 || r.Ride.Because != d.NoBike[i-1].Ride.Because) {
			text += ": " + brief(r.Ride.Because, longNote)
		}
		p.para("  "+shortID(r.Ride.ID)+"  ", text)
	}
	if d.NoBikeDo != "" {
		p.para("  ", d.NoBikeDo)
	}
}

// compact adds a line for each job.
func (p *duePage) compact(fs []*wear.Finding) {
	cols := []column{
		{title: "bike", least: 8}, {title: "part and job", least: 12}, {title: "used", least: 10},
		{title: "data", least: 9}, {title: "about", least: 6},
	}
	rows := make([][]string, len(fs))
	for i, f := range fs {
		rows[i] = p.compactRow(f)
		if i > 0 && f.Bike == fs[i-1].Bike && f.BikeID == fs[i-1].BikeID {
			rows[i][0] = ""
		}
	}
	p.table(filled(cols, rows))
}

func (p *duePage) compactRow(f *wear.Finding) []string {
	when := p.when(f)
	if p.width() < wideEnough && f.Verdict == wear.Fine && f.Share < nearly {
		when, _, _ = strings.Cut(when, " (") // far off: the day alone
	}
	return []string{
		brief(f.Bike, longName), brief(f.Part, longName) + " " + clean(f.Job) + p.marks(f.Notes),
		p.usedShare(f), data(f), when,
	}
}

// usedShare is the share of the limit: "61 % of 50 h", "83 %, reads 1.25 mm".
func (p *duePage) usedShare(f *wear.Finding) string {
	switch {
	case f.Unit == "" || f.Limit == 0:
		return ""
	case f.Basis == wear.ByReading:
		if f.Below > 0 {
			return "reads below " + p.amount(f.Below, f.Unit)
		}
		return share(f.Share) + ", reads " + p.amount(f.Used, f.Unit)
	}
	return share(f.Share) + " of " + p.limit(f)
}

// watched adds the parts of which the last look says watch.
func (p *duePage) watched(lines []WatchLine) {
	if len(lines) == 0 {
		return
	}
	p.gap()
	p.line("watch  ", plural(len(lines), "part", "parts"))
	shown := lines[:min(len(lines), shownBeside)]
	rows := make([][]string, len(shown))
	for i, l := range shown {
		text := p.day(l.Look.At, p.today) + by(l.Look.By)
		if l.Look.Note != "" {
			text = brief(l.Look.Note, longNote) + " (" + text + ")"
		}
		rows[i] = []string{brief(l.Bike, longName), brief(l.Part, longName), text}
	}
	p.table([]column{{title: "bike", least: 8}, {title: "part", least: 12}, {title: "last look", least: 16}}, rows)
	if n := len(lines) - len(shown); n > 0 {
		p.more(n)
	}
}

// nothing says that nothing is due, and what comes next.
func (p *duePage) nothing(fs []*wear.Finding) {
	p.gap()
	p.line(p.bold("Nothing is due."))
	fs = slices.DeleteFunc(slices.Clone(fs), over)
	if len(fs) == 0 {
		return
	}
	f := slices.MinFunc(fs, soonest)
	text := brief(f.Bike, longName) + ", " + brief(f.Part, longName) + ": " + f.Title
	if figures := p.figures(f); figures != "" {
		text += ", " + figures
	}
	p.para("Next: ", text+".")
}

// soonest orders by the day on which the limit is reached as far as days are
// known; what has none comes behind, by share.
func soonest(a, b *wear.Finding) int {
	switch da, db := a.Date.P50, b.Date.P50; {
	case da != nil && db != nil:
		return cmp.Or(cmp.Compare(*da, *db), cmp.Compare(b.Share, a.Share))
	case da != nil:
		return -1
	case db != nil:
		return 1
	}
	return cmp.Compare(b.Share, a.Share)
}

// footnotes adds the notes that lines refer to, then the warnings.
func (p *duePage) footnotes(warnings []string) {
	if len(p.notes)+len(warnings) > 0 {
		p.gap()
	}
	for i, n := range p.notes {
		p.para(fmt.Sprintf("[%d] ", i+1), sentence(brief(n, longNote)))
	}
	for i, warning := range warnings {
		if i == shownNotes {
			p.para("Note: ", fmt.Sprintf("and %s more of these, see --json.", number(float64(len(warnings)-i), 0)))
			break
		}
		p.para("Note: ", sentence(warning))
	}
}
