package rig

import (
	"math"
	"math/rand/v2"
)

// Mode is what the rider is doing in a second.
type Mode uint8

// The modes.
const (
	Standing Mode = iota
	Coasting      // moving, feet still, brakes or not
	Pedalling
	Lifted // carried up with the bike
)

// Step is the truth of one second, the one that ends at T.
type Step struct {
	T        int64 // ms of UTC
	Lat, Lon float64
	Height   float64 // m
	Slope    float64 // rise over plan distance at the start of the second
	Speed    float64 // m/s along the ground, at the end of the second
	Way      float64 // m along the ground
	Turns    float64 // of the crank
	Work     float64 // J at the crank
	Brake    float64 // J
	Cog      int     // index into Spec.Cogs of the gear that is engaged
	Mode     Mode
}

// rider is the state of bike and rider between two seconds.
type rider struct {
	spec     *Spec
	trail    *trail
	rng      *rand.Rand
	along    float64 // m of plan distance round the loop
	height   float64 // m
	speed    float64 // m/s
	cog      int
	mood     float64 // slow swing of effort
	coast    int     // seconds of coasting left
	pedals   bool
	stopping bool
}

const (
	crawl   = 1.2  // m/s: slower than that a rider falls over, so he pushes harder
	spinOut = 105  // rpm above which he stops pedalling
	perTurn = 60.0 // rpm for one turn a second
)

// step rides one second.
func (r *rider) step() Step {
	slope := r.trail.at(r.trail.slope, r.along+r.speed/2)
	limit := r.trail.at(r.trail.limit, r.along)
	if r.stopping {
		limit = max(0, r.speed-1.5)
	}
	watts := r.effort(slope, limit)
	if watts > 0 {
		r.shift(slope)
		if r.rpm(r.speed) > spinOut {
			watts = 0
		}
	}
	next := min(r.roll(slope, watts*Efficiency), limit)
	if !r.stopping && next < crawl {
		next, watts = max(next, min(r.speed+0.4, crawl)), max(watts, 1)
	}
	if r.stopping && next < 0.3 {
		next = 0
	}
	return r.settle(slope, next, watts > 0)
}

// resist is the force in N that slope, ground and air put against the bike.
func (r *rider) resist(slope float64) float64 {
	return r.spec.Mass*Gravity*sinOf(slope) + r.drag(slope)
}

// drag is the part of it that is lost: ground and air.
func (r *rider) drag(slope float64) float64 {
	return r.spec.Mass*Gravity*r.spec.Crr*cosOf(slope) + AirDensity/2*r.spec.CdA*r.speed*r.speed
}

func cosOf(slope float64) float64 { return 1 / math.Sqrt(1+slope*slope) }
func sinOf(slope float64) float64 { return slope * cosOf(slope) }

// roll is the speed after a second in which joules reach the wheel: the root of
// m/2·(v²−v₀²) + F·(v+v₀)/2 = joules.
func (r *rider) roll(slope, joules float64) float64 {
	half := r.resist(slope) / r.spec.Mass / 2
	root := (half-r.speed)*(half-r.speed) + 2*joules/r.spec.Mass
	if root < 0 {
		return 0
	}
	return max(0, math.Sqrt(root)-half)
}

// settle moves the bike to its next speed and books where the energy came from
// or went to.
func (r *rider) settle(slope, next float64, pedals bool) Step {
	way := (r.speed + next) / 2
	joules := r.spec.Mass/2*(next*next-r.speed*r.speed) + r.resist(slope)*way
	if next == 0 && !pedals && joules > 0 { // it comes to rest before the second is over
		way = r.spec.Mass / 2 * r.speed * r.speed / r.resist(slope)
		joules = 0
	}
	s := Step{Slope: slope, Speed: next, Way: way, Cog: r.cog, Mode: Coasting}
	switch {
	case way == 0:
		s.Mode = Standing
	case pedals && joules > 0:
		s.Mode, s.Work, s.Turns = Pedalling, joules/Efficiency, way/r.development()
	default:
		s.Brake = max(0, -joules) // coasting leaves a rounding error of either sign
	}
	r.pedals = s.Mode == Pedalling
	r.along = math.Mod(r.along+way*cosOf(slope), r.trail.length)
	r.height += way * sinOf(slope)
	r.speed = next
	s.Height = r.height
	s.Lat, s.Lon = r.trail.at(r.trail.lat, r.along), r.trail.at(r.trail.lon, r.along)
	return s
}

// effort is the power that the rider wants to give, in W; 0 where he coasts.
func (r *rider) effort(slope, limit float64) float64 {
	r.mood += (r.rng.NormFloat64()*0.15*math.Sqrt(2*60) - r.mood) / 60
	wobble := 1 + r.mood + 0.08*r.rng.NormFloat64()
	margin := 0.4
	if !r.pedals {
		margin = 1.2 // a rider does not start pedalling for a breath
	}
	if r.stopping || r.speed > limit-margin {
		return 0
	}
	if r.coast > 0 && r.speed > 2 {
		r.coast--
		return 0
	}
	if !r.spec.Indoor && slope < 0.03 && r.speed > 2.5 && r.rng.Float64() < 0.05 {
		r.coast = r.rng.IntN(6)
		return 0
	}
	return max(0, r.spec.Watts*bySlope(slope)*wobble)
}

// bySlope is the share of his power that a rider gives: more uphill, none
// where the hill does the work.
func bySlope(slope float64) float64 {
	switch {
	case slope >= 0.02:
		return 1.15
	case slope >= -0.01:
		return 0.75 + (slope+0.01)/0.03*0.4
	case slope >= -0.045:
		return 0.75 * (slope + 0.045) / 0.035
	}
	return 0
}

// shift moves the chain up to two cogs towards the cadence that suits the slope.
func (r *rider) shift(slope float64) {
	wanted := min(78, max(62, 78-150*slope))
	for range 2 {
		rpm := r.rpm(max(r.speed, 1.5))
		switch {
		case rpm < wanted-12 && r.cog < len(r.spec.Cogs)-1:
			r.cog++
		case rpm > wanted+12 && r.cog > 0:
			r.cog--
		default:
			return
		}
	}
}

// development is the way in m of one turn of the crank in the gear engaged.
func (r *rider) development() float64 {
	return r.spec.Wheel * float64(r.spec.Ring) / float64(r.spec.Cogs[r.cog])
}

func (r *rider) rpm(speed float64) float64 { return perTurn * speed / r.development() }
