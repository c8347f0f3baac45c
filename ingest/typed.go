package ingest

import (
	"math"

	"pawl/wear"
)

// Figures of a ride of which little is known: what a trail bike does (common
// practice, no published source).
const (
	flatPace  = 18.0 / 3.6    // m/s on the flat
	climbPace = 1000.0 / 3600 // m/s of climb
	trailPace = 13.0 / 3.6    // m/s where the climb is not known
	driven    = 0.7           // of the way is not downhill
	driveAir  = 4.0           // m/s, the pace of that
	brakedOf  = 0.54          // of the energy of height: 0.5 MJ for 1,000 m at 95 kg
)

// Typed is the outcome of a ride of which somebody typed a few figures: km, m
// of climb and descent, hours. NaN is not given, and so is what is negative or
// beyond a ride. What is given is recorded, the rest estimated, or lacking
// where nothing tells it. Start is the caller's; Elapsed is the hours given.
func Typed(km, climbM, descentM, hours float64, m Model) Outcome {
	given := totalsOf(Totals{
		Distance: 1000 * km, Climb: climbM, Descent: descentM, Moving: 3600 * hours,
		Turns: math.NaN(), Work: math.NaN(),
	})
	out := reckon(given, false, m.filled())
	out.Elapsed = out.Recorded[wear.Moving]
	return out
}

// amounts are SI amounts of every quantity; NaN is not known.
type amounts [wear.NQuantities]float64

// totalsOf are the totals that are possible at all. Nothing written for way or
// time is nothing given.
func totalsOf(t Totals) amounts {
	a := amounts{
		wear.Distance: t.Distance, wear.Climb: t.Climb, wear.Descent: t.Descent, wear.Moving: t.Moving,
		wear.Turns: t.Turns, wear.Work: t.Work, wear.Braking: math.NaN(),
	}
	for q, si := range a {
		zero := si == 0 && q != int(wear.Climb) && q != int(wear.Descent)
		if zero || !(si >= 0 && si < most) {
			a[q] = math.NaN()
		}
	}
	return a
}

// has reports whether q is known.
func (a *amounts) has(q wear.Quantity) bool { return !math.IsNaN(a[q]) }

// reckon is the outcome of a ride without samples.
func reckon(given amounts, indoor bool, m Model) Outcome {
	var out Outcome
	if given[wear.Distance] > fastest*given[wear.Moving] {
		out.Notes = append(out.Notes, "distance and hours do not fit: hours estimated")
		given[wear.Moving] = math.NaN()
	}
	if indoor {
		given[wear.Climb], given[wear.Descent], given[wear.Braking] = 0, 0, 0
	}
	full := given
	full.fillWay()
	full.fillEffort(indoor, m)
	for q := range wear.NQuantities {
		switch {
		case given.has(q):
			out.Recorded[q] = stored(q, given[q])
		case full.has(q):
			out.Estimated[q] = stored(q, full[q])
		default:
			out.Lacking = out.Lacking.With(q)
		}
	}
	if beside, _ := motorShares(m.Motor); beside > 0 && out.Recorded[wear.Work] > 0 {
		out.Estimated[wear.Work] = int64(beside * float64(out.Recorded[wear.Work]))
		out.Notes = append(out.Notes, motorNote)
	}
	if m.Uplift == wear.AllUplift {
		out.Notes = append(out.Notes, "no samples: lifts cannot be cut out")
	}
	return out
}

// fillWay estimates way, height and time from one another. A ride ends at the
// height where it began unless both are given.
func (a *amounts) fillWay() {
	if !a.has(wear.Climb) {
		a[wear.Climb] = a[wear.Descent]
	}
	if !a.has(wear.Descent) {
		a[wear.Descent] = a[wear.Climb]
	}
	way, time, climb := a[wear.Distance], a[wear.Moving], a[wear.Climb]
	if !a.has(wear.Moving) {
		a[wear.Moving] = way / trailPace
		if a.has(wear.Climb) {
			a[wear.Moving] = way/flatPace + climb/climbPace
		}
	}
	if !a.has(wear.Distance) {
		a[wear.Distance] = time * trailPace
		if a.has(wear.Climb) {
			a[wear.Distance] = max(time-climb/climbPace, time/4) * flatPace
		}
	}
}

// fillEffort estimates what the rider and the brakes did.
func (a *amounts) fillEffort(indoor bool, m Model) {
	pedal := a[wear.Moving] * pedalShare
	if indoor {
		pedal = a[wear.Moving]
	}
	if !a.has(wear.Turns) {
		a[wear.Turns] = pedal * pedalRate / 60
	}
	if !a.has(wear.Work) {
		a[wear.Work] = pedal * typicalPower
		if a.has(wear.Climb) && a.has(wear.Distance) && !indoor {
			way := driven * a[wear.Distance]
			s := stretch{dist: way, rise: a[wear.Climb], cubes: driveAir * driveAir * way, rho: air(0)}
			a[wear.Work] = atCrank(m.energy(s))
		}
		_, byChain := motorShares(m.Motor)
		a[wear.Work] *= byChain
	}
	if !a.has(wear.Braking) {
		a[wear.Braking] = brakedOf * m.mass() * gravity * a[wear.Descent]
	}
}
