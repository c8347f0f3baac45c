package ingest

import (
	"math"

	"pawl/wear"
)

// How climb is found. On 40 outdoor rides a 9 s mean and turning points of 2 m
// came to 6.5 % of the device's own climb, bias +0.1 %; plain sums to 40 %,
// bias +35 %. The optimum is flat: 5–15 s, 1.5–3 m. No standard exists.
const (
	steepest  = 15  // m/s: a faster change of altitude is a fault
	meanHalf  = 4.5 // s on either side of the mean
	turnPoint = 2   // m: a smaller change of direction is noise
	stopped   = 10  // m: more, while the timer stood still, was not ridden
)

// altitudes fills the altitude at the end of every step and finds for how much
// of the ride it is known. Faults, what changes between segments, and lifts
// with the timer stopped move the level and not the climb.
func (r *reducer) altitudes() {
	last, gap, cut, broken := -1, 0.0, false, false
	x, faults, flat := r.tmp, 0, true
	for i := range r.samples {
		a := r.samples[i].Alt
		cut, broken = cut || r.cut[i], broken || r.broken[i]
		gap += r.gap[i]
		if !isAltitude(a) {
			continue
		}
		if last < 0 {
			x[i] = a
			fill(x[:i+1], a)
		} else {
			d := a - r.samples[last].Alt
			flat = flat && d == 0
			switch {
			case broken, cut && math.Abs(d) > stopped:
				d = 0
			case math.Abs(d) > steepest*max(gap, 1):
				d = 0
				faults++
			}
			x[i] = x[last] + d
			r.bridge(last, i)
			if gap <= longestStep {
				r.heard += sum(r.dt[last+1 : i+1])
			}
		}
		last, gap, cut, broken = i, 0, false, false
	}
	if last < 0 || (flat && r.moving > 300) {
		r.heard = 0
		return
	}
	fill(x[last:], x[last])
	slideMean(r.t, x, r.h, meanHalf)
	if faults > 0 {
		r.note("%s left out", count(faults, "altitude leap"))
	}
}

// isAltitude reports whether a is an altitude on earth.
func isAltitude(a float64) bool { return a > -500 && a < 9000 }

// bridge joins two known altitudes by a straight line over time.
func (r *reducer) bridge(from, to int) {
	x := r.tmp
	for i := from + 1; i < to; i++ {
		x[i] = x[from] + (x[to]-x[from])*share(r.t[i]-r.t[from], r.t[to]-r.t[from], to-from)
	}
}

func fill(x []float64, with float64) {
	for i := range x {
		x[i] = with
	}
}

func sum(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v
	}
	return s
}

// slideMean writes to out the mean of x over half seconds on either side, in
// one pass. Values that are not known stay out of it and stay unknown.
func slideMean(t, x, out []float64, half float64) {
	lo, hi, n := 0, 0, 0
	var s float64
	for i := range x {
		for ; hi < len(x) && t[hi] <= t[i]+half; hi++ {
			if !math.IsNaN(x[hi]) {
				s += x[hi]
				n++
			}
		}
		for ; t[lo] < t[i]-half; lo++ {
			if !math.IsNaN(x[lo]) {
				s -= x[lo]
				n--
			}
		}
		out[i] = x[i]
		if n > 0 && !math.IsNaN(x[i]) {
			out[i] = s / float64(n)
		}
	}
}

// zigzag is what a line of altitudes rises and falls in all, where a turn
// counts only once it exceeds the threshold.
func zigzag(h []float64, threshold float64) (up, down float64) {
	if len(h) == 0 {
		return 0, 0
	}
	low, high, way := h[0], h[0], 0 // a leg runs from low to high, or back
	for _, x := range h {
		if way >= 0 {
			high = max(high, x)
		}
		if way <= 0 {
			low = min(low, x)
		}
		switch {
		case way <= 0 && x-low > threshold:
			down -= float64(way) * (high - low)
			high, way = x, 1
		case way >= 0 && high-x > threshold:
			up += float64(way) * (high - low)
			low, way = x, -1
		}
	}
	switch way {
	case 1:
		up += high - low
	case -1:
		down += high - low
	}
	return up, down
}

// climbs sums rise and fall. A device's total wins where it fits beside the
// altitudes; indoors there is neither.
func (r *reducer) climbs() {
	if r.track.Indoor {
		r.record(wear.Climb, 0)
		r.record(wear.Descent, 0)
		return
	}
	known := r.coverage()
	var up, down, allUp, allDown float64
	if known > 0 {
		up, down = zigzag(r.h, turnPoint)
		if allUp, allDown = up, down; len(r.carried.pieces) > 0 {
			up, down = zigzag(r.ground(), turnPoint)
			up, down = min(up, allUp), min(down, allDown)
		}
	}
	r.rise(wear.Climb, rise{r.track.Totals.Climb, up, allUp, known})
	r.rise(wear.Descent, rise{r.track.Totals.Descent, down, allDown, known})
	switch {
	case known == 0:
		r.note("no altitude")
	case known < enough:
		r.note("altitude recorded for %s of the ride", percent(known))
	}
}

// coverage is for how much of the ride the altitude is known, lifts and all:
// what was not heard of is taken to have as many of them.
func (r *reducer) coverage() float64 {
	heard := r.heard + r.carried.heard
	if heard == 0 {
		return 0
	}
	return share(heard, r.moving+r.carried.time, 1)
}

// rise is what is known of climb or descent before it is settled.
type rise struct {
	total    float64 // m, the device's own; lifts are in it
	measured float64 // m
	all      float64 // m, with the lifts
	known    float64 // of the moving time
}

// rise settles climb or descent: the device's total less the share that lifts
// have in it, else the measured part and, in proportion to time, an estimate of
// what was not heard of.
func (r *reducer) rise(q wear.Quantity, x rise) {
	total := r.total(x.total, q)
	whole := x.all / x.known // NaN where nothing is known
	switch {
	case x.known == 0 && total > 0 && total <= 0.3*r.out.Recorded.SI(wear.Distance),
		math.Abs(total-whole) <= max(50, 0.5*max(total, whole)):
		r.record(q, total*share(x.measured, x.all, 1))
		return
	case x.known == 0 && total > 0:
		r.unlikely(q.String(), metres(total))
	case x.known > 0 && !math.IsNaN(total):
		r.unfit(q.String(), metres(total), metres(whole))
	}
	if x.known > 0 {
		r.record(q, x.measured)
	}
	switch {
	case x.known < leastKnown:
		r.lacks(q)
	case x.known < enough:
		r.estimate(q, x.measured/x.known-x.measured)
	}
}
