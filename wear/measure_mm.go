package wear

import "fmt"

// What a part of each sort measures, in mm: a lining with its plate is thicker
// than any lining, and so told apart.
var soundMillimetres = map[ReadingOf]struct{ least, most float64 }{Lining: {0, 3.5}, Thickness: {0.5, 3}, Knob: {0, 10}}

// Plates, in mm, that are believed.
const (
	leastPlate = 0.5
	mostPlate  = 4.0
	plateSlack = 0.1 // by which lining and plate may seem thinner than the plate
)

// millimetres reads a lining, a rotor or a knob.
func (m *measuring) millimetres() (Reading, error) {
	plate, err := m.plate()
	if err != nil {
		return Reading{}, err
	}
	values := make([]float64, len(m.places))
	for i, p := range m.places {
		if p.unit != "mm" || p.pitches != 0 {
			return Reading{}, m.err("not millimetres", m.forms())
		}
		if values[i], err = m.sound(p.value, plate); err != nil {
			return Reading{}, err
		}
	}
	r := take(values)
	r.Plate, r.Tool = plate, m.tool
	if r.Tool == "" {
		r.Tool = toolCaliper
		m.note("taken as measured by caliper; --tool says which")
	}
	return r, nil
}

// sound takes the plate off and refuses what no such part measures.
func (m *measuring) sound(mm, plate float64) (float64, error) {
	v, of := mm-plate, soundMillimetres[m.of]
	switch {
	case plate > 0 && v < 0 && v >= -plateSlack:
		return 0, nil // worn down to the plate
	case plate > 0 && v < 0:
		return 0, m.err(fmt.Sprintf("thinner than its plate of %g mm", plate), "--plate says how thick the plate is")
	case plate > 0 && v > of.most:
		return 0, m.err(fmt.Sprintf("%.3g mm of lining on a plate of %g mm: a lining is between 0 and %g mm", v, plate, of.most), "--plate says how thick the plate is")
	case v >= of.least && v <= of.most:
		return v, nil
	case m.of == Lining:
		return 0, m.err(fmt.Sprintf("a lining is between 0 and %g mm", of.most), plateTip)
	}
	return 0, m.err(fmt.Sprintf("a %s is between %g and %g mm", m.of, of.least, of.most), m.forms())
}

// plate is how thick the plate is that was measured with the lining; 0 = none.
func (m *measuring) plate() (float64, error) {
	switch {
	case m.s.Plate != "":
		own := &measuring{s: Sitting{Kind: m.s.Kind}, text: m.s.Plate, of: Lining}
		p, err := own.split()
		if err != nil || len(p) != 1 || p[0].unit != "mm" || p[0].pitches != 0 || p[0].value < leastPlate || p[0].value > mostPlate {
			return 0, m.err(fmt.Sprintf("plate %q: not between %g and %g mm", m.s.Plate, leastPlate, mostPlate), "--plate 2.0mm")
		}
		return p[0].value, nil
	case !m.s.WithPlate:
		return 0, nil
	case m.known.Plate == 0:
		return 0, m.err("how thick is its plate?", "--plate 2.0mm (the maker says, or a worn-out pad); it is remembered for this part and the next of its model")
	}
	m.note("a plate of %g mm was taken off, as known from an earlier reading; --plate where not", m.known.Plate)
	return m.known.Plate, nil
}
