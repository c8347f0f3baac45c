package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"pawl/wear"
)

// Costs writes what parts and work cost to a terminal, page by page.
func Costs(w io.Writer, c wear.Costs, s Style) error {
	p := &page{Style: s}
	p.para("", fmt.Sprintf("Costs from %s to %s, by %s", s.fullDay(c.From), s.fullDay(c.To), c.By))
	lines, idle := worked(c.Lines)
	shown, window, err := cut(s.Pages, lines, fewRows)
	if err != nil {
		return err
	}
	p.gap()
	if len(lines) == 0 {
		p.line("No work was signed off and no part fitted.")
	} else {
		p.costTable(c, shown)
	}
	p.rest(window, costNouns[c.By][0], costNouns[c.By][1], "--csv")
	p.gap()
	p.costNotes(c, idle)
	return p.to(w)
}

// costNouns are what the lines of each group are called.
var costNouns = map[wear.CostBy][2]string{
	wear.ByKind: {"kind", "kinds"}, wear.ByModel: {"kind or model", "kinds and models"},
	wear.ByBike: {"bike", "bikes"}, wear.ByDepot: {"depot", "depots"},
}

// worked are the lines on which something was done, and how many others there are.
func worked(lines []wear.CostLine) (list []wear.CostLine, idle int) {
	for _, l := range lines {
		if l.Spent.Changes+l.Spent.Jobs > 0 {
			list = append(list, l)
		} else {
			idle++
		}
	}
	return list, idle
}

func (p *page) costTable(c wear.Costs, lines []wear.CostLine) {
	cols := []column{
		{title: costNouns[c.By][0], least: 8}, {title: "new", right: true}, {title: "jobs", right: true}, {title: "h", right: true},
		{title: "parts", right: true}, {title: "work", right: true}, {title: p.longUnit(), right: true},
		{title: p.perWay(), right: true}, {title: "hire day", right: true}, {title: "price", right: true},
	}
	rows := make([][]string, 0, len(lines)+1)
	for i := range lines {
		rows = append(rows, p.costRow(c, &lines[i], costName(&lines[i])))
	}
	rows = append(rows, p.costRow(c, &c.Total, "all"))
	cols, rows = filled(cols, rows)
	for _, spare := range []string{"h", "jobs", p.longUnit()} {
		if fit(natural(cols, rows), wordFloors(cols, rows), p.width()) != nil {
			break
		}
		cols, rows = without(spare, cols, rows)
	}
	p.table(cols, rows)
}

// without leaves a column out, where the list is too wide to be read with it:
// JSON and CSV have it.
func without(title string, cols []column, rows [][]string) ([]column, [][]string) {
	at := slices.IndexFunc(cols, func(c column) bool { return c.title == title })
	if at < 0 {
		return cols, rows
	}
	for i := range rows {
		rows[i] = slices.Delete(rows[i], at, at+1)
	}
	return slices.Delete(cols, at, at+1), rows
}

// perWay is the heading of the cost of a way.
func (s Style) perWay() string { return "1,000 " + s.longUnit() }

// costName is what a line is called.
func costName(l *wear.CostLine) string {
	if l.Kind != "" {
		return strings.TrimSpace(clean(l.Kind) + " " + brief(l.Model, longName))
	}
	if l.Name == "" {
		return "no depot"
	}
	return brief(l.Name, longName)
}

func (p *page) costRow(c wear.Costs, l *wear.CostLine, name string) []string {
	row := []string{
		name, whole(float64(l.Spent.Changes)), whole(float64(l.Spent.Jobs)), figure(float64(l.Spent.Minutes) / 60),
		atLeast(float64(l.Spent.Parts()), &l.Spent), "", whole(p.longway(metresOf(l.Way))), unknown, unknown, "",
	}
	if c.Hour > 0 {
		row[5] = money(float64(l.Spent.Work(c.Hour)))
	}
	if v, ok := l.PerWay(c.Hour); ok {
		row[7] = atLeast(v*p.wayPerKm(), &l.Spent)
	}
	if v, ok := l.PerDay(c.Hour); ok {
		row[8] = atLeast(v, &l.DaysSpent)
	}
	if v, ok := l.FarePerDay(); ok && (c.By == wear.ByBike || c.By == wear.ByDepot) {
		row[9] = money(v)
	}
	return row
}

// atLeast is money that lacks what the changes without a price cost: a plus
// follows it, and nothing at all is not known.
func atLeast(hundredths float64, of *wear.Spent) string {
	switch {
	case of.NoPrice == 0:
		return money(hundredths)
	case hundredths == 0:
		return unknown
	}
	return money(hundredths) + "+"
}

// metresOf is a way of stored centimetres in metres.
func metresOf(cm int64) float64 { return wear.Distance.SI(cm) }

// wayPerKm is how many kilometres the reader's long unit has.
func (s Style) wayPerKm() float64 {
	if s.Imperial {
		return metresPerMile / 1000
	}
	return 1
}

// money is an amount of hundredths; a large one without them.
func money(hundredths float64) string {
	v := hundredths / 100
	if v >= 9999.5 {
		return number(v, 0)
	}
	return number(v, 2)
}

// costNotes say what the figures rest on.
func (p *page) costNotes(c wear.Costs, idle int) {
	for _, n := range p.Style.costNotes(c, idle) {
		p.para("", n)
	}
}

func (s Style) costNotes(c wear.Costs, idle int) []string {
	t := &c.Total
	notes := []string{
		fmt.Sprintf("new: parts changed or fitted new. h, where there is room: hours at the stand. %s and hire day: what that costs, in parts%s.", s.perWay(), worded(c.Hour > 0, " and work", "")),
	}
	if idle > 0 {
		notes = append(notes, fmt.Sprintf("%s had no work.", plural(idle, costNouns[c.By][0], costNouns[c.By][1])))
	}
	if c.By == wear.ByKind || c.By == wear.ByModel {
		notes = append(notes, fmt.Sprintf("%s of a kind or model are those ridden with such a part on; those of all are the bikes'.", s.longUnit()))
	}
	if t.Est > 0 {
		notes = append(notes, fmt.Sprintf("%s of the %s are estimated, not recorded.", share(float64(t.Est)/float64(t.Way)), s.longUnit()))
	}
	notes = append(notes, partsNotes(t.Spent)...)
	notes = append(notes, workNotes(c)...)
	notes = append(notes, dayNotes(c)...)
	return append(notes, fmt.Sprintf("It rests on %s and %s that were signed off or fitted, and on the counted rides of %s in that time. "+
		"Money is in the book's currency.", plural(t.Spent.Changes, "new part", "new parts"), plural(t.Spent.Jobs, "job", "jobs"), plural(t.Bikes, "bike", "bikes")))
}

func worded(is bool, yes, no string) string {
	if is {
		return yes
	}
	return no
}

// partsNotes say where the money of parts comes from.
func partsNotes(s wear.Spent) (notes []string) {
	changes := plural(s.Changes, "change", "changes")
	if s.ByList > 0 {
		text := fmt.Sprintf("%s of %s priced by the list (pawl part stock)", number(float64(s.ByList), 0), changes)
		if s.Later > 0 {
			text += fmt.Sprintf(", %s of them by a price that was said only later", number(float64(s.Later), 0))
		}
		notes = append(notes, text+"; the others as entered.")
	}
	if s.NoPrice > 0 {
		notes = append(notes, fmt.Sprintf("+: at least, %s of %s count without money because no price is known: pawl part stock KIND --price 24.50, or pawl signoff … --cost.",
			number(float64(s.NoPrice), 0), changes))
	}
	return notes
}

// workNotes say where the minutes come from.
func workNotes(c wear.Costs) (notes []string) {
	s := c.Total.Spent
	if s.Typical > 0 {
		notes = append(notes, fmt.Sprintf("%s of %s at the stand are the schedule's, an estimate where nobody entered them.",
			number(float64(s.Typical), 0), plural(int(s.Minutes), "minute", "minutes")))
	}
	if s.Untimed > 0 {
		notes = append(notes, fmt.Sprintf("How long %s took is not known.", plural(s.Untimed, "change or job", "changes and jobs")))
	}
	if c.Hour == 0 {
		return append(notes, "Work is not counted in money: --hour 45.00 says what an hour at the stand costs.")
	}
	return append(notes, fmt.Sprintf("An hour at the stand costs %s.", money(float64(c.Hour))))
}

// dayNotes say what a hire day is, of which bikes it is not known, and what it
// brings.
func dayNotes(c wear.Costs) (notes []string) {
	t := &c.Total
	if t.Days > 0 {
		notes = append(notes, "A hire day is a day of the calendar with at least one counted ride of the bike.")
	}
	if t.Blind > 0 {
		notes = append(notes, fmt.Sprintf("Of %s the hire days are not known: a meter tells how far or how long they went, not how often. They are not in its cost.",
			plural(t.Blind, "bike", "bikes")))
	}
	if fare, ok := t.FarePerDay(); ok {
		cost, _ := t.PerDay(c.Hour)
		notes = append(notes, fmt.Sprintf("A hire day brings %s at the bikes' prices, on average over %s, and costs %s.",
			money(fare), plural(t.FareDays, "day", "days"), money(cost)))
	}
	return notes
}
