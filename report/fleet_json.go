package report

import (
	"io"
	"strconv"
	"strings"

	"pawl/wear"
)

type depotJSON struct {
	Depot        *string  `json:"depot"` // null: bikes of no depot; "" never
	Bikes        int      `json:"bikes"`
	OnHire       int      `json:"on_hire"`
	Held         int      `json:"held"`
	Released     int      `json:"released"` // of on_hire: in spite of a stop
	DueWeek      int      `json:"due_week"`
	DueFourWeeks int      `json:"due_four_weeks"`
	Minutes      int      `json:"minutes"`
	ToTurnRound  int      `json:"to_turn_round"`
	Availability *float64 `json:"availability"`
	upkeepJSON
}

// upkeepJSON is what bikes cost over the stretch that costs are counted from.
type upkeepJSON struct {
	Distance   float64  `json:"distance"`
	Cost       float64  `json:"cost"`
	NoPrice    int      `json:"changes_without_price"`
	CostPerKm  *float64 `json:"per_1000_km"`
	HireDays   int      `json:"hire_days"` // of the bikes whose rides tell them
	Untold     int      `json:"bikes_without_hire_days"`
	CostPerDay *float64 `json:"per_hire_day"`
	FarePerDay *float64 `json:"price_per_hire_day"`
}

func upkeepOf(l *wear.CostLine, hour int64) upkeepJSON {
	out := upkeepJSON{
		Distance: round(wear.Distance.SI(l.Way), 0), Cost: round(float64(l.Spent.Cost(hour))/100, 2), NoPrice: l.Spent.NoPrice,
		HireDays: l.Days, Untold: l.Blind,
	}
	if v, ok := l.PerWay(hour); ok {
		out.CostPerKm = figureOf(v/100, 2)
	}
	if v, ok := l.PerDay(hour); ok {
		out.CostPerDay = figureOf(v/100, 2)
	}
	if v, ok := l.FarePerDay(); ok {
		out.FarePerDay = figureOf(v/100, 2)
	}
	return out
}

func (f *Fleet) depot(d *wear.Depot) depotJSON {
	return depotJSON{
		Depot: textOf(d.Name), Bikes: d.Bikes, OnHire: d.OnHire, Held: d.Held, Released: d.Lifted, DueWeek: d.DueWeek, DueFourWeeks: d.DueMonth,
		Minutes: d.Minutes, ToTurnRound: d.UnTurned, Availability: availableFigure(d.Stand), upkeepJSON: upkeepOf(&d.Cost, f.Hour),
	}
}

func availableFigure(st wear.Stand) *float64 {
	if v, ok := st.Share(); ok {
		return figureOf(v, 4)
	}
	return nil
}

type fleetBikeJSON struct {
	Bike          string   `json:"bike"`
	Depot         *string  `json:"depot"`
	Tags          []string `json:"tags"`
	Verdict       string   `json:"verdict"`
	Held          bool     `json:"held"`
	Why           *string  `json:"why"` // it is held
	Clears        *string  `json:"clears"`
	HeldBy        *string  `json:"held_by"`
	ReleasedBy    *string  `json:"released_by"`
	ReleasedUntil *string  `json:"released_until"`
	Jobs          int      `json:"jobs"`
	Part          *string  `json:"part"` // of the most urgent job
	Job           *string  `json:"job"`
	Title         *string  `json:"title"`
	DueWeek       bool     `json:"due_week"`
	DueFourWeeks  bool     `json:"due_four_weeks"`
	Minutes       int      `json:"minutes"`
	Availability  *float64 `json:"availability"`
	upkeepJSON
	LastRide    *string `json:"last_ride"`
	TurnRound   *string `json:"turn_round"`
	RiddenSince bool    `json:"ridden_since_turn_round"`
}

func (s Style) fleetBike(b *wear.FleetBike, hour int64) fleetBikeJSON {
	out := fleetBikeJSON{
		Bike: b.Bike.Name, Depot: textOf(b.Bike.Depot), Tags: list(b.Bike.Tags), Verdict: b.Worst.String(),
		Held: b.Hold.Held, Why: textOf(b.Hold.Why), Clears: textOf(b.Hold.Clear), HeldBy: textOf(b.Hold.By),
		Jobs: b.Jobs, DueWeek: b.DueWeek, DueFourWeeks: b.DueMonth, Minutes: b.Minutes,
		Availability: availableFigure(b.Stand), upkeepJSON: upkeepOf(&b.Cost, hour),
		LastRide: isoTime(b.Last, s.zone()), TurnRound: isoTime(b.TurnRound, s.zone()), RiddenSince: b.UnTurned,
	}
	if r := b.Hold.Lifted; r != nil {
		out.ReleasedBy, out.ReleasedUntil = textOf(r.By), isoTime(r.Until, s.zone())
	}
	if f := b.Top; f != nil {
		out.Part, out.Job, out.Title = textOf(f.Part), textOf(f.Job), textOf(f.Title)
	}
	return out
}

// FleetJSON writes a fleet as one JSON object.
func FleetJSON(w io.Writer, f Fleet, s Style) error {
	depots := make([]depotJSON, len(f.Depots))
	for i := range f.Depots {
		depots[i] = f.depot(&f.Depots[i])
	}
	bikes := make([]fleetBikeJSON, len(f.Bikes))
	for i := range f.Bikes {
		bikes[i] = s.fleetBike(&f.Bikes[i], f.Hour)
	}
	return writeJSON(w, struct {
		envelope
		Today  *string         `json:"today"`
		Since  *string         `json:"since"`
		Depots []depotJSON     `json:"depots"`
		All    depotJSON       `json:"all"`
		Bikes  []fleetBikeJSON `json:"bikes"`
	}{enclose(nil), isoTime(f.Today, s.zone()), isoTime(f.Since, s.zone()), depots, f.depot(&f.All), bikes})
}

// FleetCSV writes the bikes of a fleet as CSV, in SI units.
func FleetCSV(w io.Writer, f Fleet, s Style) error {
	out := newSheet(w, "bike", "depot", "tags", "verdict", "held", "why", "released_until", "jobs", "most_urgent", "due_week", "due_four_weeks",
		"minutes", "availability", "distance", "cost", "hire_days", "last_ride", "turn_round")
	for i := range f.Bikes {
		b := &f.Bikes[i]
		urgent, until := "", ""
		if b.Top != nil {
			urgent = b.Top.Part + ": " + b.Top.Title
		}
		if b.Hold.Lifted != nil {
			until = s.csvTime(b.Hold.Lifted.Until)
		}
		free := ""
		if v, ok := b.Stand.Share(); ok {
			free = strconv.FormatFloat(round(v, 4), 'f', -1, 64)
		}
		out.row(cell(b.Bike.Name), cell(b.Bike.Depot), cell(strings.Join(b.Bike.Tags, " ")), b.Worst.String(), yesNo(b.Hold.Held), cell(b.Hold.Why),
			until, strconv.Itoa(b.Jobs), cell(urgent), yesNo(b.DueWeek), yesNo(b.DueMonth), strconv.Itoa(b.Minutes), free,
			amount(wear.Distance.SI(b.Cost.Way)), amount(float64(b.Cost.Spent.Cost(f.Hour))/100), hireDays(&b.Cost), s.csvTime(b.Last), s.csvTime(b.TurnRound))
	}
	return out.done()
}

// hireDays is a cell, empty where an odometer tells of the bike.
func hireDays(l *wear.CostLine) string {
	if l.Blind > 0 {
		return ""
	}
	return strconv.Itoa(l.Days)
}
