package wear

import (
	"strconv"
	"strings"
)

// place is a figure of one place, as typed.
type place struct {
	value   float64
	unit    string // "%", "mm", "in" or ""
	pitches int    // 0 = not given
}

// The parts of a figure. A comma stands for a point within a number, and
// divides places elsewhere.
var (
	mixedForm = onUse(`^(?:([0-9]{1,3})(?:\s+|\s*-\s*))?([0-9]{1,3})/([0-9]{1,3})`)
	plainForm = onUse(`^[-+]?(?:[0-9]+(?:[.,][0-9]+)?|\.[0-9]+)`)
	unitForm  = onUse(`^\s*(%|mm\b|in(?:ch(?:es)?)?\b|"|″)`)
	overForm  = onUse(`^\s*/\s*([0-9]+)`)
	gapForm   = onUse(`^(?:\s*[,;]\s*|\s+)`)
	twoForm   = onUse(`^[0-9]{3},[0-9]{3}$`)
)

// What is typed at one sitting at most.
const (
	mostText   = 400
	mostPlaces = 20
)

// split reads the figures of all places. What one place lacks it takes from
// the others: "306.2 306.4mm/24".
func (m *measuring) split() ([]place, error) {
	rest := strings.TrimSpace(m.text)
	if len(rest) > mostText {
		return nil, m.err("too long for a reading", m.forms())
	}
	var all []place
	for rest != "" {
		p, left, err := m.place(rest)
		if err != nil {
			return nil, err
		}
		all = append(all, p)
		gap := gapForm().FindString(left)
		if gap == "" && left != "" || len(all) > mostPlaces {
			return nil, m.err("not a reading", m.forms())
		}
		rest = left[len(gap):]
	}
	return m.alike(all)
}

// place reads one figure off the front of the text.
func (m *measuring) place(text string) (p place, rest string, err error) {
	if p.value, rest = fraction(text); rest == text {
		number := plainForm().FindString(text)
		if f := mixedForm().FindStringSubmatch(text); f != nil && f[1] != "" && len(f[2]) < 3 {
			return p, "", m.err("a fraction that is not of inches", m.forms()) // 12 1/16
		}
		if twoForm().MatchString(number) {
			return p, "", m.err("one figure or two?", "a point before decimals, a space between places: 306mm 307mm")
		}
		if p.value, err = strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64); err != nil {
			return p, "", m.err("not a reading", m.forms())
		}
		rest = text[len(number):]
	}
	if u := unitForm().FindStringSubmatch(rest); u != nil {
		p.unit, rest = u[1], rest[len(u[0]):]
		if p.unit != "%" && p.unit != "mm" {
			p.unit = "in"
		}
	}
	if o := overForm().FindStringSubmatch(rest); o != nil {
		if p.pitches, err = strconv.Atoi(o[1]); err != nil || p.pitches < leastPitches || p.pitches > mostPitches {
			return p, "", m.span(o[1])
		}
		rest = rest[len(o[0]):]
	}
	return p, rest, nil
}

// fraction reads inches with a fraction, 12 1/16in, off the front of the text;
// rest is all of it where there is none.
func fraction(text string) (inches float64, rest string) {
	f := mixedForm().FindStringSubmatch(text)
	if f == nil {
		return 0, text
	}
	var n [3]float64
	for i := range n {
		n[i], _ = strconv.ParseFloat(f[i+1], 64) // digits, or nothing: 0
	}
	rest = text[len(f[0]):]
	u := unitForm().FindStringSubmatch(rest)
	if n[1] >= n[2] || u == nil || u[1] == "%" || u[1] == "mm" {
		return 0, text
	}
	return n[0] + n[1]/n[2], rest
}

// alike gives all places of a sitting the unit and the pitches that some have,
// and refuses them where they differ.
func (m *measuring) alike(all []place) ([]place, error) {
	unit, pitches := "", m.s.Pitches
	for _, p := range all {
		switch {
		case p.unit != "" && unit != "" && p.unit != unit:
			return nil, m.err("places in different units", "write all in mm, or enter each by itself")
		case p.pitches != 0 && pitches != 0 && p.pitches != pitches:
			return nil, m.err("pitches given twice: "+strconv.Itoa(pitches)+" and "+strconv.Itoa(p.pitches), m.forms())
		}
		if p.unit != "" {
			unit = p.unit
		}
		if p.pitches != 0 {
			pitches = p.pitches
		}
	}
	for i := range all {
		all[i].unit, all[i].pitches = unit, pitches
	}
	return all, nil
}

// percentOf reads a percentage that a flag gives: 0.5, 0.5% or 0,5.
func percentOf(text string) (float64, bool) {
	text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "%"))
	if plainForm().FindString(text) != text {
		return 0, false
	}
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	return v, err == nil
}
