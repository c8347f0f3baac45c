package report

import (
	"fmt"
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
		p.para("  "+shortID(r.Ride.ID)+"  ", text)
	}
	if d.NoBikeDo != "" {
		p.para("  ", d.NoBikeDo)
	}
}

// compact adds a line for each job.
func (p *duePage) compact(head string, fs []*wear.Finding) {
	if len(fs) == 0 {
		return
	}
	p.gap()
	p.line(head, "  ", plural(len(fs), "job", "jobs"))
	cols := []column{
		{title: "bike", least: 8}, {title: "part and job", least: 12}, {title: "used", right: true, least: 10},
		{title: "share", right: true}, {title: "data", least: 9}, {title: "about", least: 6},
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
	used, part := p.used(f), share(f.Share)
	if used == "" {
		part = ""
	}
	when := p.when(f)
	if p.width() < wideEnough {
		when, _, _ = strings.Cut(when, " (")
	}
	return []string{
		brief(f.Bike, longName), brief(f.Part, longName) + " " + clean(f.Job) + p.marks(f.Notes),
		used, part, data(f), when,
	}
}

// nothing says that nothing is due, and what comes next.
func (p *duePage) nothing(fs []*wear.Finding) {
	p.gap()
	p.line(p.bold("Nothing is due."))
	f := soonest(fs)
	if f == nil {
		return
	}
	text := brief(f.Bike, longName) + ", " + brief(f.Part, longName) + ": " + f.Title
	if figures := p.figures(f); figures != "" {
		text += ", " + figures
	}
	p.para("Next: ", text+".")
}

// soonest is the job whose limit is reached first, as far as days are known;
// among the others the one with the greatest share.
func soonest(fs []*wear.Finding) *wear.Finding {
	var best *wear.Finding
	for _, f := range fs {
		if best == nil || sooner(f, best) {
			best = f
		}
	}
	return best
}

func sooner(a, b *wear.Finding) bool {
	switch da, db := a.Date.P50, b.Date.P50; {
	case da != nil && db != nil && *da != *db:
		return *da < *db
	case (da == nil) != (db == nil):
		return da != nil
	}
	return a.Share > b.Share
}

// footnotes adds the notes that lines refer to, then the warnings.
func (p *duePage) footnotes(warnings []string) {
	if len(p.notes)+len(warnings) > 0 {
		p.gap()
	}
	for i, n := range p.notes {
		p.para(fmt.Sprintf("[%d] ", i+1), sentence(clean(n)))
	}
	for _, warning := range warnings {
		p.para("Note: ", sentence(clean(warning)))
	}
}
