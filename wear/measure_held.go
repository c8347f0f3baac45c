package wear

import (
	"fmt"
	"slices"
)

// Worst is the figure that is held against a limit: the most worn of several
// places, the end of a gauge that dropped in (0 where none did: no more is
// known), else the value.
func (r Reading) Worst() float64 {
	switch {
	case r.Gauge != nil:
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

// Words says the reading in brief: "0.62 % by ruler"; "at least 0.5 % by gauge"
// or "below 0.25 % by gauge" where one end told.
func (r Reading) Words() string {
	switch {
	case r.Gauge != nil:
		return r.Gauge.bound()
	case r.Tool == "":
		return fmt.Sprintf("%.2f %s", r.Value, r.Unit())
	}
	return fmt.Sprintf("%.2f %s by %s", r.Value, r.Unit(), r.Tool)
}

// held says the figure that is held against a limit, and how it came about.
func (r Reading) held() string {
	switch g := r.Gauge; {
	case g != nil && g.open():
		return fmt.Sprintf("below %g %%: %s", g.Out, g)
	case g != nil:
		return g.String()
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

// bound says what is known by a gauge.
func (g Gauge) bound() string {
	switch {
	case g.Out == 0:
		return fmt.Sprintf("at least %g %% by gauge", g.In)
	case g.open():
		return fmt.Sprintf("below %g %% by gauge", g.Out)
	}
	return g.String()
}

// figure says a reading after "the last reading": " of 0.42 %"; a gauge gives
// no figure, so what it told.
func (r Reading) figure() string {
	if r.Gauge != nil {
		return ", " + r.Words()
	}
	return fmt.Sprintf(" of %.3g %s", r.Value, r.Unit())
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

// deciding is the reading that decides whether a part is due; ok is false where
// there is none.
func (p *partView) deciding(l *Limit) (r Reading, ok bool) {
	if l == nil {
		return p.lastReading()
	}
	return p.decidingAt(l.Due)
}

// decidingAt is the reading that decides whether the figure at of a limit is
// reached. A figure takes the place of what was read before it. A gauge tells
// bounds only: it takes back an earlier reading where an end that is no longer
// than either stayed out, and else stands only where it tells of more wear.
func (p *partView) decidingAt(at float64) (r Reading, ok bool) {
	for _, next := range p.readings {
		if !ok || next.Gauge == nil || next.Worst() >= r.Worst() || next.Gauge.denies(r.Worst(), at) {
			r, ok = next, true
		} else if next.Gauge.In >= at {
			r.At = next.At // said anew that it is reached: counts after a decline
		}
	}
	return r, ok
}

// denies reports whether an end that stayed out says that a part is not as worn
// as a figure, and not at a limit either.
func (g Gauge) denies(figure, limit float64) bool {
	return g.Out > 0 && g.Out <= min(figure, limit)
}

// open reports whether nothing dropped in: then no figure is known.
func (g Gauge) open() bool { return g.In == 0 }
