package rig

import (
	"math"
	"math/rand/v2"
)

// Sample is one record of the device. Absent values are NaN.
type Sample struct {
	T        int64   // ms of UTC, whole seconds
	Lat, Lon float64 // degrees
	Alt      float64 // m, in steps of 0.2
	Dist     float64 // m since the start, in steps of 0.01
	Speed    float64 // m/s, in steps of 0.001
	Cadence  float64 // rpm, whole
	Power    float64 // W, whole
}

// How real devices err (measured on ride files: positions wander by metres over
// minutes and by centimetres a second; barometers drift by metres an hour).
const (
	wanderSize  = 2.5  // m, standard deviation along each axis
	wanderTime  = 90.0 // s in which it forgets
	wanderSoft  = 8.0  // s over which the device smooths it
	driftRate   = 0.03 // m per √s
	altNoise    = 0.12 // m
	powerNoise  = 0.02 // share
	altStep     = 0.2  // m
	semicircles = (1 << 31) / 180.0
)

// device is the state of a head unit's errors.
type device struct {
	spec         *Spec
	rng          *rand.Rand
	fast, smooth [2]float64 // wander north and east, m
	drift        float64    // m
	odometer     float64    // m
}

// record makes the samples from the steps.
func (r *Ride) record() {
	d := &device{spec: &r.Spec, rng: rand.New(rand.NewPCG(r.Spec.Seed, 3))}
	d.drift = d.rng.NormFloat64() * 3
	for axis := range d.fast {
		d.fast[axis] = d.rng.NormFloat64() * wanderSize
		d.smooth[axis] = d.fast[axis]
	}
	last, pause, due := r.lastCadence(), 0, 0
	r.Samples = make([]Sample, 0, len(r.Steps))
	for i, s := range r.Steps {
		edge := i == 0 || i == len(r.Steps)-1
		if pause < len(r.Pauses) && i+1 < len(r.Steps) && r.Steps[i+1].T > r.Pauses[pause].To {
			pause, edge = pause+1, true
		}
		sample := d.read(s, i <= last)
		if r.Spec.Smart && !edge && i < due {
			continue
		}
		due = i + 1
		if r.Spec.Smart {
			due = i + 1 + d.rng.IntN(8)
		}
		r.Samples = append(r.Samples, sample)
	}
}

// read is what the device makes of one second.
func (d *device) read(s Step, cadence bool) Sample {
	d.err()
	d.odometer += s.Way
	nan := math.NaN()
	sample := Sample{T: s.T, Lat: nan, Lon: nan, Alt: nan, Dist: nan, Speed: nan, Cadence: nan, Power: nan}
	if !d.spec.Indoor {
		north, east := perMetre(s.Lat)
		sample.Lat = math.Round((s.Lat+d.smooth[0]*north)*semicircles) / semicircles
		sample.Lon = math.Round((s.Lon+d.smooth[1]*east)*semicircles) / semicircles
		sample.Alt = math.Round((s.Height+d.drift+d.noise(altNoise))/altStep) * altStep
	}
	if d.spec.Odometer {
		sample.Dist = math.Round(d.odometer*100) / 100
		sample.Speed = math.Round(s.Speed*1000) / 1000
	}
	if d.spec.Cadence && cadence {
		sample.Cadence = math.Round(perTurn * s.Turns)
	}
	if d.spec.Power {
		sample.Power = max(0, math.Round(s.Work*(1+d.noise(powerNoise))))
	}
	return sample
}

// err lets the errors wander on by a second.
func (d *device) err() {
	if d.spec.Quiet {
		d.fast, d.smooth, d.drift = [2]float64{}, [2]float64{}, 0
		return
	}
	for axis := range d.fast {
		d.fast[axis] += wanderSize*math.Sqrt(2/wanderTime)*d.rng.NormFloat64() - d.fast[axis]/wanderTime
		d.smooth[axis] += (d.fast[axis] - d.smooth[axis]) / wanderSoft
	}
	d.drift += driftRate * d.rng.NormFloat64()
}

func (d *device) noise(size float64) float64 {
	if d.spec.Quiet {
		return 0
	}
	return size * d.rng.NormFloat64()
}

func hypot(a, b float64) float64 { return math.Sqrt(a*a + b*b) }
