package report

import (
	"io"

	"pawl/wear"
)

type tripLineJSON struct {
	Bike    string   `json:"bike"`
	Part    string   `json:"part"`
	Kind    string   `json:"kind"`
	Job     string   `json:"job"`
	Verdict string   `json:"verdict"` // as of today
	Lasts   bool     `json:"lasts"`
	Chance  *float64 `json:"chance"` // that it falls due before the end
	Adds    *float64 `json:"adds"`   // by the trip, in unit
	Unit    *string  `json:"unit"`
	After   *float64 `json:"after"` // share of the way to the limit at the end
	Day     *float64 `json:"day"`   // of the trip on which it falls due; null = not on it
	Text    string   `json:"text"`
	Advice  string   `json:"advice"`
	Caution string   `json:"caution"`
}

// plannedJSON is a trip in days, metres and seconds; null = not given.
type plannedJSON struct {
	Days     *float64 `json:"days"`
	Distance *float64 `json:"distance"`
	Climb    *float64 `json:"climb"`
	Moving   *float64 `json:"moving"`
}

// TripJSON writes whether bikes last a trip as one JSON object.
func TripJSON(w io.Writer, d TripPage, s Style) error {
	lines := []tripLineJSON{}
	for _, b := range d.Bikes {
		for i := range b.Lines {
			lines = append(lines, tripLineOf(&b.Lines[i]))
		}
	}
	t := d.Trip
	return writeJSON(w, struct {
		envelope
		Today *string        `json:"today"`
		Trip  plannedJSON    `json:"trip"`
		Lines []tripLineJSON `json:"lines"`
	}{
		enclose(d.Warnings), isoDay(d.Today, s.zone()),
		plannedJSON{figureOf(t.Days, 3), positive(t.Distance), positive(t.Climb), positive(t.Moving)}, lines,
	})
}

func tripLineOf(l *wear.TripLine) tripLineJSON {
	f := &l.Finding
	return tripLineJSON{
		Bike: f.Bike, Part: f.Part, Kind: f.Kind, Job: f.Job, Verdict: f.Verdict.String(), Lasts: l.Lasts,
		Chance: figureOf(l.Chance, 4), Adds: figureOf(l.Adds, 3), Unit: textOf(l.Unit), After: figureOf(l.After, 4),
		Day: positive(l.Day), Text: l.Text, Advice: f.Advice, Caution: wholeCaution(f),
	}
}
