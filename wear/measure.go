package wear

import (
	"fmt"
	"slices"
	"strings"
)

// Sitting is what a user says of one sitting with a tool, as it was typed.
type Sitting struct {
	Kind    string    // of the part
	At      Instant   // of the reading
	Words   []string  // the figures, of one place or several: 0.62%, 12 1/16in, 128.1mm/10, 1.8mm
	Of      ReadingOf // what they are said to be; "" = what the kind is measured by
	Tool    string    // ruler, caliper or gauge; "" = not said
	Which   string    // the one of several such tools
	Pitches int       // that a length was measured over; 0 = not said

	DropsIn, StaysOut string // the ends of a gauge, in per cent; "" = not said
	Points            int    // of the gauge: 2 or 3; 0 = not said

	WithPlate bool   // a lining was measured with its plate
	Plate     string // how thick the plate is; "" = not said

	Note     string
	Sure     bool // it is past oddElongation, and meant
	Doubtful bool // to be kept, but out of the sums
}

// MeasureError is a reading that cannot be taken as it was typed.
type MeasureError struct {
	Text string // as typed
	Why  string
	Tip  string
}

// Error says what is wrong with the reading.
func (e *MeasureError) Error() string { return fmt.Sprintf("reading %q: %s", e.Text, e.Why) }

// Hint says what to type instead.
func (e *MeasureError) Hint() string { return e.Tip }

// Tools that give a figure.
var Tools = []string{toolRuler, toolCaliper}

const (
	toolRuler   = "ruler"
	toolCaliper = "caliper"
	toolGauge   = "gauge" // go and no-go: it gives no figure
)

// Read makes a reading of what was typed, in the light of what is known of the
// part. Notes say what was assumed. Errors are a *MeasureError where the text
// is wrong, a *ContradictionError where it cannot be true beside the known.
// The reading has no part yet.
func (s Sitting) Read(k Known) (r Reading, notes []string, err error) {
	m := &measuring{s: s, known: k, text: strings.Join(s.Words, " ")}
	if m.s.gauged() && m.text == "" {
		m.text = s.gaugeText()
	}
	if err := m.check(); err != nil {
		return Reading{}, nil, err
	}
	switch {
	case s.gauged():
		r, err = m.gauge()
	case m.of == Elongation:
		r, err = m.chain()
	default:
		r, err = m.millimetres()
	}
	if err != nil {
		return Reading{}, nil, err
	}
	r.At, r.Of, r.Which, r.Doubtful = s.At, m.of, strings.TrimSpace(s.Which), s.Doubtful
	r.Note = strings.TrimSpace(s.Note)
	if err := m.believe(r); err != nil {
		return Reading{}, nil, err
	}
	return r, m.notes, nil
}

// gauged reports whether the ends of a gauge were given.
func (s Sitting) gauged() bool { return s.DropsIn != "" || s.StaysOut != "" }

// measuring is a reading on its way from what was typed.
type measuring struct {
	s      Sitting
	known  Known
	text   string // as typed
	of     ReadingOf
	tool   string
	places []place
	notes  []string
}

func (m *measuring) err(why, tip string) error { return &MeasureError{m.text, why, tip} }

func (m *measuring) note(format string, args ...any) {
	m.notes = append(m.notes, fmt.Sprintf(format, args...))
}

// Forms of readings, for hints.
const (
	chainForms = "0.62% with --tool ruler or caliper, 306.4mm/24 (length over pitches), 12 1/16in, or --drops-in 0.5 --stays-out 0.75 of a gauge"
	againTip   = "measure again, clean and taut, from pin edge to the same edge"
	plateTip   = "measure the lining without its plate, or give both: --with-plate --plate 2.0mm"
)

func (m *measuring) forms() string {
	if m.of == Elongation {
		return chainForms
	}
	return fmt.Sprintf("the %s in millimetres, as 1.8mm", m.of)
}

// check finds what is measured and by what, and refuses what does not go together.
func (m *measuring) check() error {
	k := Default().kind(m.s.Kind)
	if k == nil || k.Measurable() == "" {
		return m.err(fmt.Sprintf("a part of kind %q is looked at, not measured", m.s.Kind), "pawl look BIKE PART good|watch|replace|unsafe")
	}
	m.of = k.Measurable()
	if m.s.Of != "" && m.s.Of != m.of {
		return m.err(fmt.Sprintf("a part of kind %q has no %s", m.s.Kind, m.s.Of), m.forms())
	}
	m.tool = strings.ToLower(strings.TrimSpace(m.s.Tool))
	if err := m.plated(); err != nil {
		return err
	}
	if m.s.gauged() {
		return m.gaugeOnly()
	}
	switch {
	case m.tool == toolGauge:
		return m.err("a gauge gives no figure: it only tells which end drops in", "--drops-in 0.5, --stays-out 0.75, or both")
	case m.tool != "" && !slices.Contains(Tools, m.tool):
		return m.err(fmt.Sprintf("tool %q is not one of ruler, caliper, gauge", m.s.Tool), m.forms())
	case m.s.Points != 0:
		return m.err("--points is said of a gauge", "--drops-in 0.5 --stays-out 0.75 --points 2")
	case m.text == "":
		return m.err("nothing was read", m.forms())
	}
	var err error
	m.places, err = m.split()
	return err
}

// plated refuses a plate where there is no lining.
func (m *measuring) plated() error {
	if m.of != Lining && (m.s.WithPlate || m.s.Plate != "") {
		return m.err("a plate is measured with brake lining only", m.forms())
	}
	return nil
}

// take makes a reading of the places: their mean, and each where there are several.
func take(values []float64) (r Reading) {
	for _, v := range values {
		r.Value += v / float64(len(values))
	}
	if len(values) > 1 {
		r.Places = values
	}
	return r
}
