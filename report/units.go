package report

import (
	"math"
	"strconv"
	"strings"
)

// Metres in the units of the imperial system (international yard, 1959: exact).
const (
	metresPerMile = 1609.344
	metresPerFoot = 0.3048
)

// unknown is what stands for a figure that is not known.
const unknown = "–"

// number is v with that many decimals and a comma between thousands.
func number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return unknown
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	sign := ""
	if s[0] == '-' {
		sign, s = "-", s[1:]
	}
	if strings.Trim(s, "0.") == "" {
		sign = "" // no minus before a nought that was rounded
	}
	whole, frac, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if frac != "" {
		frac = "." + frac
	}
	return sign + whole + frac
}

// figure is v as precise as a person reads it: one decimal below 100, none
// from there on; a whole number has none.
func figure(v float64) string {
	if math.Abs(v) >= 99.95 || v == math.Trunc(v) {
		return number(v, 0)
	}
	return number(v, 1)
}

// hundredths is v with no more decimals than it has, at most two.
func hundredths(v float64) string {
	s := number(v, 2)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// share is a share in whole per cent; what is not quite all is not shown as all.
func share(v float64) string {
	pc := v * 100
	if pc < 100 && pc >= 99.5 {
		return "99 %"
	}
	return number(pc, 0) + " %"
}

// distance turns metres into kilometres or miles, with their unit.
func (s Style) distance(m float64) string { return figure(s.longway(m)) + " " + s.longUnit() }

// height turns metres into metres or feet, with their unit.
func (s Style) height(m float64) string { return number(s.shortway(m), 0) + " " + s.shortUnit() }

func (s Style) longway(m float64) float64 {
	if s.Imperial {
		return m / metresPerMile
	}
	return m / 1000
}

func (s Style) shortway(m float64) float64 {
	if s.Imperial {
		return m / metresPerFoot
	}
	return m
}

func (s Style) longUnit() string {
	if s.Imperial {
		return "mi"
	}
	return "km"
}

func (s Style) shortUnit() string {
	if s.Imperial {
		return "ft"
	}
	return "m"
}

// clockHours is a duration in seconds as hours and minutes.
func clockHours(sec float64) string {
	m := int64(math.Round(sec / 60))
	return number(float64(m/60), 0) + ":" + strconv.FormatInt(100+m%60, 10)[1:]
}

// hours is a duration in seconds in hours.
func hours(sec float64) string { return figure(sec/3600) + " h" }

// energy is joules in kJ, from 10 MJ on in MJ.
func energy(j float64) string {
	if math.Abs(j) >= 10e6 {
		return figure(j/1e6) + " MJ"
	}
	return number(j/1000, 0) + " kJ"
}

// torque is a torque with its unit, which is never left out.
func torque(nm float64) string { return figure(nm) + " N·m" }

// Bytes is the size of a file as people read it: in kB or MB of a thousand.
func Bytes(n int64) string {
	if n < 1_000_000 {
		return figure(float64(n)/1000) + " kB"
	}
	return figure(float64(n)/1e6) + " MB"
}
