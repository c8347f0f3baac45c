package ingest

import (
	"math"

	"pawl/wear"
)

// The constants of the road-load equation.
const (
	gravity = 9.80665 // m/s²
	// lost is the share of the work at the crank that never reaches the wheel:
	// 1.4 % at best was measured, chains on trail do worse (common practice).
	lost = 0.04
	// typicalPower is what pedalling takes where slope and so the equation are
	// not known, in W (common practice, no published source).
	typicalPower = 130
	strongest    = 3000 // W: no rider has more
)

// stretch is a short piece of a ride as the road-load equation sees it.
type stretch struct {
	dist   float64 // m
	rise   float64 // m, below zero downhill
	v0, v1 float64 // m/s at its beginning and end
	cubes  float64 // m³/s²: ∫v³dt
	rho    float64 // kg/m³ of the air
}

// energy is what a stretch takes from the rider at the wheel, in J: gravity,
// rolling, air and inertia (Martin et al. 1998, J Appl Biomech 14:276, without
// wind and bearings). Below zero it is what the brakes took out.
func (m Model) energy(s stretch) float64 {
	flat := s.dist
	if rise := math.Abs(s.rise); rise < s.dist {
		flat = math.Sqrt(s.dist*s.dist - rise*rise)
	}
	weight := m.mass() * gravity
	return weight*s.rise +
		weight*m.Crr*flat +
		0.5*s.rho*m.CdA*s.cubes +
		0.5*m.mass()*(s.v1*s.v1-s.v0*s.v0)
}

// atCrank is the work at the crank for an energy at the wheel. A negative one
// is braking: it is never divided by the losses.
func atCrank(wheel float64) float64 {
	if wheel <= 0 {
		return 0
	}
	return wheel / (1 - lost)
}

// air is the density of the standard atmosphere at an altitude in m (ISO 2533).
func air(altitude float64) float64 {
	return 1.225 * math.Pow(1-2.25577e-5*min(max(altitude, -500), 9000), 4.2559)
}

// push sums the work at the crank: recorded power over time, and the road-load
// equation where there is none. From then on the column holds what the chain
// carries, for the gears.
func (r *reducer) push() {
	r.dropDead(r.work)
	part := r.known(r.work)
	recorded, guessed := 0.0, 0.0
	beside, byChain := motorShares(r.model.Motor)
	for i := 1; i < len(r.work); i++ {
		if w := r.work[i]; !math.IsNaN(w) {
			recorded += w * r.dt[i]
			r.work[i] = w * r.dt[i] * (1 + beside)
			continue
		}
		r.work[i] = r.guessWork(i) * byChain
		guessed += r.work[i]
	}
	r.settle(wear.Work, parts{
		part: part, recorded: recorded, guessed: guessed, total: r.track.Totals.Work,
		least: 20, most: 500, sensor: "power", show: kJ,
	})
	if beside > 0 && r.out.Recorded[wear.Work] > 0 {
		r.out.Estimated[wear.Work] += int64(beside * float64(r.out.Recorded[wear.Work]))
		r.note(motorNote)
	}
}

// guessWork is the work of a step without recorded power.
func (r *reducer) guessWork(i int) float64 {
	switch {
	case r.pedal[i] == 0:
		return 0
	case math.IsNaN(r.need[i]):
		return r.pedal[i] * typicalPower * r.dt[i]
	}
	return atCrank(r.need[i]) * r.dt[i]
}

// motorNote says what stands beside recorded work on a bike with a mid-drive.
const motorNote = "the motor's work is estimated to equal the rider's"

// motorShares are what a motor makes of work: how much more than the rider the
// chain carries where the rider's own power was recorded, and how much of what
// the road-load equation gives comes by the chain. A mid-drive is taken to add
// as much again (common practice), all of it through the chain; of a hub
// motor's half nothing is.
func motorShares(m wear.Motor) (beside, byChain float64) {
	switch m {
	case wear.MidMotor:
		return 1, 1
	case wear.HubMotor:
		return 0, 0.5
	}
	return 0, 1
}
