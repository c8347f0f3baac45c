package wear

import (
	"fmt"
	"math"
	"strconv"
)

// Elongations, in per cent, up to which a reading of a chain is believed: past
// 1.5 % the chain mounts the teeth, so the figure is asked about; past 5 % it
// is none. (General drives: 1.5 to 3 % is the end of any chain.)
const (
	oddElongation  = 1.5
	mostElongation = 5.0
)

// Pitches over which a length can be measured: over fewer the error of the
// tool is as large as the wear, and no bicycle's chain has more.
const (
	leastPitches = 8
	mostPitches  = 150
)

// spanOfCaliper is about the longest that a caliper reaches, in mm.
const spanOfCaliper = 160

const mmPerInch = 25.4

// chain reads an elongation.
func (m *measuring) chain() (Reading, error) {
	switch m.places[0].unit {
	case "%":
		return m.percent()
	case "mm", "in":
		return m.length()
	}
	return Reading{}, m.err("no unit", m.forms())
}

func (m *measuring) percent() (Reading, error) {
	if m.places[0].pitches != 0 {
		return Reading{}, m.err("a percentage needs no pitches", m.forms())
	}
	if m.tool == "" {
		if v := m.places[0].value; v == 0.5 || v == 0.75 || v == 1 {
			return Reading{}, m.err("measured, or the end of a gauge that dropped in? that only tells that the chain is past it",
				fmt.Sprintf("of a gauge: --drops-in %g, and --stays-out with the end that did not; else --tool ruler or caliper", v))
		}
		return Reading{}, m.err("measured with what?", "add --tool ruler or --tool caliper")
	}
	values := make([]float64, len(m.places))
	for i, p := range m.places {
		values[i] = p.value
	}
	r := take(values)
	r.Tool = m.tool
	return r, nil
}

func (m *measuring) length() (Reading, error) {
	long := make([]float64, len(m.places))
	mean := 0.0
	for i, p := range m.places {
		long[i] = p.value
		if p.unit == "in" {
			long[i] *= mmPerInch
		}
		mean += long[i] / float64(len(long))
	}
	n, err := m.over(mean)
	if err != nil {
		return Reading{}, err
	}
	values := make([]float64, len(long))
	for i := range long {
		values[i] = PercentElongated(long[i], n)
	}
	r := take(values)
	r.Length, r.Pitches, r.Tool = mean, n, m.tool
	if r.Tool == "" {
		r.Tool = m.toolFor(mean)
	}
	return r, nil
}

// over is the number of pitches that a length was measured over. Inches come
// from a ruler laid at 0: "12 in and a bit" is 24 pitches.
func (m *measuring) over(mm float64) (int, error) {
	n := m.places[0].pitches
	switch {
	case n != 0 && (n < leastPitches || n > mostPitches):
		return 0, m.span(strconv.Itoa(n))
	case n != 0:
		return n, nil
	}
	n = 2 * int(math.Floor(mm/(2*Pitch)+0.05))
	if n < leastPitches || n > mostPitches {
		return 0, m.err("over how many pitches?", m.forms())
	}
	fits := PercentElongated(mm, n)
	if m.places[0].unit == "in" && fits <= mostElongation {
		m.note("taken as measured over %d pitches, %d in when new; --pitches N where not", n, n/2)
		return n, nil
	}
	tip := m.forms()
	if fits > -mostElongation && fits <= oddElongation {
		tip = fmt.Sprintf("it would be %.2f %% over --pitches %d; count them", fits, n)
	}
	return 0, m.err("over how many pitches?", tip)
}

// span refuses a number of pitches.
func (m *measuring) span(n string) error {
	return m.err(fmt.Sprintf("%s pitches: not between %d and %d", n, leastPitches, mostPitches), m.forms())
}

// toolFor is what a length was measured with where that was not said.
func (m *measuring) toolFor(mm float64) string {
	tool := toolRuler
	if m.places[0].unit == "mm" && mm < spanOfCaliper {
		tool = toolCaliper
	}
	m.note("taken as measured by %s; --tool says which", tool)
	return tool
}

// believe refuses what no part reads, and what cannot be true beside what is known.
func (m *measuring) believe(r Reading) error {
	if err := m.fitted(r); err != nil {
		return err
	}
	if r.Of == Elongation && r.Gauge == nil {
		for _, v := range append([]float64{r.Value}, r.Places...) {
			if err := m.possible(r, v); err != nil {
				return err
			}
		}
	}
	if r.Doubtful {
		return nil
	}
	return m.consistent(r)
}

// possible refuses an elongation that no chain has.
func (m *measuring) possible(r Reading, v float64) error {
	again := againTip
	if r.Pitches > 0 {
		again += fmt.Sprintf("; %d new pitches are %.1f mm: count them", r.Pitches, float64(r.Pitches)*Pitch)
	}
	switch {
	case v < -mostElongation:
		return m.err(fmt.Sprintf("%.2f %%: shorter than a new chain, and no tool errs so far%s", v, m.known.lastly(r)), again)
	case v > mostElongation:
		return m.err(fmt.Sprintf("%.2f %%: no chain is that long%s", v, m.known.lastly(r)), again)
	case m.s.Doubtful:
		return nil
	case v < -r.erring():
		return m.err(fmt.Sprintf("%.2f %%: shorter than a new chain by more than a %s errs%s", v, r.Tool, m.known.lastly(r)), again)
	case v > oddElongation && !m.s.Sure:
		return m.err(fmt.Sprintf("%.2f %%: longer than a chain that still runs%s", v, m.known.lastly(r)),
			again+"; if it is so: --sure, and change it before the next ride")
	}
	return nil
}
