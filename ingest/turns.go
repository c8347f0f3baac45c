package ingest

import (
	"math"

	"pawl/wear"
)

const (
	fastestCadence = 250 // turns a minute; 255 is what sensors write for "none"
	// pedalRate is the cadence of pedalling that no sensor saw, turns a minute:
	// 24 rides had 68 a minute of moving time (middle half 56–76).
	pedalRate = 70
	// pedalFrom is the power at the wheel, in W, from which a step counts as
	// pedalled.
	pedalFrom = 15
	// pedalShare is how much of moving time is pedalled where its shape is not
	// known (common practice: 200 turns/km on trail at 13 km/h).
	pedalShare = 0.65
	holdFor    = 10   // s: a sensor that is silent for less still turns as before
	deadAfter  = 300  // s: a sensor that says zero for longer, while the bike is driven, is dead
	liftRate   = 0.42 // m/s of climb: more, without a turn of the crank, is a lift
	deadTotal  = 0.02 // of the moving time: a sensor that was heard for less was not there
)

// shape fills how much of each step was pedalled, as far as speed and slope
// tell: a bike that would have slowed down by itself was driven.
func (r *reducer) shape() {
	for i := range r.pedal {
		switch need, v := r.need[i], r.v[i]; {
		case !math.IsNaN(need):
			r.pedal[i] = truth(need > pedalFrom)
		case v <= slowest:
			r.pedal[i] = 0
		case r.track.Indoor:
			r.pedal[i] = 1
		default:
			r.pedal[i] = pedalShare
		}
	}
}

func truth(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// pedalling sums the turns of the crank: recorded cadence over time, and the
// time spent pedalling where there is none.
func (r *reducer) pedalling() {
	r.dropDead(r.turns)
	part := r.known(r.turns)
	recorded, guessed := 0.0, 0.0
	for i := 1; i < len(r.turns); i++ {
		if cadence := r.turns[i]; !math.IsNaN(cadence) {
			r.turns[i] = cadence / 60 * r.dt[i]
			recorded += r.turns[i]
			r.pedal[i] = truth(cadence > 0)
			continue
		}
		if p := r.samples[i].Power; p >= 0 && p <= strongest { // power tells better than shape
			r.pedal[i] = truth(p > pedalFrom)
		}
		r.turns[i] = r.pedal[i] * pedalRate / 60 * r.dt[i]
		guessed += r.turns[i]
	}
	r.settle(wear.Turns, parts{
		part: part, recorded: recorded, guessed: guessed, total: r.track.Totals.Turns,
		least: 15. / 60, most: 120. / 60, sensor: "cadence", show: plain,
	})
}

// sensors fills the columns of turns and work with what the sensors say.
func (r *reducer) sensors() {
	r.rates(r.turns, fastestCadence, func(s *Sample) float64 { return s.Cadence })
	r.rates(r.work, strongest, func(s *Sample) float64 { return s.Power })
}

// rates fills a column with a sensor's value for each step. Values out of
// range are left out; a short silence repeats the last one.
func (r *reducer) rates(out []float64, most float64, of func(*Sample) float64) {
	last := -1
	for i := range r.samples {
		x := of(&r.samples[i])
		if x > most {
			r.absurd++
		}
		switch {
		case x >= 0 && x <= most:
			last = i
		case last >= 0 && r.t[i]-r.t[last] <= holdFor:
			x = out[last]
		default:
			x = math.NaN()
		}
		out[i] = x
	}
}

// dropDead takes out the stretches in which a sensor says nothing but zero for
// long while the bike is driven, lifts left aside.
func (r *reducer) dropDead(rate []float64) {
	for from := 1; from < len(rate); from++ {
		if rate[from] != 0 {
			continue
		}
		to, moving, pushed := from, 0.0, 0.0
		for ; to < len(rate) && !(rate[to] > 0); to++ {
			if r.h[to]-r.h[to-1] > liftRate*r.dt[to] || r.v[to] <= slowest {
				continue
			}
			moving += r.dt[to]
			pushed += r.dt[to] * r.pedal[to]
		}
		if moving >= deadAfter && pushed > moving/2 {
			fill(rate[from:to], math.NaN())
		}
		from = to
	}
}

// known is for how much of the moving time a column is known.
func (r *reducer) known(col []float64) float64 {
	var all, known float64
	for i := 1; i < len(col); i++ {
		if r.v[i] <= slowest {
			continue
		}
		all += r.dt[i]
		if !math.IsNaN(col[i]) {
			known += r.dt[i]
		}
	}
	return share(known, max(all, 1e-9), 1)
}

// parts is what is known of turns or work before it is settled.
type parts struct {
	part              float64 // of the moving time for which the sensor spoke
	recorded, guessed float64 // SI
	total             float64 // the device's own
	least, most       float64 // a second of moving time: a total outside is none
	sensor            string
	show              func(float64) string
}

// settle judges a quantity by how much of the moving time its sensor covers,
// not by its presence: one ride of 171 km has 134 turns.
func (r *reducer) settle(q wear.Quantity, p parts) {
	total := r.total(p.total, q)
	near := math.Abs(total-p.recorded) <= 0.05*p.recorded+1
	switch {
	case math.IsNaN(total):
	case p.part >= 0.95 && near:
		p.recorded = total
	case p.part < deadTotal && total >= p.least*r.moving && total <= p.most*r.moving:
		p.recorded, p.guessed, p.part = total, 0, 1
	case !near:
		r.unfit(q.String(), p.show(total), p.show(p.recorded+p.guessed))
	}
	if p.part >= enough {
		p.guessed = 0
	}
	if r.moving == 0 && p.recorded == 0 {
		r.lacks(q)
		return
	}
	r.record(q, p.recorded)
	r.estimate(q, p.guessed)
	if p.recorded > 0 && p.part < enough {
		r.note("%s recorded for %s of the ride, the rest estimated", p.sensor, percent(p.part))
	}
}
