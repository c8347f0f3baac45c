package report

import (
	"encoding/json"
	"io"
	"math"

	"pawl/wear"
)

// Version is the version of the machine output. Fields may be added under the
// same number; it rises when one changes its meaning or goes.
const Version = 1

// envelope is what every JSON object starts with.
type envelope struct {
	Version  int      `json:"version"`
	Warnings []string `json:"warnings"`
}

func enclose(warnings []string) envelope {
	return envelope{Version, list(warnings)}
}

// writeJSON writes one object, indented, without escaping <, > and &, and
// with a newline at the end.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// list is never nil: an empty array is written as [], not null.
func list[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}

// figureOf is a figure for JSON with that many decimals, nil where it is not
// known.
func figureOf(v float64, decimals int) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = round(v, decimals)
	return &v
}

// textOf is nil for the empty string.
func textOf(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func round(v float64, decimals int) float64 {
	p := math.Pow10(decimals)
	if r := math.Round(v*p) / p; !math.IsInf(r, 0) {
		return r + 0 // no minus before nought
	}
	return v
}

// loadJSON is a load in metres, seconds, turns and joules.
type loadJSON struct {
	Distance *float64 `json:"distance"`
	Climb    *float64 `json:"climb"`
	Descent  *float64 `json:"descent"`
	Moving   *float64 `json:"moving"`
	Turns    *float64 `json:"turns"`
	Work     *float64 `json:"work"`
	Braking  *float64 `json:"braking"`
}

// loadOf leaves out what lacks.
func loadOf(l wear.Load, lacking wear.Set) loadJSON {
	var v [wear.NQuantities]*float64
	for q := range wear.NQuantities {
		if !lacking.Has(q) {
			v[q] = figureOf(l.SI(q), 3)
		}
	}
	return loadJSON{v[0], v[1], v[2], v[3], v[4], v[5], v[6]}
}
