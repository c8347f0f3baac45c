package ingest

import (
	"math"

	"pawl/wear"
)

const (
	fastest   = 40  // m/s: nothing on a bike is faster
	quietGap  = 10  // s: a longer step is a gap in the recording …
	slowest   = 0.5 // m/s: … that counts only from this speed on …
	longGap   = 300 // s: … and not beyond this time
	stillTime = 20  // s: over which a standing bike …
	stillSpan = 6   // m: … gets no further than this
)

// travel fills the way of every step. The device's own odometer
// wins; where it is absent, was reset or leaps, positions take its place, and
// where there are none, speed.
func (r *reducer) travel() {
	last, top := -1, 0.0
	if !r.odometerStands() {
		for i := range r.samples {
			d := r.samples[i].Dist
			if !(d >= 0 && d < 1e8) {
				continue
			}
			switch delta := d - top; {
			case last < 0:
				r.byPosition(1, i)
			case delta < 0 && delta > -50: // a tremble, not a reset
				r.spread(last, i, 0)
				d = top
			case !r.spread(last, i, delta):
				r.byPosition(last+1, i)
			}
			last, top = i, d
		}
	}
	r.byPosition(last+1, len(r.samples)-1)
	r.odometer = last >= 0
}

// sumTravel adds up the steps. A device's total, less the share of the lifts,
// stands in where the samples have no odometer and it fits beside them.
func (r *reducer) sumTravel() {
	var sum float64
	known := false
	for _, d := range r.dist[1:] {
		if !math.IsNaN(d) {
			sum += d
			known = true
		}
	}
	total := r.total(r.track.Totals.Distance, wear.Distance)
	whole := sum + r.carried.way
	switch {
	case r.odometer || math.IsNaN(total):
	case known && total >= 0.9*whole-100 && total <= 1.3*whole+500:
		sum = total * share(sum, whole, 1)
	case !known && total <= fastest/2*r.moving:
		sum, known = total, true
	case known:
		r.unfit("distance", km(total), km(whole))
	default:
		r.unlikely("distance", km(total))
	}
	if r.jumps > 0 {
		r.note("%s left out", count(r.jumps, "position jump"))
	}
	if !known {
		r.lacks(wear.Distance)
		return
	}
	r.record(wear.Distance, sum)
}

// spread lays the odometer's difference over the steps after from up to to, in
// proportion to their time. It reports false where no bike could have done it.
func (r *reducer) spread(from, to int, delta float64) bool {
	span := r.t[to] - r.t[from]
	if delta < 0 || delta > fastest*max(span, 1)+10 {
		return false
	}
	for i := from + 1; i <= to; i++ {
		r.dist[i] = delta * share(r.gap[i], span, to-from)
	}
	return true
}

// share is part ÷ whole, or an equal share of n where the whole is nothing.
func share(part, whole float64, n int) float64 {
	if whole > 0 {
		return part / whole
	}
	return 1 / float64(n)
}

// odometerStands reports an odometer that stood still while the positions, one
// a minute and so at the least, tell of a ride.
func (r *reducer) odometerStands() bool {
	odo, rolled, least, last := math.Inf(1), 0.0, 0.0, -1
	for i := range r.samples {
		s := &r.samples[i]
		if s.Dist >= 0 {
			rolled += max(s.Dist-odo, 0)
			odo = s.Dist
		}
		if !s.located() || (last >= 0 && r.t[i]-r.t[last] < 60) {
			continue
		}
		if last >= 0 && r.t[i]-r.t[last] < longGap {
			e, n := geodesic(r.samples[last].Lat, r.samples[last].Lon, s.Lat, s.Lon)
			if d := far(e, n); d < fastest*(r.t[i]-r.t[last]) {
				least += d
			}
		}
		last = i
	}
	if math.IsInf(odo, 1) || rolled >= least/2 || least < 500 {
		return false
	}
	r.note("the device's odometer stood still: distance taken from positions")
	return true
}

// byPosition fills the steps lo to hi from positions, or from speed where none
// of them has a position.
func (r *reducer) byPosition(lo, hi int) {
	w := walk{r: r, at: -1, before: -1}
	lo = max(lo, 1)
	if lo > hi {
		return
	}
	if r.samples[lo-1].located() {
		w.at = lo - 1
	}
	found := false
	for i := lo; i <= hi; i++ {
		w.broken = w.broken || r.broken[i]
		if r.samples[i].located() {
			found = true
			w.to(i)
		}
	}
	w.settle(hi)
	if !found {
		r.bySpeed(lo, hi)
	}
}

// bySpeed fills the steps lo to hi from the recorded speed.
func (r *reducer) bySpeed(lo, hi int) {
	for i := lo; i <= hi; i++ {
		if v := r.samples[i].Speed; v >= 0 && v <= fastest {
			r.dist[i] = v * r.dt[i]
		}
	}
}

// walk goes from position to position. Its rule brought 37 of 40 real files
// within 2 % of the device's odometer, median 0.28 %; without it one jump made
// 9,797 %.
type walk struct {
	r      *reducer
	at     int  // the sample we stand at; -1 = none yet
	before int  // where we stood before the jump to at; -1 = no jump
	broken bool // something between at and here joins nothing

	from        int     // first step of the present stretch
	east, north float64 // m from its beginning
	span        float64 // m, the furthest that we got from its beginning
	time        float64 // s since its beginning
}

// to goes on to the position of sample i.
func (w *walk) to(i int) {
	r := w.r
	if w.at < 0 || w.broken {
		w.restart(i)
		return
	}
	e, n, ok := w.step(w.at, i)
	if !ok && w.before >= 0 { // the jump was one bad position: go past it
		e, n, ok = w.step(w.before, i)
	}
	if !ok {
		r.jumps++
		before := w.at
		w.restart(i)
		w.before = before
		return
	}
	w.before = -1
	gap := r.t[i] - r.t[w.at]
	d := far(e, n)
	if gap > quietGap {
		w.settle(i - 1)
		if d < slowest*gap || gap > longGap {
			d = 0
		}
		r.dist[i] = d
		w.restart(i)
		return
	}
	r.dist[i] = d
	w.at = i
	w.roam(e, n, gap)
}

// step is the way between the positions of two samples; not ok where no bike
// is as fast.
func (w *walk) step(from, to int) (east, north float64, ok bool) {
	a, b := &w.r.samples[from], &w.r.samples[to]
	east, north = geodesic(a.Lat, a.Lon, b.Lat, b.Lon)
	gap := max(w.r.t[to]-w.r.t[from], 1)
	return east, north, far(east, north) <= fastest*gap
}

// roam follows the stretch, and ends it after stillTime.
func (w *walk) roam(east, north, gap float64) {
	w.east += east
	w.north += north
	w.time += gap
	w.span = max(w.span, far(w.east, w.north))
	if w.time >= stillTime {
		w.settle(w.at)
		w.restart(w.at)
	}
}

// settle ends the stretch at step i: one that got nowhere was the receiver
// trembling, not the bike rolling.
func (w *walk) settle(i int) {
	if w.time < stillTime || w.span >= stillSpan {
		return
	}
	for k := w.from; k <= i; k++ {
		w.r.dist[k] = 0
	}
}

// restart begins a new stretch at sample i.
func (w *walk) restart(i int) {
	*w = walk{r: w.r, at: i, before: -1, from: i + 1}
}

// speeds fills the speed at the end of every step: as recorded, else the way
// over its time, evened out over 5 s because positions tremble.
func (r *reducer) speeds() {
	derived := 0
	for i := range r.samples {
		v := r.samples[i].Speed
		rolled := math.NaN()
		if r.gap[i] > 0 && !r.broken[i] {
			rolled = r.dist[i] / r.gap[i]
		}
		if !(v >= 0 && v <= fastest) || (v == 0 && rolled > 1) {
			if v > fastest {
				r.absurd++
			}
			v = min(rolled, fastest)
			derived++
		}
		r.v[i] = v
	}
	if derived > len(r.samples)/2 {
		copy(r.tmp, r.v)
		slideMean(r.t, r.tmp, r.v, 2.5)
	}
}
