package wear

import (
	"math"
	"math/rand/v2"
)

// The simulated year: a fleet of hire bikes is run by pawl's advice, by fixed
// intervals and to failure, each with the same hires and the same random wear.
// What is assumed stands beside each figure; where no source is named it is
// common practice, no published source. Nothing is tuned to what comes out.

const (
	yearDays   = 365
	yearDepots = 5

	hirePace     = 12.0   // km/h moving
	hireTurns    = 2800.0 // turns an hour: 70 a minute for two thirds of the time
	hireBraking  = 10e3   // J a km: 20 m of descent, 0.5 MJ per 1,000 m
	hireHours    = 2.2    // moving, of a hire day
	toldGround   = 0.8    // share of wet and muddy days that the depot enters
	groundSpread = 0.2    // of ln of what a ground does, against the schedule's factors
)

// hireSeason is how likely a bike is asked for on a day of each month: about
// 110 days a year.
var hireSeason = [12]float64{0.10, 0.12, 0.20, 0.32, 0.40, 0.46, 0.52, 0.56, 0.40, 0.28, 0.14, 0.10}

// Shares of days that are wet and muddy, by month, where a depot is as others.
var (
	wetDays = [12]float64{0.30, 0.28, 0.25, 0.20, 0.16, 0.14, 0.12, 0.13, 0.16, 0.22, 0.28, 0.30}
	mudDays = [12]float64{0.25, 0.22, 0.15, 0.10, 0.06, 0.04, 0.03, 0.03, 0.06, 0.10, 0.18, 0.24}
)

// hireRide is a hire: what was ridden, and what the book is told of it.
type hireRide struct {
	ground, told Ground
	hours, km    float64
	turns        float64
	braking      float64 // MJ
}

// yearDepot is a place with its trails, its weather and its tools.
type yearDepot struct {
	busy, rain    float64 // beside the others
	turns, brakes float64 // how much more is pedalled and braked here than pawl takes it to be
	drive, pads   [NGrounds]float64
	ruler, calip  float64 // bias of its tools, in % and mm
}

// year is what is the same whichever way the fleet is run.
type year struct {
	seed   uint64
	bikes  int
	depots [yearDepots]yearDepot
}

func newYear(seed uint64, bikes int) *year {
	y := &year{seed: seed, bikes: bikes}
	for i := range y.depots {
		d, r := &y.depots[i], y.draw(1, i, 0)
		near := func(sd float64) float64 { return math.Exp(sd * r.NormFloat64()) }
		d.busy, d.rain, d.turns, d.brakes = near(0.15), near(0.25), near(0.1), near(0.2)
		for g := range d.drive {
			d.drive[g] = Default().kind("chain").Factors[g] * near(groundSpread)
			d.pads[g] = Default().kind("front-pads").Factors[g] * near(groundSpread)
		}
		_, bias := rulerError.of(&Reading{Of: Elongation})
		d.ruler = bias * r.NormFloat64()
		_, bias = caliperError.of(&Reading{Of: Lining})
		d.calip = bias * r.NormFloat64()
	}
	return y
}

// draw is a source of its own for each purpose and two numbers, so that what
// one way of running the fleet draws moves nothing for another.
func (y *year) draw(purpose, a, b int) *rand.Rand {
	return rand.New(rand.NewPCG(y.seed, uint64(purpose)<<56^uint64(a)<<28^uint64(b)))
}

func (y *year) depot(bike int) *yearDepot { return &y.depots[bike%yearDepots] }

func monthOf(day int) int { return min(11, day*12/yearDays) }

// weather is the ground of a depot's trails on a day.
func (y *year) weather(depot, day int) Ground {
	r, m := y.draw(2, depot, day), monthOf(day)
	u, rain := r.Float64(), y.depots[depot].rain
	for _, s := range []struct {
		g     Ground
		share float64
	}{{Mud, mudDays[m] * rain}, {Wet, wetDays[m] * rain}, {Gritty, 0.1}, {Dusty, 0.2 * boolFloat(m >= 4 && m <= 8)}} {
		if u -= s.share; u < 0 {
			return s.g
		}
	}
	return Dry
}

func boolFloat(b bool) float64 { return float64(boolInt(b)) }

// hire is what a bike is asked for on a day; ok is false where it is not.
func (y *year) hire(bike, day int) (h hireRide, ok bool) {
	d, r := y.depot(bike), y.draw(3, bike, day)
	h.ground = y.weather(bike%yearDepots, day)
	chance := hireSeason[monthOf(day)] * d.busy
	if day%7 >= 5 {
		chance *= 1.6
	} else {
		chance *= 0.75
	}
	switch h.ground {
	case Wet:
		chance *= 0.75
	case Mud:
		chance *= 0.55
	}
	if r.Float64() >= chance {
		return h, false
	}
	h.hours = min(7, max(0.4, hireHours*math.Exp(0.5*r.NormFloat64()-0.125)))
	h.km = h.hours * hirePace * math.Exp(0.15*r.NormFloat64())
	h.turns = h.hours * hireTurns * d.turns * math.Exp(0.15*r.NormFloat64())
	h.braking = h.km * hireBraking / 1e6 * d.brakes * math.Exp(0.3*r.NormFloat64())
	if h.ground >= Wet && r.Float64() < toldGround {
		h.told = h.ground
	}
	return h, true
}

// ride is the hire as the book has it: km and hours of an odometer, the rest
// what such a ride usually asks.
func (h hireRide) ride(at Instant) Ride {
	r := Ride{Start: at, Ground: h.told}
	r.Recorded[Distance], r.Recorded[Moving] = Distance.Stored(1000*h.km), Moving.Stored(3600*h.hours)
	r.Estimated[Turns], r.Estimated[Braking] = Turns.Stored(h.hours*hireTurns), Braking.Stored(h.km*hireBraking)
	return r
}
