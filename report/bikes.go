package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"pawl/wear"
)

// BikeLine is a bike as lists show it.
type BikeLine struct {
	Bike  wear.Bike
	Owner string        // the person whose it is, in CSV
	Parts int           // on it now
	Total wear.Sum      // of its rides
	Last  wear.Instant  // start of its last ride; Ever = none yet
	Worst *wear.Verdict // the most urgent verdict; nil = not assessed

	Standing wear.Standing // empty = in service
	Status   *wear.Status  // that says so; nil = none was entered

	Setup *SetupPage // of a bike's own page; nil = not shown
	Rings *RingsPage
	Cogs  *wear.Cogs

	Meters []wear.Odometer // what its meters showed last
}

// Bikes writes bikes to a terminal.
func Bikes(w io.Writer, bikes []BikeLine, s Style) error {
	p := &page{Style: s}
	if len(bikes) == 0 {
		p.line("No bikes.")
		return p.to(w)
	}
	shown, window, err := cut(s.Pages, bikes, fewRows)
	if err != nil {
		return err
	}
	cols := []column{
		{title: "bike", least: 8}, {title: "depot", least: 6}, {title: "verdict", least: 11}, {title: "sheet", least: 6},
		{title: "parts", right: true}, {title: "rides", right: true}, {title: s.longUnit(), right: true},
		{title: "h", right: true}, {title: "last ride"},
	}
	rows := make([][]string, len(shown))
	for i, b := range shown {
		rows[i] = p.bikeRow(b)
	}
	p.table(filled(cols, rows))
	p.rest(window, "bike", "bikes", "--csv")
	return p.to(w)
}

func (p *page) bikeRow(b BikeLine) []string {
	verdict := ""
	if b.Worst != nil {
		verdict = b.Worst.Words() + " " + signs[*b.Worst].shape
	}
	if b.Standing == wear.Held || b.Standing == wear.Retired {
		verdict += ", " + string(b.Standing)
	}
	return []string{
		brief(b.Bike.Name, longName), brief(b.Bike.Depot, longName), verdict, brief(b.Bike.Sheet, longName),
		strconv.Itoa(b.Parts), number(float64(b.Total.Rides), 0),
		p.summed(b.Total, wear.Distance, func(v float64) string { return whole(p.longway(v)) }),
		p.summed(b.Total, wear.Moving, func(v float64) string { return figure(v / 3600) }),
		p.fullDay(b.Last),
	}
}

// Bike writes one bike and the parts on it to a terminal.
func Bike(w io.Writer, b BikeLine, parts []PartLine, s Style) error {
	p := &page{Style: s}
	p.painted("", brief(b.Bike.Name, longName), p.bold)
	if b.Worst != nil {
		p.line("  ", p.verdict(*b.Worst))
	}
	for _, fact := range s.bikeFacts(b) {
		if fact[1] != "" {
			p.para("  "+fact[0]+strings.Repeat(" ", 12-width(fact[0])), fact[1])
		}
	}
	p.gap()
	if len(parts) == 0 {
		p.line("No parts on it.")
	} else {
		p.parts(parts, false)
	}
	p.driveSections(b)
	return p.to(w)
}

// driveSections adds the set-up of the guide, the cogs where they are known, and
// which rings fit in one line.
func (p *page) driveSections(b BikeLine) {
	if b.Setup != nil && (b.Setup.Known || b.Setup.Guided) {
		p.gap()
		p.line("Set-up of the chain guide")
		p.setup(*b.Setup)
	}
	if b.Cogs != nil && b.Cogs.Known > 0 {
		p.gap()
		p.line("Turns and wear per cog")
		p.cogShares(*b.Cogs)
	}
	if b.Rings != nil {
		p.gap()
		p.line("Next ring")
		p.para("  ", ringsLine(*b.Rings))
	}
}

func (s Style) bikeFacts(b BikeLine) [][2]string {
	return [][2]string{
		{"standing", s.standing(b)},
		{"sheet", brief(b.Bike.Sheet, longName)},
		{"masses", masses(b.Bike)},
		{"wheel", wheel(b.Bike)},
		{"speeds", nonZero(b.Bike.Speeds)},
		{"motor", motorWords[b.Bike.Motor]},
		{"chain guide", map[bool]string{true: "fitted"}[b.Bike.Guide]},
		{"hired out", map[bool]string{true: "yes: stricter stops"}[b.Bike.Fleet]},
		{"depot", brief(b.Bike.Depot, longName)},
		{"tags", brief(strings.Join(b.Bike.Tags, " "), longNote)},
		{"hire day", hirePrice(b.Bike.Price)},
		{"ridden", s.rideTotal(b.Total)},
		{"last ride", s.fullDay(b.Last)},
		{"meters", s.meters(b.Meters)},
		{"note", brief(b.Bike.Note, longNote)},
	}
}

// meters are what the meters of a bike showed last, and when.
func (s Style) meters(list []wear.Odometer) string {
	said := make([]string, len(list))
	for i, o := range list {
		said[i] = s.Meter(o) + " on " + s.fullDay(o.At)
	}
	return strings.Join(said, ", ")
}

// standing is empty for a bike of which none was ever entered.
func (s Style) standing(b BikeLine) string {
	if b.Status == nil {
		return ""
	}
	return string(b.Standing) + " " + s.status(*b.Status)
}

// hirePrice is what a hire day costs, empty where it is not given.
func hirePrice(hundredths int64) string {
	if hundredths == 0 {
		return ""
	}
	return fmt.Sprintf("%d.%02d", hundredths/100, hundredths%100)
}

var motorWords = map[wear.Motor]string{wear.MidMotor: "mid-drive", wear.HubMotor: "hub motor"}

// motorName is the word of the command line.
func motorName(m wear.Motor) string {
	switch m {
	case wear.MidMotor:
		return "mid"
	case wear.HubMotor:
		return "hub"
	}
	return "none"
}

func masses(b wear.Bike) string {
	rider, bike := b.Masses()
	out := "rider and kit " + figure(rider) + " kg"
	if b.RiderMass == 0 {
		out += " (default)"
	}
	out += ", bike " + figure(bike) + " kg"
	if b.Mass == 0 {
		out += " (default)"
	}
	return out
}

func wheel(b wear.Bike) string {
	if b.Wheel == 0 {
		return ""
	}
	return number(b.Wheel*1000, 0) + " mm round"
}

func nonZero(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// BikesCSV writes bikes as CSV in SI units. What pawl fleet read takes is named as
// there.
func BikesCSV(w io.Writer, bikes []BikeLine, s Style) error {
	head := append([]string{"bike", "sheet", "verdict", "parts", "last_ride", "rides"}, quantityHeads()...)
	out := newSheet(w, append(head, "standing", "depot", "tags", "price", "owner", "rider_kg", "bike_kg", "wheel_mm", "motor", "fleet", "note")...)
	for _, b := range bikes {
		verdict := ""
		if b.Worst != nil {
			verdict = b.Worst.String()
		}
		row := []string{
			cell(b.Bike.Name), cell(b.Bike.Sheet), verdict, strconv.Itoa(b.Parts), s.csvTime(b.Last),
			strconv.FormatInt(b.Total.Rides, 10),
		}
		row = append(append(row, quantityCells(b.Total.Total(), 0)...), cmp.Or(string(b.Standing), string(wear.InService)))
		out.row(append(row, bikeCells(b)...)...)
	}
	return out.done()
}

// bikeCells are what a table says of a bike; figures that are not given are empty.
func bikeCells(b BikeLine) []string {
	figure := func(v float64) string {
		if v == 0 {
			return ""
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return []string{
		cell(b.Bike.Depot), cell(strings.Join(b.Bike.Tags, " ")), hirePrice(b.Bike.Price), cell(b.Owner),
		figure(b.Bike.RiderMass), figure(b.Bike.Mass), figure(math.Round(b.Bike.Wheel*1e7) / 1e4),
		motorName(b.Bike.Motor), yesNo(b.Bike.Fleet), cell(b.Bike.Note),
	}
}
