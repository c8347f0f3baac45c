package report

import (
	"fmt"
	"io"

	"pawl/wear"
)

// Fleet is a fleet as its manager sees it in the morning.
type Fleet struct {
	Today  wear.Instant
	Since  wear.Instant // what costs and hire days are counted from
	Hour   int64        // hundredths that an hour at the stand costs; 0 = work is not counted in money
	Depots []wear.Depot
	All    wear.Depot
	Bikes  []wear.FleetBike // in the order in which they are to be shown
	Asked  string           // what the list was narrowed to, in words; "" = all of the fleet
}

// FleetList writes a fleet to a terminal: the depots, then the bikes.
func FleetList(w io.Writer, f Fleet, s Style) error {
	p := &fleetPage{page{Style: s}, f}
	if f.All.Bikes == 0 {
		p.line("No bike of the fleet is so.")
		return p.to(w)
	}
	p.head()
	p.depots()
	if err := p.bikes(); err != nil {
		return err
	}
	p.end()
	return p.to(w)
}

type fleetPage struct {
	page
	f Fleet
}

func (p *fleetPage) head() {
	a := &p.f.All
	text := fmt.Sprintf("%s: %s may go out, %s", plural(a.Bikes, "bike", "bikes"), number(float64(a.OnHire), 0), p.staying(a.Held))
	if a.Lifted > 0 {
		text += fmt.Sprintf("; %s by a release only, the stop stays", number(float64(a.Lifted), 0))
	}
	if p.f.Asked != "" {
		text = p.f.Asked + ": " + text
	}
	p.painted("", text, p.bold)
	if a.UnTurned > 0 {
		p.para("", plural(a.UnTurned, "bike was", "bikes were")+" ridden since the last turn-round check")
	}
}

func (p *fleetPage) staying(n int) string {
	if n == 1 {
		return "1 stays in"
	}
	return number(float64(n), 0) + " stay in"
}

func (p *fleetPage) depots() {
	cols := []column{
		{title: "depot", least: 6}, {title: "on hire", right: true}, {title: "held", right: true},
		{title: "due 7 d", right: true}, {title: "28 d", right: true}, {title: "hours", right: true}, {title: "free", right: true},
		{title: p.perThousand(), right: true}, {title: "hire day", right: true},
	}
	var rows [][]string
	for i := range p.f.Depots {
		rows = append(rows, p.depotRow(&p.f.Depots[i]))
	}
	if len(rows) != 1 {
		rows = append(rows, p.depotRow(&p.f.All))
	}
	p.gap()
	p.table(filled(cols, rows))
}

// perThousand is the head of what 1,000 km or miles cost.
func (s Style) perThousand() string { return "1,000 " + s.longUnit() }

func (p *fleetPage) depotRow(d *wear.Depot) []string {
	name := brief(d.Name, longName)
	switch {
	case d.All:
		name = "all"
	case name == "":
		name = unknown
	}
	return []string{
		name, number(float64(d.OnHire), 0), number(float64(d.Held), 0),
		number(float64(d.DueWeek), 0), number(float64(d.DueMonth), 0), figure(float64(d.Minutes) / 60),
		available(d.Stand), p.perKm(&d.Cost), p.perDay(&d.Cost),
	}
}

// available is the share of days on which bikes could go out.
func available(st wear.Stand) string {
	if v, ok := st.Share(); ok {
		return share(v)
	}
	return ""
}

// perKm is what 1,000 km cost, or miles; nothing where nothing was signed off.
func (p *fleetPage) perKm(l *wear.CostLine) string {
	cost, ok := l.PerWay(p.f.Hour)
	if !ok || l.Spent.Changes+l.Spent.Jobs == 0 {
		return ""
	}
	return money(cost * p.wayPerKm())
}

// perDay is what a hire day costs; nothing where the days are not known.
func (p *fleetPage) perDay(l *wear.CostLine) string {
	cost, ok := l.PerDay(p.f.Hour)
	if !ok || l.Spent.Changes+l.Spent.Jobs == 0 {
		return ""
	}
	return money(cost)
}

func (p *fleetPage) bikes() error {
	shown, w, err := cut(p.Pages, p.f.Bikes, fewRows)
	if err != nil {
		return err
	}
	cols := []column{
		{title: "bike", least: 8}, {title: "depot", least: 5}, {title: "stands", least: 12}, {title: "most urgent", least: 16},
		{title: "jobs", right: true}, {title: "min", right: true}, {title: "free", right: true}, {title: p.perThousand(), right: true},
	}
	var rows [][]string
	for i := range shown {
		rows = append(rows, p.bikeRow(&shown[i]))
	}
	p.gap()
	p.table(filled(cols, rows))
	p.rest(w, "bike", "bikes", "--csv")
	return nil
}

func (p *fleetPage) bikeRow(b *wear.FleetBike) []string {
	jobs, min := "", ""
	if b.Jobs > 0 {
		jobs = number(float64(b.Jobs), 0)
	}
	if b.Minutes > 0 {
		min = number(float64(b.Minutes), 0)
	}
	depot := brief(b.Bike.Depot, longName)
	if len(p.f.Depots) == 1 {
		depot = ""
	}
	return []string{brief(b.Bike.Name, longName), depot, p.stands(b), p.urgent(b), jobs, min, available(b.Stand), p.perKm(&b.Cost)}
}

// stands is the verdict on a bike, and whether it may go out in spite of it.
func (p *fleetPage) stands(b *wear.FleetBike) string {
	text := b.Worst.Words() + " " + signs[b.Worst].shape
	switch {
	case b.Hold.Lifted != nil:
		text += ", released until " + p.day(b.Hold.Lifted.Until, p.f.Today)
	case b.Hold.Held && b.Hold.By != "" || b.Standing == wear.Held:
		text += ", held"
	case b.Hold.Held && b.Worst < wear.Stop: // by a part of a kind that is not asked about
		text += ", stays in"
	}
	return text
}

func (p *fleetPage) urgent(b *wear.FleetBike) string {
	switch {
	case b.Hold.Held && b.Hold.By != "":
		return brief(b.Hold.Why, longNote) + " (" + brief(b.Hold.By, longName) + ")"
	case b.Top != nil:
		return brief(b.Top.Part, longName) + ": " + b.Top.Title
	case b.UnTurned && b.TurnRound != wear.Ever:
		return "turn-round check"
	}
	return ""
}

// end says what the figures rest on.
func (p *fleetPage) end() {
	a := &p.f.All
	p.gap()
	what := "parts"
	if p.f.Hour > 0 {
		what = "parts and work"
	}
	p.para("", fmt.Sprintf("On hire: may go out. Held: held back, or kept in by a stop. Due: bikes with something due by then; hours: of the week. "+
		"Free: availability, the share of the last %d days on which bikes could go out. "+
		"Costs: %s since %s (pawl costs tells of what). A hire day is a day with a ride.", wear.FleetMonth, what, p.fullDay(p.f.Since)))
	if n := a.Cost.Spent.NoPrice; n > 0 {
		p.para("", plural(n, "change has", "changes have")+" no price: pawl part stock KIND --price, or signoff --cost.")
	}
	if n := a.Cost.Blind; n > 0 {
		p.para("", "Of "+plural(n, "bike", "bikes")+" only a meter tells: on how many days they were hired is not known.")
	}
	if fare, ok := a.Cost.FarePerDay(); ok {
		text := "A hire day brings " + money(fare) + " at the bikes' prices"
		if cost, ok := a.Cost.PerDay(p.f.Hour); ok && cost > 0 {
			text += "; upkeep is " + share(cost/fare) + " of that"
		}
		p.para("", text+".")
	}
	p.gap()
	p.para("", wear.Caution+".")
}
