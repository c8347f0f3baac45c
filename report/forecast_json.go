package report

import (
	"math"

	"pawl/wear"
)

// forecastJSON is how a part that can be measured wears: reading = start + rate
// × load. Loads are weighted by the ground, in load_unit.
type forecastJSON struct {
	Of       string       `json:"of"`
	Unit     string       `json:"unit"` // of readings
	LoadUnit string       `json:"load_unit"`
	New      *float64     `json:"new"`
	Limit    *float64     `json:"limit"`
	Prior    priorJSON    `json:"prior"`
	Readings []weightJSON `json:"readings"`
	Line     lineJSON     `json:"line"`
	Load     *float64     `json:"load"`      // so far
	LastLoad *float64     `json:"last_load"` // at the last reading
	Now      rangeJSON    `json:"now"`
	Crossing rangeJSON    `json:"crossing"` // the load at which the limit is reached
	Left     rangeJSON    `json:"left"`     // of load
	Days     rangeJSON    `json:"days"`
	PerDay   *float64     `json:"per_day"`
	Lead     *float64     `json:"lead"`   // days
	Chance   *float64     `json:"chance"` // that the limit is reached within lead
	Curve    []curveJSON  `json:"curve"`
	Turn     string       `json:"turn"`
}

// lineJSON is wear over load; rate_spread is the standard deviation of ln rate.
type lineJSON struct {
	Start      *float64 `json:"start"`
	StartSD    *float64 `json:"start_sd"`
	Rate       *float64 `json:"rate"`
	RateSpread *float64 `json:"rate_spread"`
}

type priorJSON struct {
	lineJSON
	Earlier int  `json:"earlier"` // parts of this bike that moved it
	Guessed bool `json:"guessed"`
}

// weightJSON is a reading as the forecast has it; load and off are null where
// it was made on an earlier bike, value where a gauge told.
type weightJSON struct {
	At     *string    `json:"at"`
	Value  *float64   `json:"value"`
	Tool   *string    `json:"tool"`
	Gauge  *gaugeJSON `json:"gauge"`
	Load   *float64   `json:"load"`
	Weight *float64   `json:"weight"` // in the rate; the prior has the rest of 1
	Off    *float64   `json:"off"`    // standard deviations above the line
}

type curveJSON struct {
	Load *float64 `json:"load"`
	rangeJSON
}

func (s Style) forecastJSON(f *wear.Forecast) *forecastJSON {
	if f == nil {
		return nil
	}
	out := &forecastJSON{
		Of: string(f.Of), Unit: f.Unit, LoadUnit: f.LoadUnit, New: significant(f.New), Limit: significant(f.Limit),
		Prior: priorJSON{lineOf(f.Prior), f.Earlier, f.Guessed}, Readings: []weightJSON{}, Line: lineOf(f.Line),
		Load: figureOf(f.Load, 4), LastLoad: figureOf(f.Last, 4), Now: rangeOf(f.Now), Crossing: rangeOf(f.Crossing),
		Left: rangeOf(f.Left), Days: rangeOf(f.Days), PerDay: figureOf(f.PerDay, 4), Lead: figureOf(f.Lead, 4),
		Chance: figureOf(f.Chance, 4), Curve: []curveJSON{}, Turn: f.Turn,
	}
	for i := range f.Weights {
		out.Readings = append(out.Readings, s.weightJSON(&f.Weights[i]))
	}
	for _, b := range f.Band {
		out.Curve = append(out.Curve, curveJSON{figureOf(b.Load, 1), rangeOf(wear.Range{P10: &b.P10, P50: &b.P50, P90: &b.P90})})
	}
	return out
}

func (s Style) weightJSON(w *wear.Weight) weightJSON {
	r := s.readingJSON(w.Reading)
	out := weightJSON{At: r.At, Value: r.Value, Tool: r.Tool, Gauge: r.Gauge}
	if r.Gauge != nil {
		out.Value = nil
	}
	if w.Load < 0 {
		return out
	}
	out.Load, out.Weight = figureOf(w.Load, 4), figureOf(w.Share, 4)
	if r.Gauge == nil {
		out.Off = figureOf(w.Off, 4)
	}
	return out
}

func lineOf(l wear.Line) lineJSON {
	return lineJSON{significant(l.Start), significant(l.StartSD), significant(l.Rate), significant(l.RateSpread)}
}

// significant is a figure with six digits that count: rates are small.
func significant(v float64) *float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return figureOf(v, 0)
	}
	return figureOf(v, 5-int(math.Floor(math.Log10(math.Abs(v)))))
}
