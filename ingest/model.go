package ingest

import "pawl/wear"

// SumsVersion is the version of the rules by which [Reduce] makes a load. It
// grows whenever the same file would give another load.
const SumsVersion = 3

// Model is what the estimates of a ride rest on: the bike, its rider, and how
// both meet the ground and the air.
type Model struct {
	RiderMass    float64     // kg, rider and kit; 0 = wear.DefaultRiderMass
	BikeMass     float64     // kg; 0 = wear.DefaultBikeMass
	Crr          float64     // rolling resistance; 0 = wear.DefaultCrr
	CdA          float64     // m²; 0 = wear.DefaultCdA
	Motor        wear.Motor  // see the package comment: what it does to the work
	IgnoreTotals bool        // recompute everything from the samples
	Uplift       wear.Uplift // which lifts are cut out
}

// ModelOf is the model of a bike, with the defaults where it gives nothing.
func ModelOf(b wear.Bike) Model {
	m := Model{Crr: b.Crr, CdA: b.CdA, Motor: b.Motor}
	m.RiderMass, m.BikeMass = b.Masses()
	return m.filled()
}

// filled puts a default wherever a figure is absent or absurd.
func (m Model) filled() Model {
	m.RiderMass = within(m.RiderMass, 20, 300, wear.DefaultRiderMass)
	m.BikeMass = within(m.BikeMass, 3, 300, wear.DefaultBikeMass)
	m.Crr = within(m.Crr, 0.001, 0.2, wear.DefaultCrr)
	m.CdA = within(m.CdA, 0.1, 2, wear.DefaultCdA)
	return m
}

// within is x where it lies between lo and hi, else the default. NaN lies nowhere.
func within(x, lo, hi, otherwise float64) float64 {
	if x >= lo && x <= hi {
		return x
	}
	return otherwise
}

// mass is everything that rolls, in kg.
func (m Model) mass() float64 { return m.RiderMass + m.BikeMass }

// Outcome is what one ride amounts to.
type Outcome struct {
	Recorded  wear.Load // what a device measured
	Estimated wear.Load // what had to be estimated
	Lacking   wear.Set  // quantities that could not even be estimated
	Gears     wear.Gears
	Start     wear.Instant
	Elapsed   int64    // ms
	Notes     []string // what a reader of the ride must know, in plain words
}
