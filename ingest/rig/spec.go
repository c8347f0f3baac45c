package rig

import (
	"time"

	"pawl/wear"
)

// Spec says what ride to make. The zero value of a figure takes the default
// that is named beside it; a sensor that is not asked for is not there.
type Spec struct {
	Seed   uint64    // of the rider's and the device's chance
	Trail  uint64    // of the loop: rides with the same Trail ride the same ground; 0 = Seed
	Start  time.Time // to the second; zero = 2026-05-02 08:30 UTC
	Offset int       // s east of UTC that the device believes in
	Place  Place     // where the loop starts; zero = Home

	Minutes float64 // timer time to ride for; 0 = 60, unless Km is given
	Km      float64 // distance to ride for instead; 0 = by Minutes
	Hills   float64 // m of climb per km of trail; 0 = 25, negative = flat, at most 40
	Uplifts int     // times that a lift carries bike and rider up from the lowest place
	Shuttle bool    // the lifts are a van on a winding road
	Pauses  int     // timer stops, 30 s to 10 min each
	Stands  int     // stops of 10 s to 1 min with the timer running

	Watts float64 // that the rider gives when he pedals; 0 = 200
	Mass  float64 // kg, rider, kit and bike; 0 = the defaults of wear
	Crr   float64 // rolling resistance; 0 = wear.DefaultCrr
	CdA   float64 // m²; 0 = wear.DefaultCdA
	Ring  int     // teeth; 0 = 32
	Cogs  []int   // teeth, smallest first; none = 12 cogs 10–51
	Wheel float64 // m, circumference; 0 = 2.30

	Cadence  bool    // a cadence sensor
	Power    bool    // a power meter
	Shifts   bool    // recorded gear changes
	Odometer bool    // distance and speed from the wheel
	Indoor   bool    // on a trainer: flat, no position, no altitude, no wind to brake for
	DiesAt   float64 // share of the timer time after which the cadence sensor is dead; 0 = never
	Smart    bool    // a record every 1 to 8 s instead of each second
	Quiet    bool    // a perfect device: rounding, but no noise, drift or wander

	Name    string        // of the activity, as GPX gives it
	Profile string        // the device's own name for the bike or sport profile
	Serial  uint32        // of the recording device; 0 = 1
	Sensors []wear.Sensor // that the device names
}

// Place is a point in degrees, WGS84.
type Place struct{ Lat, Lon float64 }

// Home is where trails start unless told otherwise: out at sea, so that it is
// nobody's.
var Home = Place{Lat: 43.1, Lon: 14.7}

// Losses of the drivetrain and the air (checks: road-load vectors use the same
// 4 %; air at about 200 m above the sea).
const (
	Efficiency = 0.96
	AirDensity = 1.2     // kg/m³
	Gravity    = 9.80665 // m/s²
)

// wideCogs are a common cassette of twelve (common practice, no published source).
var wideCogs = []int{10, 12, 14, 16, 18, 21, 24, 28, 33, 39, 45, 51}

// Full is an hour on a trail with every sensor there is.
func Full(seed uint64) Spec {
	return Spec{
		Seed: seed, Pauses: 1, Stands: 2,
		Cadence: true, Power: true, Shifts: true, Odometer: true,
		Serial:  uint32(4_000_000 + seed%1_000_000),
		Sensors: Sensors(uint32(seed % 50_000)),
	}
}

// Sensors are the four that a bike can carry, with serial numbers of their own
// for each n: wheel speed, cadence, power and shifting.
func Sensors(n uint32) []wear.Sensor {
	var list []wear.Sensor
	for i, kind := range []uint8{123, 122, 11, 34} {
		serial := 100_000 + 10*n + uint32(i)
		list = append(list, wear.Sensor{Type: kind, Maker: makerDevelopment, Product: uint16(10 + i), Serial: serial, ANT: uint16(serial)})
	}
	return list
}

// Bench is the i-th of any number of distinct rides for benchmarks: every
// sensor, one record a second, about 1 h 50 min and 200 kB of FIT.
func Bench(i int) Spec {
	s := Full(uint64(i) + 1)
	s.Minutes = 110
	s.Start = defaultStart.Add(time.Duration(i) * 7 * time.Hour)
	return s
}

var defaultStart = time.Date(2026, 5, 2, 8, 30, 0, 0, time.UTC)

// filled returns the spec with its defaults in place.
func (s Spec) filled() Spec {
	s.Trail = or(s.Trail, s.Seed)
	s.Place = or(s.Place, Home)
	s.Watts = or(s.Watts, 200)
	s.Mass = or(s.Mass, wear.DefaultRiderMass+wear.DefaultBikeMass)
	s.Crr = or(s.Crr, wear.DefaultCrr)
	s.CdA = or(s.CdA, wear.DefaultCdA)
	s.Ring = or(s.Ring, 32)
	s.Wheel = or(s.Wheel, 2.3)
	s.Serial = or(s.Serial, 1)
	s.Name = or(s.Name, "Trail ride")
	if s.Start.IsZero() {
		s.Start = defaultStart
	}
	s.Start = s.Start.UTC().Truncate(time.Second)
	if len(s.Cogs) == 0 {
		s.Cogs = wideCogs
	}
	if s.Km == 0 {
		s.Minutes = or(s.Minutes, 60)
	}
	s.Hills = min(or(s.Hills, 25), 40)
	if s.Indoor || s.Hills < 0 {
		s.Hills, s.Uplifts = 0, 0
	}
	return s
}

// or is v, or the default where v is zero.
func or[T comparable](v, def T) T {
	var zero T
	if v == zero {
		return def
	}
	return v
}
