package report

import (
	"strings"

	"pawl/wear"
)

// Letters of the plot of a forecast.
const (
	letterBand, letterLine, letterLimit, letterToday = ':', '*', '-', '|'
	letterRead, letterIn, letterOut                  = 'o', '^', 'v'
)

// Of the plot of a forecast.
const (
	plotWidest = 100
	plotMargin = "  "
	plotBeyond = 0.35 // of the way to the limit, shown past it
)

// plot adds wear against load: the limit, the readings as points, the line and
// the range in which it lies in eight cases of ten.
func (p *whyPage) plot() {
	f := p.e.Forecast
	if f == nil || len(f.Weights) == 0 || len(f.Band) < 2 {
		return
	}
	g := &plot{x1: f.Band[len(f.Band)-1].Load}
	g.y0, g.y1 = plotSpan(f)
	left := plotLeft(g, f)
	g.clear(min(p.width(), plotWidest) - len(plotMargin) - widest(left) - len(" |"))
	for c := range g.cols() {
		b := bandAt(f.Band, g.x(c))
		g.fill(c, b.P10, b.P90, letterBand)
		g.put(c, g.row(f.Limit), letterLimit, " :")
		g.put(c, g.row(b.P50), letterLine, "")
	}
	for r := range plotRows {
		g.put(g.col(f.Load), r, letterToday, " :-")
	}
	for i := range f.Weights {
		g.reading(&f.Weights[i])
	}
	p.gap()
	for _, l := range g.lines(left, p.plotBelow(g, f)) {
		p.line(plotMargin, l)
	}
	p.para(plotMargin, p.legend(f))
}

// plotSpan are the least and the greatest figure shown: from new to well past
// the limit, and every reading.
func plotSpan(f *wear.Forecast) (y0, y1 float64) {
	far := f.Limit + plotBeyond*(f.Limit-f.New)
	y0, y1 = min(f.New, far, f.Line.Start), max(f.New, far, f.Line.Start)
	for _, w := range f.Weights {
		if w.Reading.Gauge == nil {
			y0, y1 = min(y0, w.Reading.Value), max(y1, w.Reading.Value)
		}
	}
	return y0, y1
}

// bandAt is the range at a load between two of its points.
func bandAt(band []wear.BandPoint, load float64) wear.BandPoint {
	i := 1
	for i < len(band)-1 && band[i].Load < load {
		i++
	}
	a, b := band[i-1], band[i]
	t := (load - a.Load) / (b.Load - a.Load)
	mix := func(x, y float64) float64 { return x + t*(y-x) }
	return wear.BandPoint{Load: load, P10: mix(a.P10, b.P10), P50: mix(a.P50, b.P50), P90: mix(a.P90, b.P90)}
}

// reading marks what was read, of a gauge each end that told.
func (g *plot) reading(w *wear.Weight) {
	if w.Load < 0 {
		return // on an earlier bike: another axis
	}
	c, r := g.col(w.Load), &w.Reading
	if r.Gauge == nil {
		g.put(c, g.row(r.Value), letterRead, "")
		return
	}
	if r.Gauge.In > 0 {
		g.put(c, g.row(r.Gauge.In), letterIn, "")
	}
	if r.Gauge.Out > 0 {
		g.put(c, g.row(r.Gauge.Out), letterOut, "")
	}
}

// plotLeft are the readings beside the plot, the limit among them.
func plotLeft(g *plot, f *wear.Forecast) []tick {
	var list []tick
	for _, y := range ticks(g.y0, g.y1, 4) {
		if at := g.row(y); at != g.row(f.Limit) {
			list = append(list, tick{at, hundredths(y) + " " + f.Unit})
		}
	}
	return append(list, tick{g.row(f.Limit), "limit " + hundredths(f.Limit) + " " + f.Unit})
}

// plotBelow are the loads below the plot.
func (p *whyPage) plotBelow(g *plot, f *wear.Forecast) []tick {
	var list []tick
	m := p.measure(f.LoadUnit, g.x1)
	for _, x := range ticks(0, g.x1/m.by, 5) {
		list = append(list, tick{g.col(x * m.by), m.write(x)})
	}
	return list
}

// legend says what the letters mean.
func (p *whyPage) legend(f *wear.Forecast) string {
	said := []string{"below: " + p.loadUnit(p.measure(f.LoadUnit, f.Band[len(f.Band)-1].Load).unit)}
	seen := map[byte]bool{}
	for i := range f.Weights {
		if r := &f.Weights[i].Reading; r.Gauge == nil {
			seen[letterRead] = true
		} else {
			seen[letterIn], seen[letterOut] = seen[letterIn] || r.Gauge.In > 0, seen[letterOut] || r.Gauge.Out > 0
		}
	}
	for _, l := range []struct {
		letter byte
		means  string
	}{{letterRead, "read"}, {letterIn, "dropped in"}, {letterOut, "stayed out"}} {
		if seen[l.letter] {
			said = append(said, string(l.letter)+" "+l.means)
		}
	}
	return strings.Join(append(said, "* line", ": 8 cases of 10", "| today"), "; ")
}
