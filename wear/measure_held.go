package wear

import (
	"fmt"
	"slices"
)

// Worst is the figure that is held against a limit: the most worn of several
// places, the end of a gauge that dropped in, else the value.
func (r Reading) Worst() float64 {
	switch {
	case r.Gauge != nil && r.Gauge.In > 0:
		return r.Gauge.In
	case len(r.Places) == 0:
		return r.Value
	case r.Of == Elongation:
		return slices.Max(r.Places)
	}
	return slices.Min(r.Places)
}

// Unit is % or mm.
func (r Reading) Unit() string { return Limit{Of: r.Of}.Unit() }

// Words says the reading in brief: "0.62 % by ruler"; "the 0.5 % end of a gauge
// dropped in".
func (r Reading) Words() string {
	switch {
	case r.Gauge != nil:
		return r.Gauge.String()
	case r.Tool == "":
		return fmt.Sprintf("%.2f %s", r.Value, r.Unit())
	}
	return fmt.Sprintf("%.2f %s by %s", r.Value, r.Unit(), r.Tool)
}

// held says the figure that is held against a limit, and how it came about.
func (r Reading) held() string {
	if r.Gauge != nil {
		return r.Gauge.String()
	}
	tool := r.Tool
	if tool == "" {
		tool = "hand"
	}
	out := fmt.Sprintf("measured %.4g %s by %s", r.Worst(), r.Unit(), tool)
	if n := len(r.Places); n > 1 {
		out += fmt.Sprintf(" at the worst of %d places", n)
	}
	return out
}

// String says what the ends did: "the 0.5 % end of a gauge dropped in, 0.75 %
// stayed out".
func (g Gauge) String() string {
	switch {
	case g.Out == 0:
		return fmt.Sprintf("the %g %% end of a gauge dropped in", g.In)
	case g.In == 0:
		return fmt.Sprintf("the %g %% end of a gauge stayed out", g.Out)
	}
	return fmt.Sprintf("the %g %% end of a gauge dropped in, %g %% stayed out", g.In, g.Out)
}

// deciding is the newest reading that decides about a limit; ok is false where
// there is none. A gauge whose ends do not tell on which side of it the part is
// takes nothing back of a reading before it that was at the limit.
func (p *partView) deciding(l *Limit) (r Reading, ok bool) {
	if l == nil {
		return p.lastReading()
	}
	for _, earlier := range slices.Backward(p.readings) {
		if !ok {
			r, ok = earlier, true
		} else if l.Reached(earlier.Worst(), l.Due) {
			r = earlier
		}
		if g := earlier.Gauge; g == nil || g.In >= l.Due || g.Out > 0 && g.Out <= l.Due {
			break
		}
	}
	return r, ok
}
