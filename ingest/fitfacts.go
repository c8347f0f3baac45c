package ingest

import (
	"math"
	"time"

	"pawl/wear"
)

// The FIT epoch, 1989-12-31 00:00:00 UTC, in Unix seconds (vendor's developer
// documentation), and the time, in ms of UTC, below which a time only counts
// seconds since the device was switched on (FIT profile, type date_time).
const (
	fitEpoch    = 631_065_600
	fitClockSet = (fitEpoch + 0x10000000) * 1000
)

// What FIT writes where it has no value.
const (
	no8  = math.MaxUint8
	no16 = math.MaxUint16
	no32 = math.MaxUint32
	noS4 = math.MaxInt32
)

// fitFacts is what one part of a FIT file tells, in the order of the file and
// whichever library read it.
type fitFacts struct {
	device   wear.Sensor
	samples  []Sample
	untimed  int // points without a time, left out
	sessions []fitSession
	lapSport byte // of the last lap, for files without a session
	mixed    bool // of a damaged file: several sports are named
	timers   []fitTimer
	shifts   []Shift
	sensors  []wear.Sensor
	offset   int32
	warnings []string
}

// fitTimer is a start or stop of the device's timer.
type fitTimer struct {
	t       int64
	running bool
}

// fitRecord is a record message as FIT stores it.
type fitRecord struct {
	t          int64 // ms; 0 absent
	lat, lon   int32 // semicircles
	alt, speed uint32
	alt16      uint16
	speed16    uint16
	dist       uint32
	cadence    byte
	fraction   byte
	cadence256 uint16
	power      uint16
}

// noRecord is a record without any value.
var noRecord = fitRecord{lat: noS4, lon: noS4, alt: no32, speed: no32, alt16: no16, speed16: no16,
	dist: no32, cadence: no8, fraction: no8, cadence256: no16, power: no16}

// add converts a record to a sample in SI units; scales as in the FIT profile.
func (f *fitFacts) add(r *fitRecord) {
	if r.t == 0 {
		f.untimed++
		return
	}
	s := Sample{T: r.t, Lat: math.NaN(), Lon: math.NaN(), Cadence: r.rpm(),
		Alt: scaled(r.alt, no32, 5, 500), Dist: scaled(r.dist, no32, 100, 0),
		Speed: scaled(r.speed, no32, 1000, 0), Power: scaled(uint32(r.power), no16, 1, 0)}
	// A position of exactly 0, 0 is what devices write before they have one; the
	// north pole is none for tormoder/fit.
	if r.lat != noS4 && r.lon != noS4 && (r.lat != 0 || r.lon != 0) && r.lat >= -1<<30 && r.lat < 1<<30 {
		s.Lat, s.Lon = degrees(r.lat), degrees(r.lon)
	}
	if r.alt == no32 {
		s.Alt = scaled(uint32(r.alt16), no16, 5, 500)
	}
	if r.speed == no32 {
		s.Speed = scaled(uint32(r.speed16), no16, 1000, 0)
	}
	f.samples = append(f.samples, s)
}

// rpm is the cadence with its fraction (1/128 turns a minute) where there is one.
func (r *fitRecord) rpm() float64 {
	if r.cadence == no8 {
		return scaled(uint32(r.cadence256), no16, 256, 0)
	}
	if r.fraction == no8 {
		return float64(r.cadence)
	}
	return float64(r.cadence) + float64(r.fraction)/128
}

// degrees converts semicircles: 180° / 2³¹ each.
func degrees(semicircles int32) float64 { return float64(semicircles) * (180.0 / (1 << 31)) }

// scaled converts a stored integer; NaN where it is absent.
func scaled(v, absent uint32, scale, offset float64) float64 {
	if v == absent {
		return math.NaN()
	}
	return float64(v)/scale - offset
}

// fitMillis is a library's time in ms of UTC; 0 where it is absent.
func fitMillis(t time.Time) int64 {
	if s := t.Unix(); s > fitEpoch {
		return s * 1000
	}
	return 0
}

// fitSeconds is a stored time in ms of UTC; 0 where it is absent.
func fitSeconds(t uint32) int64 {
	if t == no32 || t == 0 {
		return 0
	}
	return (int64(t) + fitEpoch) * 1000
}

// Events of the FIT profile that matter.
const (
	eventTimer     = 0
	eventFrontGear = 42
	eventRearGear  = 43
)

// event takes a timer or gear change event; others pass by.
func (f *fitFacts) event(t int64, event, kind byte, data uint32) {
	if t == 0 {
		return
	}
	switch event {
	case eventTimer:
		f.timer(t, kind)
	case eventFrontGear, eventRearGear:
		if data != no32 {
			f.shifts = append(f.shifts, Shift{T: t, Rear: gear(data), RearTeeth: gear(data >> 8),
				Front: gear(data >> 16), FrontTeeth: gear(data >> 24)})
		}
	}
}

// timer takes a start (0) or one of the kinds of stop.
func (f *fitFacts) timer(t int64, kind byte) {
	switch kind {
	case 0:
		f.timers = append(f.timers, fitTimer{t, true})
	case 1, 4, 8, 9:
		f.timers = append(f.timers, fitTimer{t, false})
	}
}

// gear is a gear number or tooth count; 0 and 255 are none.
func gear(data uint32) uint8 {
	if g := uint8(data); g != no8 {
		return g
	}
	return 0
}

// zone takes the activity message's own time in UTC and on the wall. Offsets go
// by quarters of an hour; the two times may be some seconds apart. Of several
// such messages the last counts, as tormoder/fit keeps no other.
func (f *fitFacts) zone(utc, wall int64) {
	const quarter = 900_000
	f.offset = 0
	if utc == 0 || wall == 0 {
		return
	}
	d := math.Round(float64(wall-utc)/quarter) * quarter
	if math.Abs(d) <= 15*3_600_000 {
		f.offset = int32(d / 1000)
	}
}
