package ingest

import (
	"math"

	"pawl/wear"
)

// Figures of a ride of which little is known: what a trail bike does (common
// practice, no published source).
const (
	flatPace    = 18.0 / 3.6    // m/s on the flat
	climbPace   = 1000.0 / 3600 // m/s of climb
	trailPace   = 13.0 / 3.6    // m/s where the climb is not known
	commonClimb = 0.02          // m of climb for a metre, where nothing tells the climb
	driven      = 0.7           // of the way is not downhill
	driveAir    = 4.0           // m/s, the pace of that
	brakedOf    = 0.54          // of the energy of height: 0.5 MJ for 1,000 m at 95 kg
)

// Given are the few figures that somebody typed of a ride, or that meters tell.
// NaN is not given, and so is what is negative or beyond a ride.
type Given struct {
	Km, Climb, Descent, Hours float64 // km, m, m, h
}

func (g Given) amounts() amounts {
	return totalsOf(Totals{
		Distance: 1000 * g.Km, Climb: g.Climb, Descent: g.Descent, Moving: 3600 * g.Hours,
		Turns: math.NaN(), Work: math.NaN(),
	})
}

// Figures are the quantities that are given.
func (g Given) Figures() (s wear.Set) {
	a, _ := fitting(g.amounts())
	for q := range wear.NQuantities {
		if a.has(q) {
			s = s.With(q)
		}
	}
	return s
}

// Same reports whether two say the same, as they are kept.
func (g Given) Same(o Given) bool {
	a, b := g.amounts(), o.amounts()
	for q := range wear.NQuantities {
		if a.has(q) != b.has(q) || stored(q, a[q]) != stored(q, b[q]) {
			return false
		}
	}
	return true
}

// GivenOf is what was given of a ride without samples when it was entered:
// nobody types a descent.
func GivenOf(r wear.Ride) Given {
	g := Given{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	for q, to := range map[wear.Quantity]*float64{wear.Distance: &g.Km, wear.Climb: &g.Climb, wear.Moving: &g.Hours} {
		if r.Recorded[q] > 0 || r.Estimated[q] == 0 && !r.Lacking.Has(q) {
			*to = r.Recorded.SI(q)
		}
	}
	g.Km, g.Hours = g.Km/1000, g.Hours/3600
	return g
}

// Typed is the outcome of a ride of which only those figures are known. What is
// given is recorded; the rest is estimated as usual for such bikes, or lacking
// where nothing is given that tells it. Start is the caller's; Elapsed is the
// hours given.
func Typed(g Given, m Model, usual wear.Usual) Outcome {
	m = m.filled()
	given, notes := fitting(g.amounts())
	full := commonly(given, m)
	for q := range wear.NQuantities {
		if !given.has(q) && full.has(q) {
			full[q] *= usual.Ratio(q)
		}
	}
	out := told(given, full)
	out.Notes = append(notes, cannotCut(m)...)
	out.Elapsed = out.Recorded[wear.Moving]
	return out
}

// commonly fills what is not given from what is, by the fixed figures.
func commonly(given amounts, m Model) amounts {
	full := given
	full.fillWay()
	if !full.has(wear.Climb) {
		full[wear.Climb] = commonClimb * full[wear.Distance]
		full[wear.Descent] = full[wear.Climb]
	}
	full.fillEffort(false, m)
	return full
}

// Pairs are what a recorded ride says of each quantity, where only those figures
// of it were given: what was recorded, beside what the fixed figures make of
// them. What it does not tell has none. A quantity is recorded where at least
// half of it is; braking, which nothing records, where it was reckoned from samples.
func Pairs(r wear.Ride, given wear.Set, m Model) (pairs [wear.NQuantities]wear.Pair) {
	var known, some amounts
	for q := range wear.NQuantities {
		known[q], some[q] = math.NaN(), math.NaN()
		may0 := q == wear.Climb || q == wear.Descent || q == wear.Braking
		recorded := r.Recorded[q] >= r.Estimated[q] || q == wear.Braking
		if recorded && !r.Lacking.Has(q) && (r.Total()[q] > 0 || may0) {
			known[q] = r.Total().SI(q)
		}
		if given.Has(q) {
			some[q] = known[q]
		}
	}
	fixed := commonly(some, m.filled())
	for q := range wear.NQuantities {
		if given.Has(q) && !known.has(q) {
			return [wear.NQuantities]wear.Pair{}
		}
		if !given.Has(q) && known.has(q) && fixed.has(q) {
			pairs[q] = wear.Pair{Fixed: fixed[q], Recorded: known[q]}
		}
	}
	return pairs
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

// fitting leaves out hours in which no bike goes so far.
func fitting(given amounts) (amounts, []string) {
	if given[wear.Distance] > fastest*given[wear.Moving] {
		given[wear.Moving] = math.NaN()
		return given, []string{"distance and hours do not fit: hours estimated"}
	}
	return given, nil
}

// told parts what is given from what was filled in.
func told(given, full amounts) (out Outcome) {
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
	return out
}

// reckon is the outcome of a recorded ride without samples.
func reckon(given amounts, indoor bool, m Model) Outcome {
	given, notes := fitting(given)
	if indoor {
		given[wear.Climb], given[wear.Descent], given[wear.Braking] = 0, 0, 0
	}
	full := given
	full.fillWay()
	full.fillEffort(indoor, m)
	out := told(given, full)
	out.Notes = notes
	if beside, _ := motorShares(m.Motor); beside > 0 && out.Recorded[wear.Work] > 0 {
		out.Estimated[wear.Work] = int64(beside * float64(out.Recorded[wear.Work]))
		out.Notes = append(out.Notes, motorNote)
	}
	out.Notes = append(out.Notes, cannotCut(m)...)
	return out
}

func cannotCut(m Model) []string {
	if m.Uplift == wear.AllUplift {
		return []string{"no samples: lifts cannot be cut out"}
	}
	return nil
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
