package ingest

import (
	"fmt"
	"math"
	"slices"
	"strconv"
)

// Where a lift begins and ends.
const (
	vehicleSpeed = 8   // m/s: faster than any cable of a bike lift
	vehicleReach = 300 // s within which a vehicle has set off or stops
	halt         = 5   // s of standing: somebody gets in or out
	uprightRise  = 0.8 // m of rise for a m of way: no cable is steeper
	hangTime     = 600 // s: a stopped lift, no more …
	hangWay      = 30  // m: … and no further …
	hangRise     = 5   // m: … and no higher
)

// wholeWay is the lift from where a vehicle set off to where it stopped; the
// ends of a lift on a cable are its own.
func (r *reducer) wholeWay(l lift) lift {
	if r.way(l) < vehicleSpeed*(r.t[l.to]-r.t[l.from]) {
		return l
	}
	return lift{r.standstill(l.from, -1), r.standstill(l.to, 1)}
}

// standstill is the next sample from at on, or back, at which the bike stands
// or the ride ends; at itself where neither comes within reach, or only after a
// descent: that was ridden.
func (r *reducer) standstill(at, way int) int {
	stood, since := 0.0, at
	for k := at; math.Abs(r.t[k]-r.t[at]) <= vehicleReach; k += way {
		if k+way < 0 || k+way >= len(r.t) {
			return k
		}
		i := max(k, k+way) // the step that leads on
		switch {
		case r.broken[i] || r.cut[i]:
			return k
		case r.pedalled(i), float64(way)*(r.h[at]-r.h[k+way]) > hangRise:
			return at
		case r.v[i] > slowest:
			stood, since = 0, k+way
			continue
		}
		if stood += r.gap[i]; stood >= halt {
			return since
		}
	}
	return at
}

// hung reports whether the bike only hung in a stopped lift between two samples.
func (r *reducer) hung(from, to int) bool {
	if r.t[to]-r.t[from] > hangTime || math.Abs(r.h[to]-r.h[from]) > hangRise {
		return false
	}
	for i := from + 1; i <= to; i++ {
		if r.broken[i] || r.pedalled(i) {
			return false
		}
	}
	return r.way(lift{from, to}) <= hangWay
}

// way is how far a lift went, in m.
func (r *reducer) way(l lift) float64 {
	way := 0.0
	for _, d := range r.dist[l.from+1 : l.to+1] {
		if d > 0 {
			way += d
		}
	}
	return way
}

// upright reports whether the run was too steep for its way to be true; but a
// wheel that counts the way may have hung still.
func (r *reducer) upright(l lift) bool {
	known := func(d float64) bool { return !math.IsNaN(d) }
	way := r.way(l)
	return uprightRise*way < r.h[l.to]-r.h[l.from] && (way > hangWay || !slices.ContainsFunc(r.dist[l.from+1:l.to+1], known))
}

// cutOut takes the lifts out of the columns, but for what a sensor heard being
// pedalled in them, and says so.
func (r *reducer) cutOut(lifts []lift, joined int) {
	c := &r.carried
	for _, l := range lifts {
		begin := -1
		for i := l.from + 1; i <= l.to; i++ {
			if r.pedalled(i) {
				begin = -1
				continue
			}
			if begin < 0 {
				begin = i
				c.pieces = append(c.pieces, lift{from: i - 1})
			}
			c.pieces[len(c.pieces)-1].to = i
			c.time += r.dt[i]
			if d := r.dist[i]; d > 0 {
				c.way += d
			}
			r.dt[i], r.dist[i], r.cut[i] = 0, 0, true
		}
		if up := r.h[l.to] - r.h[l.from]; up > 0 {
			c.up += up
		}
	}
	r.moving = sum(r.dt)
	if r.heard > 0 {
		before := r.heard
		r.hear()
		c.heard = max(before-r.heard, 0)
	}
	r.note("%s cut out: %s, %s m up, %s min",
		count(len(lifts)-joined, "lift"), km(c.way), thousands(c.up), thousands(c.time/60))
}

// hear finds anew for how much of the ride the altitude is known.
func (r *reducer) hear() {
	r.heard = 0
	last, gap := -1, 0.0
	for i := range r.samples {
		gap += r.gap[i]
		if !isAltitude(r.samples[i].Alt) {
			continue
		}
		if last >= 0 && gap <= longestStep {
			r.heard += sum(r.dt[last+1 : i+1])
		}
		last, gap = i, 0
	}
}

// ground is the line of altitudes without what the lifts rose and fell.
func (r *reducer) ground() []float64 {
	if len(r.carried.pieces) == 0 {
		return r.h
	}
	pieces, shift := r.carried.pieces, 0.0
	for i := range r.h {
		for len(pieces) > 0 && i > pieces[0].to {
			pieces = pieces[1:]
		}
		if len(pieces) > 0 && i > pieces[0].from {
			shift += r.h[i] - r.h[i-1]
		}
		r.tmp[i] = r.h[i] - shift
	}
	return r.tmp
}

// thousands is a whole number with commas.
func thousands(x float64) string {
	x = math.Round(x)
	s := strconv.FormatFloat(x, 'f', 0, 64)
	if n := len(s); n > 3 {
		return fmt.Sprintf("%s,%s", thousands(math.Floor(x/1000)), s[n-3:])
	}
	return s
}
