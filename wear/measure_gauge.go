package wear

import (
	"fmt"
	"strings"
)

// mostEnd is the longest end of a gauge, in per cent, that is believed.
const mostEnd = 1.5

const gaugeForms = "--drops-in 0.5 --stays-out 0.75, or one of them alone, in per cent as they stand on the gauge"

// gaugeText is what was typed of a gauge, for messages.
func (s Sitting) gaugeText() string {
	var out []string
	if s.DropsIn != "" {
		out = append(out, "--drops-in "+s.DropsIn)
	}
	if s.StaysOut != "" {
		out = append(out, "--stays-out "+s.StaysOut)
	}
	return strings.Join(out, " ")
}

// gaugeOnly refuses what does not go with the ends of a gauge.
func (m *measuring) gaugeOnly() error {
	switch {
	case m.of != Elongation:
		return m.err("a gauge with ends is for chains", m.forms())
	case len(m.s.Words) > 0:
		return m.err("a figure and the ends of a gauge", "enter each by itself: a gauge gives no figure")
	case m.tool != "" && m.tool != toolGauge:
		return m.err(fmt.Sprintf("a %s has no ends that drop in", m.tool), "leave --tool out, or enter what it read")
	case m.s.Pitches != 0:
		return m.err("a gauge needs no pitches", gaugeForms)
	case m.s.Points != 0 && m.s.Points != 2 && m.s.Points != 3:
		return m.err(fmt.Sprintf("--points %d: a gauge touches the chain at 2 or 3", m.s.Points), "3 where it takes up the play of the rollers, else 2")
	}
	return nil
}

// gauge reads the ends of a go/no-go gauge: an interval.
func (m *measuring) gauge() (Reading, error) {
	g := Gauge{Points: m.s.Points}
	for _, end := range []struct {
		text string
		to   *float64
	}{{m.s.DropsIn, &g.In}, {m.s.StaysOut, &g.Out}} {
		if end.text == "" {
			continue
		}
		v, ok := percentOf(end.text)
		if !ok || v <= 0 || v > mostEnd {
			return Reading{}, m.err(fmt.Sprintf("%q is no end of a gauge: they are between 0 and %g %%", end.text, mostEnd), gaugeForms)
		}
		*end.to = v
	}
	if g.In > 0 && g.Out > 0 && g.In >= g.Out {
		return Reading{}, m.err(fmt.Sprintf("the %g %% end dropped in, so no end of %g %% stayed out%s", g.In, g.Out, m.known.lastly(Reading{Of: Elongation, At: m.s.At})),
			"the end with the larger figure is the last to drop in: the other way round?")
	}
	if g.Points == 2 {
		m.note("a gauge with two points reads the play of the rollers too, about %g %%: a caliper tells more", rollerPlay)
	}
	return Reading{Value: g.middle(), Gauge: &g, Tool: toolGauge}, nil
}

// middle is the middle of what the ends tell, as they stand on the gauge:
// between 0 and an end that stayed out; an end that dropped in alone is itself.
func (g Gauge) middle() float64 {
	if g.Out == 0 {
		return g.In
	}
	return (g.In + g.Out) / 2
}
