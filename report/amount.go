package report

import (
	"math"

	"pawl/wear"
)

// measure is how a unit of a finding is shown.
type measure struct {
	by    float64 // shown = amount / by
	unit  string
	write func(float64) string
}

// millions is the amount from which counts are told in millions.
const millions = 1_000_000

func whole(v float64) string { return number(v, 0) }

// measure says how amounts of a unit are shown where the greatest of them is top.
func (s Style) measure(unit string, top float64) measure {
	switch unit {
	case "m":
		if s.Imperial {
			return measure{metresPerMile, "mi", figure}
		}
		return measure{1000, "km", figure}
	case "s":
		return measure{3600, "h", figure}
	case "J":
		return measure{1e6, "MJ", hundredths}
	case "%", "mm":
		return measure{1, unit, hundredths}
	case "days", "rides":
		return measure{1, unit, figure}
	}
	if top >= millions {
		return measure{1e6, "M " + unit, hundredths}
	}
	return measure{1, unit, whole}
}

// amount is an amount of a finding's unit, with that unit.
func (s Style) amount(v float64, unit string) string {
	m := s.measure(unit, v)
	out := m.write(v / m.by)
	if v/m.by == 1 {
		return out + " " + singular(m.unit)
	}
	return out + " " + m.unit
}

// singular is the unit behind a 1.
func singular(unit string) string {
	switch unit {
	case "days", "rides", "turns", "idler turns", "pulley turns", "contacts":
		return unit[:len(unit)-1]
	}
	return unit
}

// used is how much of the limit is used: "6.2 of 25 h"; empty where the job
// has neither figure nor limit.
func (s Style) used(f *wear.Finding) string {
	switch {
	case f.Unit == "" || f.Limit == 0:
		return ""
	case f.Basis == wear.ByReading:
		return s.amount(f.Used, f.Unit) + ", limit " + s.amount(f.Limit, f.Unit)
	}
	m := s.measure(f.Unit, max(f.Used, f.Limit))
	limit := m.write(f.Limit / m.by)
	unit := m.unit
	if limit == "1" {
		unit = singular(unit)
	}
	return m.write(f.Used/m.by) + " of " + limit + " " + unit
}

// limit is the limit of a finding with its unit. Round limits of counts are told in millions from a tenth of one on: "0.5 M
// idler turns".
func (s Style) limit(f *wear.Finding) string {
	m := s.measure(f.Unit, f.Limit)
	if m.by == 1 && f.Limit >= millions/10 && math.Mod(f.Limit, millions/100) == 0 {
		return hundredths(f.Limit/millions) + " M " + m.unit
	}
	return s.amount(f.Limit, f.Unit)
}

// data is what must be said of the data behind a figure, empty for recorded.
func data(f *wear.Finding) string {
	switch {
	case f.Basis != wear.ByCount || f.Limit == 0:
		return ""
	case f.Data == wear.DataEstimated:
		return "estimated"
	case f.Data == wear.DataMixed:
		return "partly estimated"
	}
	return ""
}
