package wear

import (
	"math"
	"strings"
)

// Means reports whether what was typed points at a reading that is in the book,
// so that one of several of a day can be named. Nothing typed points at any.
// The error is a *MeasureError.
func (s Sitting) Means(r Reading) (bool, error) {
	if s.Tool != "" && !strings.EqualFold(strings.TrimSpace(s.Tool), r.Tool) || s.Which != "" && strings.TrimSpace(s.Which) != r.Which {
		return false, nil
	}
	m := &measuring{s: s, text: strings.Join(s.Words, " "), of: r.Of}
	if s.gauged() {
		return r.Gauge != nil && isEnd(s.DropsIn, r.Gauge.In) && isEnd(s.StaysOut, r.Gauge.Out), nil
	}
	places, err := m.split()
	if err != nil || len(places) == 0 {
		return err == nil, err
	}
	mean := 0.0
	for _, p := range places {
		mean += p.value / float64(len(places))
	}
	return r.reads(mean, places[0].unit), nil
}

// isEnd reports whether a text, where there is one, is an end of a gauge.
func isEnd(text string, end float64) bool {
	v, ok := percentOf(text)
	return text == "" || ok && v == end
}

// reads reports whether a figure is the reading's, as far as it is printed.
func (r Reading) reads(v float64, unit string) bool {
	const shown = 0.0051 // half of the last digit
	switch {
	case r.Gauge != nil:
		return false
	case unit == "in":
		return math.Abs(v*mmPerInch-r.Length) < shown
	case unit == "mm" && r.Of == Elongation:
		return math.Abs(v-r.Length) < shown
	}
	return math.Abs(v-r.Value) < shown || r.Plate > 0 && math.Abs(v-r.Plate-r.Value) < shown
}
