package wear

import (
	"cmp"
	"math"
)

// toolError is what a tool errs by: in mm at random and by a bias that all its
// readings share, over the pitches that are usual for it.
type toolError struct {
	mm, biasMM float64
	pitches    int
}

// Common practice, no published source: a ruler's 0.2 mm in 24 pitches is 0.07
// %, a caliper's 0.05 mm in 10 pitches 0.04 %.
var (
	rulerError   = toolError{0.2, 0.14, 24}
	caliperError = toolError{0.05, 0.034, 10}
)

// What a gauge errs by, in per cent: the softness of its edges, its bias, and
// what a gauge of two points reads of roller play.
const (
	gaugeSoft  = 0.04
	gaugeBias  = 0.02
	rollerPlay = 0.2
	rollerSpan = 0.1
)

// errorOf is the error of a tool; of one that is not known, a ruler's.
func errorOf(tool string) toolError {
	if tool == "caliper" {
		return caliperError
	}
	return rulerError
}

// of is the random error of a reading and its bias, in the unit of the reading.
func (t toolError) of(r *Reading) (random, bias float64) {
	per := 1.0
	if r.Of == Elongation {
		per = 100 / (Pitch * float64(cmp.Or(r.Pitches, t.pitches)))
	}
	return t.mm * per / math.Sqrt(float64(max(1, len(r.Places)))), t.biasMM * per
}

// gaugeBiasOf is the bias of a gauge by the points that it touches the chain
// at; where nobody said how many, it may be either sort.
func gaugeBiasOf(points int) toolBias {
	switch points {
	case 2:
		return toolBias{rollerPlay, math.Hypot(gaugeBias, rollerSpan)}
	case 3:
		return toolBias{sd: gaugeBias}
	}
	return toolBias{rollerPlay / 2, math.Hypot(math.Hypot(gaugeBias, rollerSpan), rollerPlay/2)}
}

// gait is how parts of a sort wear: with the load, and past the knee faster.
// Straight wear is wear at the pace before the knee: it goes with the load.
type gait struct {
	new, sign float64 // wear = sign × (reading - new)
	knee      float64 // +Inf = wear never speeds up
	limit     float64 // straight wear at the limit
}

// Chains speed up once the hardened skin of the pins is gone (Sadagopan et al.
// 2007 and chain-guide.com say so without figures; where and how much is common
// practice, no published source).
const (
	chainKnee   = 0.6  // %
	chainFaster = 1.25 // times
)

func gaitOf(l *Limit) gait {
	g := gait{new: l.New, sign: -1, knee: math.Inf(1)}
	if l.Rises() {
		g.sign = 1
	}
	if l.Of == Elongation {
		g.knee = chainKnee
	}
	g.limit = g.straight(l.Due)
	return g
}

// straight turns a reading into straight wear.
func (g gait) straight(v float64) float64 {
	w := g.sign * (v - g.new)
	if w > g.knee {
		return g.knee + (w-g.knee)/chainFaster
	}
	return w
}

// spread is the error of straight wear made from a reading with the error sd:
// past the knee by how much wear speeds up is not known either, but that
// matters the less the nearer the reading is to the limit itself.
func (g gait) spread(w, sd float64) float64 {
	over, near := w-g.knee, 1.0
	if over <= 0 {
		return sd
	}
	if way := g.limit - g.knee; way > 0 {
		near = max(speedLeast, 1-over/way)
	}
	return math.Hypot(sd/chainFaster, speedSD*over*near)
}

// reading turns straight wear into what a tool would read.
func (g gait) reading(w float64) float64 {
	if w > g.knee {
		w = g.knee + (w-g.knee)*chainFaster
	}
	return g.new + g.sign*w
}

// left is what a tool would still read until a limit, never below 0.
func (g gait) left(w, limit float64) float64 {
	return max(0, g.sign*(limit-g.reading(w)))
}

// toolID is what makes two readings share a bias.
type toolID struct {
	tool, which string
	points      int // of a gauge; -1 = not a gauge
}

// taker turns readings into evidence.
type taker struct {
	gait  gait
	e     evidence
	ids   []toolID
	taken []reader
}

// reader is where a reading stands in the evidence; -1 = not there.
type reader struct {
	load         float64
	exact, gauge int
}

// tool is the index of a tool, which is added where it is new.
func (t *taker) tool(id toolID, bias toolBias) int {
	for i, known := range t.ids {
		if known == id {
			return i
		}
	}
	t.ids, t.e.tools = append(t.ids, id), append(t.e.tools, bias)
	return len(t.ids) - 1
}

// take adds a reading that was made at a load.
func (t *taker) take(r *Reading, load float64) {
	if r.Gauge == nil {
		sd, bias := errorOf(r.Tool).of(r)
		w := t.gait.straight(r.Value)
		i := t.tool(toolID{r.Tool, r.Which, -1}, toolBias{sd: bias})
		t.taken = append(t.taken, reader{load, len(t.e.exact), -1})
		t.e.exact = append(t.e.exact, exactReading{load: load, wear: w, sd: t.gait.spread(w, sd), tool: i})
		return
	}
	g := gaugeReading{load: load, in: math.Inf(-1), out: math.Inf(1), sd: gaugeSoft,
		tool: t.tool(toolID{r.Tool, r.Which, r.Gauge.Points}, gaugeBiasOf(r.Gauge.Points))}
	if r.Gauge.In > 0 {
		g.in = t.gait.straight(r.Gauge.In)
	}
	if r.Gauge.Out > 0 {
		g.out = t.gait.straight(r.Gauge.Out)
	}
	t.taken = append(t.taken, reader{load, -1, len(t.e.gauged)})
	t.e.gauged = append(t.e.gauged, g)
}
