package wear

import (
	"cmp"
	"slices"
)

// Meter is what of a bike counts by itself and is read now and then.
type Meter uint8

// The meters.
const (
	WayMeter  Meter = iota // an odometer: metres ridden
	HourMeter              // minutes ridden
)

// Shows is what the meter shows, in metres or minutes.
func (o Odometer) Shows() int64 {
	if o.Of == HourMeter {
		return o.Ran
	}
	return o.Metres
}

// Since is how much the meter has counted since the reading before it, in metres
// or minutes: of a new one since it was fitted. What the old one counted in its
// last days nobody has read.
func (o Odometer) Since(before Odometer) int64 {
	if o.Replaced {
		return o.Shows() - o.Began
	}
	return o.Shows() - before.Shows()
}

// Gap is the time between two readings of a meter, and what was ridden in it.
// Rides that start after the one instant and not after the other lie in it.
type Gap struct {
	Before, After Odometer // the readings; the ride of After is its rest
	Metres        int64    // of its odometer; -1 = not known
	Minutes       int64    // of its hour meter, or as given with the reading; -1 = not known
	Climb         int64    // m, as given with the reading; -1 = not known
}

// Readings are the readings of one meter that count, in order: of one instant
// the last of the old meter comes before the first of the new, the less before
// the more. The list is not changed.
func Readings(list []Odometer, of Meter) []Odometer {
	var chain []Odometer
	for _, o := range list {
		if !o.Void && o.Of == of {
			chain = append(chain, o)
		}
	}
	slices.SortFunc(chain, func(a, b Odometer) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(boolInt(a.Replaced), boolInt(b.Replaced)),
			cmp.Compare(a.Shows(), b.Shows()), cmp.Compare(a.ID, b.ID))
	})
	return chain
}

// RunsBack returns the neighbour in time before or behind which a reading cannot
// be, since the meter would have run back; nil where it fits. The list are the
// other readings of the bike.
func RunsBack(list []Odometer, o Odometer) *Odometer {
	chain := Readings(append(slices.Clone(list), o), o.Of)
	i := slices.Index(chain, o)
	switch {
	case i > 0 && !o.Replaced && chain[i].Shows() < chain[i-1].Shows():
		return &chain[i-1]
	case i+1 < len(chain) && !chain[i+1].Replaced && chain[i+1].Shows() < chain[i].Shows():
		return &chain[i+1]
	}
	return nil
}

// Gaps are the times between the readings of a bike, however they came in. Where
// both its meters were read on the same days, the hours are of the ways. Else the
// odometer wins: hours read while it was counting make no gap of their own.
func Gaps(list []Odometer) []Gap {
	ways, hours := Readings(list, WayMeter), Readings(list, HourMeter)
	var gaps []Gap
	for i := 1; i < len(ways); i++ {
		o := ways[i]
		gaps = append(gaps, Gap{
			Before: ways[i-1], After: o, Metres: o.Since(ways[i-1]),
			Minutes: hoursBetween(hours, ways[i-1].At, o), Climb: orUnknown(o.Climb),
		})
	}
	for i := 1; i < len(hours); i++ {
		from, to := hours[i-1], hours[i]
		if len(ways) > 1 && ways[0].At < to.At && ways[len(ways)-1].At > from.At {
			continue
		}
		gaps = append(gaps, Gap{Before: from, After: to, Metres: -1, Minutes: to.Since(from), Climb: orUnknown(to.Climb)})
	}
	return gaps
}

// hoursBetween are the minutes that the hour meter counted up to a reading of
// the odometer, where it was read on the same two days; else those that were
// given with the reading, -1 where there are none.
func hoursBetween(hours []Odometer, from Instant, o Odometer) int64 {
	first, last, sum := -1, -1, int64(0)
	for i, h := range hours {
		if first >= 0 && h.At <= o.At {
			sum += h.Since(hours[i-1])
		}
		if h.At == from {
			first, sum = i, 0
		}
		if h.At == o.At {
			last = i
		}
	}
	if first >= 0 && last > first {
		return sum
	}
	return orUnknown(o.Minutes)
}

func orUnknown(given int64) int64 {
	if given == 0 {
		return -1
	}
	return given
}
