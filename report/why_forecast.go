package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pawl/wear"
)

// normal90 is the ninth decile of a standard normal.
const normal90 = 1.2815515655446004

// oddOff is how many standard deviations off its line a reading is said to be.
const oddOff = 2.5

// forecast is how a part that can be measured wears and when it comes to its
// limit: what was taken of it before, the readings, the line, the range.
func (p *whyPage) forecast(noPlot bool) {
	f := p.e.Forecast
	if f == nil {
		return
	}
	p.head("Forecast")
	p.fact("prior", p.prior(f))
	p.weights(f)
	if len(f.Weights) > 0 {
		p.fact("line", p.trend(f))
	}
	p.fact("limit", p.crossing(f))
	p.fact("use", p.use(f))
	p.fact("date", p.odds(f))
	p.fact("what if", f.Turn)
	if p.weighted() {
		p.fact("ground", p.ground())
	}
	if !noPlot {
		p.plot()
	}
}

// fact is a line behind its name.
func (p *whyPage) fact(name, text string) {
	if text != "" {
		p.para("  "+name+strings.Repeat(" ", 9-width(name)), text)
	}
}

// kind is the schedule's kind of the part.
func (p *whyPage) kind() wear.Kind {
	k, _ := wear.Default().Kind(p.e.Finding.Kind)
	return k
}

// weighted reports whether loads of the part count by the ground.
func (p *whyPage) weighted() bool {
	k := p.kind()
	if slices.ContainsFunc(k.Factors[:wear.Trainer], func(v float64) bool { return v != 1 }) {
		return true
	}
	for _, c := range p.e.Counts {
		if slices.ContainsFunc(c.Grounds, func(g wear.GroundUse) bool { return g.Factor != 1 }) {
			return true
		}
	}
	return false
}

// ground says how loads are weighted, a motor included.
func (p *whyPage) ground() string {
	k, motor := p.kind(), 1.0
	for _, c := range p.e.Counts {
		for _, g := range c.Grounds {
			if own := k.Factors[g.Ground]; own > 0 && g.Factor > 0 {
				motor = g.Factor / own
			}
		}
	}
	in := func(g wear.Ground) string { return hundredths(motor * k.Factors[g]) }
	return fmt.Sprintf("weighted: what was ridden counts × %s in the dry, %s unmarked, %s in the wet, %s in mud",
		in(wear.Dry), in(wear.Unmarked), in(wear.Wet), in(wear.Mud))
}

// loadUnit is the unit of a load, which says where it is weighted.
func (p *whyPage) loadUnit(unit string) string {
	if !p.weighted() {
		return unit
	}
	if rest, ok := strings.CutPrefix(unit, "M "); ok {
		return "M weighted " + rest
	}
	return "weighted " + unit
}

// load is an amount of load with its unit.
func (p *whyPage) load(v float64, unit string) string {
	figure, name, _ := strings.Cut(p.amount(v, unit), " ")
	return figure + " " + p.loadUnit(name)
}

// about is a load as precise as a forecast is: three figures.
func (p *whyPage) about(v float64, unit string) string { return p.load(p.rounded(v, unit), unit) }

// rounded has three figures in the unit that is shown.
func (s Style) rounded(v float64, unit string) float64 {
	by := s.measure(unit, v).by
	return figures3(v/by) * by
}

// aboutOnly is about without the unit, for the second of two loads.
func (p *whyPage) aboutOnly(v float64, unit string) string {
	figure, name, _ := strings.Cut(p.amount(p.rounded(v, unit), unit), " ")
	if strings.HasPrefix(name, "M ") {
		figure += " M"
	}
	return figure
}

// figures3 rounds to three figures.
func figures3(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	p := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	return math.Round(v/p) * p
}

// lasts is the load that takes a part along a line to the limit.
func lasts(f *wear.Forecast, l wear.Line) float64 { return max(0, (f.Limit-l.Start)/l.Rate) }

// prior is what was taken of the part before anything was read of it.
func (p *whyPage) prior(f *wear.Forecast) string {
	life, spread := lasts(f, f.Prior), math.Exp(normal90*f.Prior.RateSpread)
	out := fmt.Sprintf("%s %s as it came (± %s), %s %s at about %s (8 cases of 10: %s – %s)",
		hundredths(f.Prior.Start), f.Unit, hundredths(f.Prior.StartSD), hundredths(f.Limit), f.Unit,
		p.about(life, f.LoadUnit), p.aboutOnly(life/spread, f.LoadUnit), p.aboutOnly(life*spread, f.LoadUnit))
	switch {
	case f.Earlier > 0:
		out += ", updated by " + plural(f.Earlier, "earlier one", "earlier ones") + " of this bike"
	case f.Guessed:
		out += ", a guess: the schedule does not say what such a part lasts"
	}
	return out
}

// weights is a row for each reading: when, what it said, at which load, and its
// weight in the rate; the prior has the rest.
func (p *whyPage) weights(f *wear.Forecast) {
	if len(f.Weights) == 0 {
		return
	}
	rest := 1.0
	rows := make([][]string, 0, len(f.Weights)+1)
	for i := range f.Weights {
		w := &f.Weights[i]
		rest -= w.Share
		at, weight := unknown, unknown
		if w.Load >= 0 {
			at, weight = p.loadOnly(w.Load, f.LoadUnit), share(w.Share)
		}
		rows = append(rows, []string{"", p.fullDay(w.Reading.At), saidOf(w), at, weight})
	}
	rows = append(rows, []string{"", "", "the prior", "", share(rest)})
	p.table([]column{
		{title: "       "}, {title: "read on"}, {title: "said", least: 12},
		{title: p.loadUnit(p.measure(f.LoadUnit, 0).unit), right: true}, {title: "of the rate", right: true},
	}, rows)
}

// loadOnly is a load in the unit of a column's head.
func (p *whyPage) loadOnly(v float64, unit string) string {
	m := p.measure(unit, 0)
	return m.write(v / m.by)
}

// saidOf is a reading in brief, and what is odd about it.
func saidOf(w *wear.Weight) string {
	r := &w.Reading
	out := r.Words()
	if r.Gauge != nil {
		out = figureText(*r)
	}
	if n := len(r.Places); n > 1 {
		out += fmt.Sprintf(", mean of %d", n)
	}
	switch {
	case w.Load < 0:
		out += ", on an earlier bike: how it came to this one"
	case w.Off > oddOff:
		out += ", far above the line"
	case w.Off < -oddOff:
		out += ", far below the line"
	}
	return clean(out)
}

// trend is the line through the readings and where it stands today.
func (p *whyPage) trend(f *wear.Forecast) string {
	m := p.measure(f.LoadUnit, lasts(f, f.Line))
	per := math.Pow(10, math.Floor(math.Log10(max(1e-6, lasts(f, f.Line)/m.by/5)))) * m.by
	out := fmt.Sprintf("%s %s as it came, then %s %s for every %s", hundredths(f.Line.Start), f.Unit,
		figures2(math.Abs(f.Line.Rate)*per), f.Unit, strings.TrimPrefix(p.load(per, f.LoadUnit), "1 "))
	if f.Now.P50 != nil {
		out += fmt.Sprintf("; now, at %s, about %s %s (%s – %s)", p.load(f.Load, f.LoadUnit),
			hundredths(*f.Now.P50), f.Unit, hundredths(*f.Now.P10), hundredths(*f.Now.P90))
	}
	return out
}

// figures2 is a small figure with two that count.
func figures2(v float64) string { return fmt.Sprintf("%.2g", v) }

// crossing is the load at which the limit is reached.
func (p *whyPage) crossing(f *wear.Forecast) string {
	limit := hundredths(f.Limit) + " " + f.Unit
	c := f.Crossing
	switch {
	case c.P10 == nil:
		return limit + ": too far ahead to tell"
	case c.P50 == nil:
		return limit + " not before " + p.about(*c.P10, f.LoadUnit) + " in 9 cases of 10"
	}
	out := limit + " at about " + p.about(*c.P50, f.LoadUnit)
	if left := *c.P50 - f.Load; left > 0 {
		out += ", " + p.aboutOnly(left, f.LoadUnit) + " from now"
	} else {
		out += ", which is past"
	}
	if c.P90 == nil {
		return out + "; in 9 cases of 10 not before " + p.aboutOnly(*c.P10, f.LoadUnit)
	}
	return out + "; in 8 cases of 10 between " + p.aboutOnly(*c.P10, f.LoadUnit) + " and " + p.aboutOnly(*c.P90, f.LoadUnit)
}

// use is how the bike was ridden lately, which makes a date of a load.
func (p *whyPage) use(f *wear.Forecast) string {
	r := p.e.Recent
	if f.PerDay <= 0 || r.Last == wear.Ever {
		return "the bike was not ridden in the last 12 weeks: no date"
	}
	out := "about " + p.about(f.PerDay, f.LoadUnit) + " a day"
	if r.Unit == f.LoadUnit && r.Days > 0 {
		out += fmt.Sprintf(": %s in the last %s, newer weeks weigh more", p.aboutOnly(r.Used, r.Unit), plural(int(math.Round(r.Days)), "day", "days"))
	}
	return out + "; last ride " + p.fullDay(r.Last)
}

// odds is the date with its range, and how likely the limit comes within the
// time in which a part is ordered.
func (p *whyPage) odds(f *wear.Forecast) string {
	if p.e.Finding.Verdict >= wear.Due {
		return ""
	}
	var out []string
	if when := p.when(&p.e.Finding); when != "" {
		out = append(out, "about "+when)
	}
	if len(f.Weights) > 0 && f.PerDay > 0 {
		out = append(out, fmt.Sprintf("%s likely to be reached within %s", likelihood(f.Chance), plural(int(f.Lead), "day", "days")))
	}
	return strings.Join(out, "; ")
}

// likelihood is a probability in per cent; what may be is not shown as never.
func likelihood(v float64) string {
	if v < 0.005 {
		return "less than 1 %"
	}
	return share(v)
}
