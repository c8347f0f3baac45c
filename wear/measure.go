package wear

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

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

// Tools that chains and linings are measured with.
var Tools = []string{"ruler", "caliper"}

// Elongations, in per cent, between which a reading of a chain is believed.
// A new chain may be up to 0.15 % long (ISO 606, from memory), and no tool errs
// by as much the other way; past 1.5 % the chain mounts the teeth, so the
// figure is asked about; past 5 % it is none.
const (
	leastElongation = -0.15
	oddElongation   = 1.5
	mostElongation  = 5.0
)

const chainForms = "0.62% with --tool ruler or caliper, 306.4mm/24 (length over pitches), or 306.4mm with --pitches 24"

var measureForm = regexp.MustCompile(`^\s*([-+]?[0-9]+(?:[.,][0-9]+)?)\s*(%|mm)?\s*(?:/\s*([0-9]+))?\s*$`)

// ParseMeasure reads what a tool said of a part of a kind: "0.62%" with its
// tool or "306.4mm/24" for a chain (pitches can come apart), "1.8mm" for a
// lining, a rotor or a knob. The reading has neither part nor instant yet.
// Errors are of type *MeasureError.
func ParseMeasure(kind, text, tool string, pitches int) (Reading, error) {
	m := &measuring{text: text, tool: strings.ToLower(strings.TrimSpace(tool)), pitches: pitches}
	k := Default().kind(kind)
	if k == nil || k.Measurable() == "" {
		return Reading{}, m.err(fmt.Sprintf("a part of kind %q is looked at, not measured", kind), "pawl look BIKE PART good|watch|replace|unsafe")
	}
	m.of = k.Measurable()
	if m.tool != "" && !slices.Contains(Tools, m.tool) {
		return Reading{}, m.err(fmt.Sprintf("tool %q is not one of ruler, caliper", tool), m.forms())
	}
	if err := m.split(); err != nil {
		return Reading{}, err
	}
	if m.of == Elongation {
		return m.elongation()
	}
	return m.millimetres()
}

// measuring is a reading on its way from what was typed.
type measuring struct {
	text, tool string
	of         ReadingOf
	value      float64
	unit       string // %, mm or nothing
	pitches    int    // 0 = not given
}

func (m *measuring) err(why, tip string) error { return &MeasureError{m.text, why, tip} }

func (m *measuring) forms() string {
	if m.of == Elongation {
		return chainForms
	}
	return fmt.Sprintf("the %s in millimetres, as 1.8mm", m.of)
}

func (m *measuring) split() error {
	f := measureForm.FindStringSubmatch(m.text)
	if f == nil {
		return m.err("not a reading", m.forms())
	}
	var err error
	if m.value, err = strconv.ParseFloat(strings.Replace(f[1], ",", ".", 1), 64); err != nil {
		return m.err("not a figure", m.forms())
	}
	m.unit = f[2]
	if f[3] == "" {
		return nil
	}
	n, err := strconv.Atoi(f[3])
	if err != nil || m.pitches != 0 && m.pitches != n {
		return m.err(fmt.Sprintf("pitches given twice: %s and %d", f[3], m.pitches), m.forms())
	}
	m.pitches = n
	return nil
}

// elongation reads a chain.
func (m *measuring) elongation() (Reading, error) {
	switch m.unit {
	case "%":
		return m.percent()
	case "mm":
		return m.length()
	}
	return Reading{}, m.err("no unit", m.forms())
}

func (m *measuring) percent() (Reading, error) {
	if m.pitches != 0 {
		return Reading{}, m.err("a percentage needs no pitches", m.forms())
	}
	if m.tool == "" {
		if v := m.value; v == 0.5 || v == 0.75 || v == 1 {
			return Reading{}, m.err("measured, or the end of a gauge that dropped in? that only tells that the chain is past it",
				"measure with a ruler or caliper: "+chainForms)
		}
		return Reading{}, m.err("measured with what?", "add --tool ruler or --tool caliper")
	}
	return m.chain(Reading{Of: Elongation, Value: m.value, Tool: m.tool})
}

// least pitches over which a length is worth anything: a ruler's 0.2 mm is 0.2 % there.
const leastPitches = 8

func (m *measuring) length() (Reading, error) {
	switch {
	case m.pitches == 0:
		return Reading{}, m.err("over how many pitches?", m.forms())
	case m.pitches < leastPitches || m.pitches > 150:
		return Reading{}, m.err(fmt.Sprintf("%d pitches: not between %d and 150", m.pitches, leastPitches), m.forms())
	}
	tool := m.tool
	if tool == "" {
		tool = "ruler"
	}
	return m.chain(Reading{Of: Elongation, Value: PercentElongated(m.value, m.pitches), Tool: tool, Length: m.value, Pitches: m.pitches})
}

// chain refuses what no chain reads.
func (m *measuring) chain(r Reading) (Reading, error) {
	again := "measure again, taut, from pin edge to the same edge"
	if r.Pitches > 0 {
		again = fmt.Sprintf("%d new pitches are %.1f mm: %s; count the pitches", r.Pitches, float64(r.Pitches)*Pitch, again)
	}
	switch v := r.Value; {
	case v < leastElongation:
		return Reading{}, m.err(fmt.Sprintf("%.2f %%: shorter than a new chain", v), again)
	case v > mostElongation:
		return Reading{}, m.err(fmt.Sprintf("%.2f %%: no chain is that long", v), again)
	case v > oddElongation:
		return Reading{}, m.err(fmt.Sprintf("%.2f %%: longer than a chain that still runs", v), again+"; if it is so, record: pawl look BIKE chain replace")
	}
	return r, nil
}

// most is what a part of each sort measures at most, in mm: a set of pads with
// its plates is thicker, and so told apart.
var mostMillimetres = map[ReadingOf]float64{Lining: 3.5, Thickness: 3, Knob: 10}

func (m *measuring) millimetres() (Reading, error) {
	if m.unit != "mm" || m.pitches != 0 {
		return Reading{}, m.err("not millimetres", m.forms())
	}
	if most := mostMillimetres[m.of]; m.value < 0 || m.value > most {
		tip := m.forms()
		if m.of == Lining {
			tip = "measure the lining without its plate"
		}
		return Reading{}, m.err(fmt.Sprintf("a %s is between 0 and %g mm", m.of, most), tip)
	}
	tool := m.tool
	if tool == "" {
		tool = "caliper"
	}
	return Reading{Of: m.of, Value: m.value, Tool: tool}, nil
}
