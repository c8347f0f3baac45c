package report

import (
	"cmp"
	"io"

	"pawl/wear"
)

// RecountLine is what a recount changed of the rides of one bike.
type RecountLine struct {
	Bike          string // empty = no bike yet
	Rides         int    // whose load changed
	Before, After wear.Load
}

// Recount is what a recount changed.
type Recount struct {
	Looked  int // rides made anew
	Gone    int // rides whose original cannot be read
	DryRun  bool
	Changes []RecountLine
}

// RecountSummary writes what a recount changed, bike by bike.
func RecountSummary(w io.Writer, r Recount, s Style) error {
	p := &page{Style: s}
	verb := "made anew"
	if r.DryRun {
		verb = "would be made anew"
	}
	p.para("", plural(r.Looked, "ride ", "rides ")+verb)
	if r.Gone > 0 {
		p.para("note: ", plural(r.Gone, "ride keeps its", "rides keep their")+" figures: the original cannot be read")
	}
	if len(r.Changes) == 0 {
		p.line("no figure changes")
		return p.to(w)
	}
	cols := []column{{title: "bike", least: 8}, {title: "rides", right: true}, {title: "quantity"}, {title: "before", right: true}, {title: "after", right: true}, {title: "change", right: true}}
	shown := r.Changes[:min(len(r.Changes), cmp.Or(s.Pages.Rows, fewRows))]
	var rows [][]string
	for _, c := range shown {
		rows = append(rows, p.recounted(c)...)
	}
	p.gap()
	p.table(filled(cols, rows))
	if more := len(r.Changes) - len(shown); more > 0 {
		p.gap()
		p.para("", "and "+plural(more, "more bike", "more bikes"))
	}
	return p.to(w)
}

// recounted are the rows of the quantities that changed.
func (p *page) recounted(c RecountLine) [][]string {
	name := brief(c.Bike, longName)
	if name == "" {
		name = "no bike yet"
	}
	var rows [][]string
	for q := range wear.NQuantities {
		before, after := c.Before.SI(q), c.After.SI(q)
		if c.Before[q] == c.After[q] {
			continue
		}
		change := "new"
		if before != 0 {
			change = share(after/before - 1)
			if after > before {
				change = "+" + change
			}
		}
		rows = append(rows, []string{name, number(float64(c.Rides), 0), q.String(), p.quantity(q, before), p.quantity(q, after), change})
		name, c.Rides = "", 0
	}
	for i := range rows {
		if i > 0 {
			rows[i][1] = ""
		}
	}
	return rows
}

// quantity is an amount of a quantity with its unit.
func (s Style) quantity(q wear.Quantity, si float64) string {
	switch q {
	case wear.Distance:
		return s.distance(si)
	case wear.Climb, wear.Descent:
		return s.height(si)
	case wear.Moving:
		return hours(si)
	case wear.Turns:
		return number(si, 0) + " turns"
	}
	return energy(si)
}
