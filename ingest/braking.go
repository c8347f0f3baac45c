package ingest

import (
	"math"

	"pawl/wear"
)

const (
	// shortest is the least time, in s, over which energies are compared:
	// summing noise second by second invents more than a mountain holds.
	shortest = 10
	// rolling is the least way, in m, of such a time: altitude trembling while
	// the bike stands is no braking.
	rolling = 5
)

// window is a run of steps over which energies are compared.
type window struct {
	from, to int // steps from to to-1
	time     float64
	stretch
}

// needs finds for every step what it took at the wheel to ride so, and sums
// what the brakes took out. Both come from windows of at least shortest
// seconds; a shorter rest before a stop goes with the window before it.
func (r *reducer) needs() {
	known := r.heard > 0 && !r.track.Indoor
	var braked float64
	if known {
		var last, w window
		for i := 1; i < len(r.dt); i++ {
			if r.joins(i) {
				w = r.grow(w, i)
			}
			if w.time < shortest && r.joins(i) && i < len(r.dt)-1 {
				continue
			}
			if w.time >= shortest {
				braked += r.spend(last)
				last = w
			} else if w.time > 0 && last.to == w.from {
				last = r.over(last.from, w.to)
			}
			w = window{}
		}
		braked += r.spend(last)
	}
	r.brake(braked)
	r.shape()
}

// brake settles the braking: always estimated.
func (r *reducer) brake(joules float64) {
	switch {
	case r.track.Indoor:
		r.record(wear.Braking, 0)
	case r.coverage() < leastKnown || r.moving+r.carried.time == 0:
		r.lacks(wear.Braking)
	default:
		r.estimate(wear.Braking, joules/r.coverage())
	}
}

// joins reports whether step i can be part of a window.
func (r *reducer) joins(i int) bool {
	return !r.cut[i] && r.gap[i] <= longestStep && !math.IsNaN(r.v[i]) && !math.IsNaN(r.dist[i]) && !math.IsNaN(r.h[i])
}

// grow puts step i at the end of the window.
func (r *reducer) grow(w window, i int) window {
	if w.to == 0 {
		w.from = i
		w.v0 = r.v[i-1]
		if math.IsNaN(w.v0) || r.cut[i-1] {
			w.v0 = r.v[i]
		}
	}
	w.to = i + 1
	w.time += r.dt[i]
	w.dist += r.dist[i]
	w.rise += r.h[i] - r.h[i-1]
	w.cubes += r.v[i] * r.v[i] * r.v[i] * r.dt[i]
	w.v1 = r.v[i]
	return w
}

// over is the window of the steps from to to-1.
func (r *reducer) over(from, to int) window {
	var w window
	for i := from; i < to; i++ {
		w = r.grow(w, i)
	}
	return w
}

// spend lays what a window takes over its steps and returns what the brakes
// took out of it, in J.
func (r *reducer) spend(w window) float64 {
	if w.time <= 0 {
		return 0
	}
	var wheel float64
	if w.dist >= rolling {
		w.rho = air(r.h[w.from])
		wheel = r.model.energy(w.stretch)
	}
	fill(r.need[w.from:w.to], wheel/w.time)
	return max(-wheel, 0)
}
