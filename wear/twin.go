package wear

import (
	"cmp"
	"slices"
)

// Sameness is whether two rides may be one outing.
type Sameness uint8

// What two rides are to each other.
const (
	Apart    Sameness = iota // two outings
	Same                     // one outing, told twice
	Compare                  // one only if their samples coincide; else Doubtful, or Apart where each has a bike
	Doubtful                 // only the user can tell
)

// The limits of what is one outing told twice; *common practice, no published
// source*. Two recordings of one ride begin and end within some minutes of each
// other, and differ in distance by what a wheel sensor and a satellite receiver
// differ by in woods.
const (
	twinOverlap  = 0.8 // of the shorter one's time
	doubtOverlap = 0.2
	twinDistance = 0.1  // of the longer one's distance
	sameSecond   = 1000 // ms between the starts of a damaged file and its whole one
	exportLag    = 5000 // ms between the starts of a recording and its export
	// Coincide is the share of sample times and positions from which on one
	// recording is an export of the other.
	Coincide = 0.9
)

// Sameness tells whether two rides are one outing. On one bike, which cannot be
// in two places, overlap in time and agreement of distance tell; overlap alone
// is asked about. Where a bike is not known yet, two friends may have ridden
// together: a sensor that both name tells, else the samples must. Two bikes, or
// distances that disagree, are two outings unless one sensor or one recording
// device was in both, which is asked about; so are two bikes whose rides began
// at once and coincide sample by sample. A damaged file and its whole one are
// the same outing where one device with a serial number, or one bike, began both in
// one second; of a device without a number the samples tell. What has no time of its own (typed in, a row of a table) is never a twin, and what the
// user told apart stays so.
func (r Ride) Sameness(o Ride) Sameness {
	if r.ID == o.ID || slices.Contains(r.Unlike, o.ID) || slices.Contains(o.Unlike, r.ID) || !r.timed() || !o.timed() {
		return Apart
	}
	if r.Salvaged != o.Salvaged && r.Format == o.Format && max(r.Start, o.Start)-min(r.Start, o.Start) <= sameSecond {
		switch {
		case r.Bike == o.Bike && r.Bike != 0, r.oneDevice(o):
			return Same
		case r.Device == o.Device, r.Device == (Sensor{}), o.Device == (Sensor{}): // one that is cut may not name it
			return Compare
		}
	}
	overlap := r.overlap(o)
	if overlap < doubtOverlap {
		return Apart
	}
	agree := overlap >= twinOverlap && r.agrees(o)
	if r.Bike != 0 && r.Bike == o.Bike {
		return either(agree, Same, Doubtful)
	}
	sensor := sharesSensor(r, o)
	switch {
	case !agree:
		return either(sensor, Doubtful, Apart)
	case r.Bike != 0 && o.Bike != 0: // one may have been told wrongly
		return either(sensor || exported(r, o), Doubtful, either(atOnce(r, o), Compare, Apart))
	}
	return either(sensor, Same, Compare)
}

func either(yes bool, a, b Sameness) Sameness {
	if yes {
		return a
	}
	return b
}

func (r Ride) timed() bool { return r.Format != Typed && r.Format != Table && r.Elapsed > 0 }

// oneDevice reports whether one device with a serial number recorded both.
func (r Ride) oneDevice(o Ride) bool { return r.Device == o.Device && isSerial(r.Device.Serial) }

// End is when the ride was over.
func (r Ride) End() Instant { return r.Start + Instant(r.Elapsed) }

// overlap is the time that both have in common, as a share of the shorter.
func (r Ride) overlap(o Ride) float64 {
	common := min(r.End(), o.End()) - max(r.Start, o.Start)
	return float64(max(common, 0)) / float64(min(r.Elapsed, o.Elapsed))
}

// agrees compares distances; moving times where one has none.
func (r Ride) agrees(o Ride) bool {
	for _, q := range []Quantity{Distance, Moving} {
		a, b := r.Total()[q], o.Total()[q]
		if a > 0 && b > 0 {
			return float64(max(a, b)-min(a, b)) <= twinDistance*float64(max(a, b))
		}
	}
	return false
}

// exported reports whether one may be an export of the other: of one recording
// device, and begun at once. Either alone says nothing: apps give all their
// users one serial number, and friends set off together.
func exported(a, b Ride) bool {
	d, e := a.Device, b.Device
	return isSerial(d.Serial) && d.Serial == e.Serial && (d.Maker == e.Maker || d.Maker == 0 || e.Maker == 0) &&
		atOnce(a, b)
}

// atOnce reports whether two rides began together, as a recording and its export do.
func atOnce(a, b Ride) bool { return max(a.Start, b.Start)-min(a.Start, b.Start) <= exportLag }

// sharesSensor reports whether both name one sensor by its serial number; ANT
// numbers are too few to tell. It also asks straps and trainers: a person rides
// one outing at a time.
func sharesSensor(a, b Ride) bool {
	return slices.ContainsFunc(a.Sensors, func(s Sensor) bool {
		return isSerial(s.Serial) && slices.ContainsFunc(b.Sensors, func(t Sensor) bool {
			return t.Type == s.Type && t.Serial == s.Serial
		})
	})
}

// Richer orders two recordings of one outing: above 0 where r is to count, so
// the same one counts whichever came first. A whole file counts before a
// damaged one, then whatever recorded more quantities, then a FIT before a TCX
// before a GPX, which keep less of what the device knew.
func (r Ride) Richer(o Ride) int {
	whole := func(r Ride) int {
		if r.Salvaged {
			return 0
		}
		return 1
	}
	return cmp.Or(
		whole(r)-whole(o),
		recorded(r)-recorded(o),
		fidelity(r.Format)-fidelity(o.Format),
		cmp.Compare(r.Total()[Moving], o.Total()[Moving]),
		slices.Compare(o.ID[:], r.ID[:]),
	)
}

// recorded counts the quantities of which more was recorded than estimated.
func recorded(r Ride) (n int) {
	for q := range NQuantities {
		if r.Recorded[q] > r.Estimated[q] {
			n++
		}
	}
	return n
}

func fidelity(f Format) int {
	return map[Format]int{FIT: 3, TCX: 2, GPX: 1}[f]
}
