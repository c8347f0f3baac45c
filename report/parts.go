package report

import (
	"io"
	"strconv"
	"strings"

	"pawl/wear"
)

// PartLine is a part as lists show it.
type PartLine struct {
	Part  wear.Part
	Bike  string       // where it is; empty = on the shelf, or ended
	Since wear.Instant // when it came there; Ever = with the bike
	Total wear.Sum     // of its whole life, opening figures as recorded
}

// Parts writes parts to a terminal.
func Parts(w io.Writer, parts []PartLine, s Style) error {
	p := &page{Style: s}
	if len(parts) == 0 {
		p.line("No parts.")
		return p.to(w)
	}
	shown, window, err := cut(s.Pages, parts, partRows)
	if err != nil {
		return err
	}
	p.parts(shown, true)
	p.rest(window, "part", "parts", "--csv")
	return p.to(w)
}

func (p *page) parts(parts []PartLine, withBike bool) {
	cols := []column{
		{title: "bike", least: 8}, {title: "part", least: 10}, {title: "model", least: 8}, {title: "fitted"},
		{title: "rides", right: true}, {title: p.longUnit(), right: true}, {title: "h", right: true},
		{title: "turns", right: true},
	}
	rows := make([][]string, len(parts))
	last := ""
	for i, part := range parts {
		where := part.where()
		rows[i] = append([]string{""}, p.partRow(part)...)
		if withBike && where != last {
			rows[i][0] = where
		}
		last = where
	}
	p.table(filled(cols, rows))
	for _, part := range parts {
		if part.Total.Estimated != (wear.Load{}) {
			p.gap()
			p.para("", "~ estimated, at least in part")
			return
		}
	}
}

func (l PartLine) where() string {
	switch {
	case l.Bike != "":
		return brief(l.Bike, longName)
	case l.Part.End != nil:
		return string(l.Part.End.Cause)
	}
	return "on the shelf"
}

func (p *page) partRow(l PartLine) []string {
	since := "with bike"
	switch {
	case l.Bike == "":
		since = ""
	case l.Since != wear.Ever:
		since = p.fullDay(l.Since)
	}
	return []string{
		brief(l.Part.Name, longName), brief(describe(l.Part), longName), since,
		number(float64(l.Total.Rides), 0),
		p.summed(l.Total, wear.Distance, func(v float64) string { return whole(p.longway(v)) }),
		p.summed(l.Total, wear.Moving, func(v float64) string { return figure(v / 3600) }),
		p.summed(l.Total, wear.Turns, whole),
	}
}

// summed is a sum, marked where a part of it is estimated.
func (p *page) summed(sum wear.Sum, q wear.Quantity, write func(float64) string) string {
	out := write(sum.Total().SI(q))
	if sum.Estimated[q] != 0 {
		return "~" + out
	}
	return out
}

// describe is what is known of a part beside its name: model, teeth, material.
func describe(part wear.Part) string {
	var out []string
	if part.Model != "" {
		out = append(out, part.Model)
	}
	switch n := len(part.Cogs); {
	case part.Teeth > 0:
		out = append(out, strconv.Itoa(part.Teeth)+" teeth")
	case n > 0:
		out = append(out, strconv.Itoa(part.Cogs[0])+"–"+strconv.Itoa(part.Cogs[n-1])+" teeth")
	}
	if part.Narrow {
		out = append(out, "narrow-wide")
	}
	if part.Material != "" {
		out = append(out, part.Material)
	}
	return strings.Join(out, ", ")
}

// PartsCSV writes parts as CSV in SI units.
func PartsCSV(w io.Writer, parts []PartLine, s Style) error {
	head := []string{"part", "kind", "model", "bike", "since", "rides"}
	out := newSheet(w, append(head, quantityHeads()...)...)
	for _, l := range parts {
		row := []string{
			cell(l.Part.Name), cell(l.Part.Kind), cell(l.Part.Model), cell(l.Bike), s.csvTime(l.Since),
			strconv.FormatInt(l.Total.Rides, 10),
		}
		out.row(append(row, quantityCells(l.Total.Total(), 0)...)...)
	}
	return out.done()
}
