package report

import (
	"bytes"
	_ "embed"
	"html/template"
	"io"
	"strings"
	"sync"

	"pawl/wear"
)

//go:embed turnround.html
var turnRoundHTML string

var turnRoundTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("turnround").Parse(turnRoundHTML))
})

// TurnRoundPaper is what is printed to tick off the checks between hires.
type TurnRoundPaper struct {
	Today wear.Instant
	Depot string // "" = all
	Lines []TurnRoundLine
}

// TurnRoundLine is one bike of the paper.
type TurnRoundLine struct {
	Bike  wear.Bike
	Last  wear.Instant // turn-round check; Ever = none
	Hold  wear.Hold
	Watch []string // parts of which the last look says watch
}

type turnRoundView struct {
	Today, Depot, Count string
	Columns             int
	Points              []pointView
	Rows                []turnRoundRow
	Caution, Maker      string
}

type pointView struct{ Name, About string }

type turnRoundRow struct{ Bike, Last, Held, Watch string }

// TurnRoundSheet writes the paper: HTML for A4 across, that needs neither a script
// nor anything from outside, with a line of boxes for each bike.
func TurnRoundSheet(w io.Writer, t TurnRoundPaper, s Style) error {
	v := turnRoundView{
		Today: s.fullDay(t.Today), Depot: brief(t.Depot, longName), Count: plural(len(t.Lines), "bike", "bikes"),
		Columns: len(wear.Points) + 3, Caution: wear.Caution, Maker: sentence(wear.StopCaution),
	}
	for _, p := range wear.Points {
		v.Points = append(v.Points, pointView{string(p), p.About()})
	}
	for _, l := range t.Lines {
		row := turnRoundRow{Bike: brief(l.Bike.Name, longName), Watch: brief(strings.Join(l.Watch, ", "), longNote)}
		if l.Last != wear.Ever {
			row.Last = s.day(l.Last, t.Today)
		}
		if l.Hold.Held {
			row.Held = brief(l.Hold.Why, 80)
		}
		v.Rows = append(v.Rows, row)
	}
	var buf bytes.Buffer
	if err := turnRoundTemplate().Execute(&buf, v); err != nil {
		return err
	}
	_, err := w.Write(buf.Bytes())
	return err
}

// TurnedRound is what became of one bike's check.
type TurnedRound struct {
	Bike   string
	Round  wear.TurnRound
	Faults []string  // "front-pads-1 unsafe: lever comes to the bar"
	Hold   wear.Hold // whether it has to stay in then
	Marked []string  // parts whose torque check the witness marks made
	Bare   []string  // bolts that were never set with a tool since they were fitted
}

// TurnedRounds writes what was entered to a terminal.
func TurnedRounds(w io.Writer, list []TurnedRound, s Style) error {
	p := &page{Style: s}
	for _, t := range list {
		found := "all good"
		if len(t.Faults) > 0 {
			found = strings.Join(t.Faults, "; ")
		}
		p.para("", brief(t.Bike, longName)+": turned round on "+s.Moment(t.Round.At)+by(t.Round.By)+", "+found)
		if t.Hold.Held {
			p.para("  ", "it stays in: "+brief(t.Hold.Why, longNote))
		}
		if len(t.Marked) > 0 {
			p.para("  ", "checked by their witness marks: "+strings.Join(t.Marked, ", "))
		}
		if len(t.Bare) > 0 {
			p.para("  ", "not counted as checked, since no torque was set since they were fitted: "+strings.Join(t.Bare, ", "))
		}
	}
	p.para("", wear.Caution+".")
	return p.to(w)
}
