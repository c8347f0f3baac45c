package ingest

import (
	"math"
	"slices"
	"sort"
	"strings"

	"pawl/wear"
)

// How lifts are told from riding. What a step took at the least is compared
// with what a strong rider has, both in m of climb: 0.42 m/s for as long as it
// takes (1,500 m/h; 60 s windows above it, without cadence and shifts, found
// the lifts of a bike-park ride and nothing in four others), and 20 m more once
// (a rider's reserve of about 20 kJ at 100 kg; from memory). A level road at
// more than 15 m/s is beyond that too.
const (
	riderRate    = liftRate // m/s that a strong rider climbs for long
	motorRate    = 1.2      // m/s that rider and motor together do not (common practice, no published source)
	riderReserve = 20       // m: a sprint
	surely       = 2        // m instead, where a living sensor says that nobody pedals
	steadyRate   = 0.1      // m/s from which a rise is a climb, where every climb was a lift
	longClimb    = 30       // m above that from which such a climb is long
	patience     = 25       // m below its best at which a lift is over: a minute's halt
	climbPause   = 10       // m, the same where every climb was a lift
	shortestLift = 60       // s
	fastestLift  = 5        // m/s of climb
	pedalCost    = 1        // m for each second of pedalling
	shiftCost    = 10       // m for a gear change

	// The best of bikes on the best of roads, so that nothing a rider did is
	// taken for more: tarmac, tucked in, somebody's wheel (common practice).
	leastCrr   = 0.005
	leastAir   = 1.7e-4 // 1/m·(s/m)²: ρ·CdA ÷ 2·m·g for 1.2 kg/m³, 0.25 m², 90 kg
	worstSlope = 0.12   // downhill, where altitude is not known

	lifeSpan   = 600 // s around a lift in which a living sensor is heard
	mostSilent = 0.9 // of a lift for which that sensor must say zero
	shiftsLost = 4   // gear changes that riding as long would have had
)

// evenTimes is what the reader of GPX says where the times are made up: they
// tell nothing of how fast a climb was.
const evenTimes = "no times in the file: spread evenly over the hours given"

// lift is a run of steps from+1 to to, in which the bike was carried.
type lift struct{ from, to int }

// carried is what was cut out of a ride.
type carried struct {
	pieces []lift  // in order and apart; what was pedalled in a lift is not in them
	time   float64 // s
	heard  float64 // s of it with known altitude
	way    float64 // m
	up     float64 // m, net of each lift
}

// uplift finds lifts and shuttles with the computer running and cuts them out:
// their steps take no time and lead nowhere.
func (r *reducer) uplift() {
	every := r.model.Uplift == wear.AllUplift
	switch {
	case r.track.Indoor || r.model.Uplift == wear.NoUplift:
		return
	case !every && slices.Contains(r.track.Warnings, evenTimes):
		return
	}
	s := search{r: r, every: every, shifts: r.shifts(), motor: r.motorised()}
	s.least, s.most, s.pause = surely, riderReserve, patience
	if every {
		s.least, s.most, s.pause = longClimb, longClimb, climbPause
	}
	s.all()
	if len(s.found) > 0 {
		r.cutOut(s.found, s.joined)
	}
}

// motorised reports whether a motor can have helped.
func (r *reducer) motorised() bool {
	return r.model.Motor != wear.NoMotor || strings.Contains(plainLetters.Replace(r.track.Sport), "ebik")
}

// plainLetters makes one word of "e_biking", "e-bike ride" and their like.
var plainLetters = strings.NewReplacer("_", "", "-", "", " ", "")

// pedalled reports whether a sensor was heard to be pedalled in step i. Before
// turns and work are summed, both columns hold rates.
func (r *reducer) pedalled(i int) bool { return r.turns[i] > 0 || r.work[i] > pedalFrom }

// silent reports whether a sensor says that nobody pedals in step i.
func (r *reducer) silent(i int) bool {
	return !r.pedalled(i) && (r.turns[i] == 0 || r.work[i] == 0)
}

// span is the time of step i in s as a climb takes it: the whole of a gap, but
// nothing of a pause.
func (r *reducer) span(i int) float64 {
	if r.cut[i] {
		return r.dt[i]
	}
	return r.gap[i]
}

// search goes through a ride for runs of steps that together took more than a
// rider has, the largest surplus first to last.
type search struct {
	r           *reducer
	every       bool
	motor       bool
	shifts      []Shift
	least, most float64 // m of surplus that a lift has: with a sensor's word, without
	pause       float64 // m

	run       lift
	open      bool
	sum, best float64 // m of surplus, and the most of it so far
	found     []lift
	joined    int // lifts in found that go on where another stood still
	next      int // of shifts
}

// all makes the search.
func (s *search) all() {
	r := s.r
	for i := 1; i < len(r.t); i++ {
		if r.broken[i] {
			s.close()
			continue
		}
		x := s.surplus(i)
		if !s.open {
			if x <= 0 {
				continue
			}
			s.open, s.run, s.sum, s.best = true, lift{i - 1, i - 1}, 0, 0
		}
		s.sum += x
		if s.sum > s.best {
			s.best, s.run.to = s.sum, i
		}
		if s.sum <= 0 || s.sum < s.best-s.pause {
			s.close()
		}
	}
	s.close()
}

// surplus is what step i took beyond a rider, in m of climb.
func (s *search) surplus(i int) float64 {
	r, span := s.r, s.r.span(i)
	cost := 0.0
	for ; s.next < len(s.shifts) && s.shifts[s.next].T <= r.samples[i].T; s.next++ {
		cost = shiftCost
	}
	if r.pedalled(i) {
		return -pedalCost*span - cost
	}
	rise := min(r.h[i]-r.h[i-1], fastestLift*span)
	way, v := r.dist[i], r.v[i]
	if !(way >= 0) || !(v >= 0) {
		way, v = 0, 0
	}
	if math.IsNaN(rise) {
		rise = -worstSlope * way
	}
	x := rise + leastCrr*way + leastAir*v*v*v*span - riderRate*span
	if s.every {
		x = max(x, rise-steadyRate*span)
	}
	return x - cost
}

// close ends the run and keeps it if it was a lift.
func (s *search) close() {
	if !s.open {
		return
	}
	s.open = false
	if !s.isLift() {
		return
	}
	s.run = s.r.wholeWay(s.run)
	if n := len(s.found); n > 0 {
		last := s.found[n-1]
		s.run.from = max(s.run.from, last.to)
		if s.r.hung(last.to, s.run.from) {
			s.run.from = last.to
			s.joined++
		}
	}
	if s.run.from < s.run.to {
		s.found = append(s.found, s.run)
	}
}

// isLift judges the run by its time and its surplus: little is enough where a
// living sensor says that nobody pedalled, or no gear was changed for so long.
func (s *search) isLift() bool {
	r := s.r
	if s.best < s.least {
		return false
	}
	var time, silent float64
	for i := s.run.from + 1; i <= s.run.to; i++ {
		if r.pedalled(i) {
			continue
		}
		time += r.span(i)
		if r.silent(i) {
			silent += r.span(i)
		}
	}
	if time < shortestLift || r.upright(s.run) {
		return false
	}
	if s.every {
		return s.best >= s.most
	}
	told := silent >= mostSilent*time && r.alive(s.run)
	if s.motor && (!told || r.model.Motor == wear.HubMotor) {
		return s.best >= (motorRate-riderRate)*time+riderReserve
	}
	return s.best >= s.most || (s.best >= s.least && (told || s.unshifted(time)))
}

// alive reports whether a sensor was pedalled shortly before or after the run.
func (r *reducer) alive(l lift) bool {
	for i := l.from; i > 0 && r.t[l.from]-r.t[i] <= lifeSpan; i-- {
		if r.pedalled(i) {
			return true
		}
	}
	for i := l.to + 1; i < len(r.t) && r.t[i]-r.t[l.to] <= lifeSpan; i++ {
		if r.pedalled(i) {
			return true
		}
	}
	return false
}

// unshifted reports whether the run has no gear change, where riding for so
// long would have had some.
func (s *search) unshifted(time float64) bool {
	from, to := s.r.samples[s.run.from].T, s.r.samples[s.run.to].T
	k := sort.Search(len(s.shifts), func(k int) bool { return s.shifts[k].T > from })
	none := k == len(s.shifts) || s.shifts[k].T > to
	return none && float64(len(s.shifts))*time >= shiftsLost*s.r.moving
}
