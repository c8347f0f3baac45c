package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"pawl/wear"
)

// RingsPage is which rings fit a bike.
type RingsPage struct {
	Bike     string
	Query    wear.RingQuery
	Advice   wear.RingAdvice
	Gears    bool              // show every gear of every ring
	Do       map[string]string // what to type to answer a question, by what it is about
	Cautions []string
}

// Rings writes which rings fit a bike to a terminal.
func Rings(w io.Writer, d RingsPage, s Style) error {
	p := &page{Style: s}
	p.painted("", brief(d.Bike, longName)+": which ring next", p.bold)
	p.para("  ", ringNow(d.Query, d.Advice.Lines))
	p.ringsFirst(d.Advice)
	p.ringChoices(d)
	p.ringGears(d)
	p.ringsRefused(d.Advice.Refused)
	p.asks(d)
	p.cautions(d.Cautions)
	return p.to(w)
}

// ringNow is what is on the bike.
func ringNow(q wear.RingQuery, lines []wear.LineRange) string {
	var out []string
	if q.Ring != 0 {
		out = append(out, fmt.Sprintf("a ring of %d teeth is on", q.Ring))
	}
	if n := len(q.Cogs); n > 0 {
		out = append(out, fmt.Sprintf("%d cogs from %d to %d", n, q.Cogs[0], q.Cogs[n-1]))
	}
	if q.Wheel != 0 {
		out = append(out, number(q.Wheel*1000, 0)+" mm round the wheel")
	}
	if q.Line != 0 {
		out = append(out, "chain line "+hundredths(q.Line)+" mm"+usualLines(lines))
	}
	if len(out) == 0 {
		return "Nothing is known of its drive."
	}
	return sentence(strings.Join(out, ", "))
}

// usualLines is where the chain line should lie, in brackets.
func usualLines(lines []wear.LineRange) string {
	var out []string
	for _, l := range lines {
		if l.From == l.To {
			out = append(out, hundredths(l.From))
		} else {
			out = append(out, hundredths(l.From)+" to "+hundredths(l.To))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return " (should be " + strings.Join(out, " or ") + ")"
}

// ringsFirst adds what would ruin a new ring, and what makes one job.
func (p *page) ringsFirst(a wear.RingAdvice) {
	if len(a.First) == 0 && len(a.Together) == 0 {
		return
	}
	p.gap()
	p.line(p.verdict(wear.Due), "  before a new ring goes on")
	for _, f := range a.First {
		p.para("  ", clean(f)+".")
	}
	if len(a.Together) > 0 {
		p.para("  ", "One job: "+join(a.Together)+" are past their limits, change them together.")
	}
}

// join is "a", "a and b" or "a, b and c".
func join(words []string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
}

func (p *page) ringChoices(d RingsPage) {
	p.gap()
	if len(d.Advice.Choices) == 0 {
		p.line("No ring can be named yet that fits.")
		return
	}
	cols := []column{
		{title: "ring", least: 6}, {title: "every gear", right: true}, {title: "easiest", right: true}, {title: "chain", right: true},
		{title: "radius", right: true}, {title: "guide", right: true}, {title: "chain line", right: true},
	}
	rows := make([][]string, len(d.Advice.Choices))
	for i, c := range d.Advice.Choices {
		rows[i] = p.ringRow(d.Query, c)
	}
	cols, rows = filled(cols, rows)
	p.table(cols, rows)
	p.ringNotes(d.Advice.Choices)
	p.gap()
	var legend []string
	for _, c := range cols {
		if says := ringLegend[c.title]; says != "" {
			legend = append(legend, says)
		}
	}
	p.para("", strings.Join(legend, " "))
}

// ringLegend says what the columns of the table of rings are.
var ringLegend = map[string]string{
	"easiest": "Easiest: speed in the easiest gear at 60 turns of the crank a minute.",
	"chain":   "Chain: pitches to put on or take off, in pairs.",
	"radius":  "Radius: of the circle through the chain's pins.",
	"guide":   "Guide: by how much upper guide and idler move on their track.",
}

func (p *page) ringRow(q wear.RingQuery, c wear.RingChoice) []string {
	name := fmt.Sprint(c.Teeth)
	if c.Model != "" {
		name = brief(c.Model, longName) + " " + name
	}
	if c.Same {
		name += " (as now)"
	}
	row := []string{name, "", "", "", hundredths(round(c.Radius, 1)) + " mm", "", ""}
	if q.Ring != 0 {
		row[1] = shifted(c.Percent, "%", "harder", "easier")
		row[5] = shifted(c.Move, "mm", "out", "in")
	}
	if c.Speed != 0 {
		row[2] = p.speed(c.Speed)
	}
	if c.Chain != nil {
		row[3] = shifted(float64(c.Chain.Pitches), "", "on", "off")
	}
	if c.Line != 0 {
		row[6] = hundredths(c.Line) + " mm"
	}
	return row
}

// shifted is an amount and which way, "as now" where it is nought.
func shifted(v float64, unit, up, down string) string {
	way := up
	if v < 0 {
		way = down
	}
	decimals := 0
	if unit != "" {
		unit, decimals = " "+unit, 1
	}
	if round(v, decimals) == 0 {
		return "–"
	}
	return number(math.Abs(v), decimals) + unit + " " + way
}

// speed is m/s as km/h or mph.
func (s Style) speed(v float64) string {
	unit := "km/h"
	if s.Imperial {
		unit = "mph"
	}
	return number(s.longway(v*3600), 1) + " " + unit
}

// ringNotes adds each note once, with the rings that it is of.
func (p *page) ringNotes(choices []wear.RingChoice) {
	of := map[string][]string{}
	var notes []string
	for _, c := range choices {
		for _, n := range c.Notes {
			if of[n] == nil {
				notes = append(notes, n)
			}
			of[n] = append(of[n], fmt.Sprint(c.Teeth))
		}
	}
	for i, n := range notes {
		if i == 0 {
			p.gap()
		}
		p.para(join(slices.Compact(of[n]))+": ", n+".")
	}
}

// ringGears adds how far every gear rolls.
func (p *page) ringGears(d RingsPage) {
	if !d.Gears || len(d.Advice.Choices) == 0 || d.Advice.Choices[0].Gears == nil {
		return
	}
	p.gap()
	p.line("Rolled in one turn of the crank, in ", p.shortUnit())
	cols := []column{{title: "cog", right: true}}
	rows := make([][]string, len(d.Query.Cogs))
	for i, cog := range d.Query.Cogs {
		rows[i] = []string{fmt.Sprint(cog)}
	}
	for _, c := range d.Advice.Choices {
		cols = append(cols, column{title: fmt.Sprint(c.Teeth), right: true})
		for i, g := range c.Gears {
			rows[i] = append(rows[i], number(p.shortway(g.Now), 2))
		}
	}
	p.table(cols, rows)
}

func (p *page) ringsRefused(list []wear.RingRefusal) {
	if len(list) == 0 {
		return
	}
	p.gap()
	p.line("Does not fit")
	for _, r := range list {
		p.para(fmt.Sprintf("  %s: ", strings.TrimSpace(brief(r.Model, longName)+" "+fmt.Sprint(r.Teeth))), clean(r.Why))
	}
}

// asks adds what only somebody at the bike can tell.
func (p *page) asks(d RingsPage) {
	if len(d.Advice.Questions) == 0 {
		return
	}
	p.gap()
	p.line(p.bold("pawl asks"))
	for _, q := range d.Advice.Questions {
		text := sentence(q.Ask)
		if do := d.Do[q.About]; do != "" {
			text += " (" + do + ")"
		}
		p.para("  "+q.About+": ", text)
	}
}

// cautions adds what to mind.
func (p *page) cautions(list []string) {
	if len(list) > 0 {
		p.gap()
	}
	for _, c := range list {
		p.para("Caution – ", strings.TrimSuffix(c, ".")+".")
	}
}

// ringsLine is the choice in one line.
func ringsLine(d RingsPage) string {
	a := d.Advice
	switch {
	case len(a.First) > 0:
		return a.First[0] + "."
	case len(a.Choices) == 0 && len(a.Questions) > 0:
		return "pawl asks: " + a.Questions[0].Ask
	}
	var teeth []string
	for _, c := range a.Choices {
		teeth = append(teeth, fmt.Sprint(c.Teeth))
	}
	return fmt.Sprintf("Rings of %s teeth fit, as far as is known; pawl rings %q says what each changes.", join(teeth), d.Bike)
}
