package ingest

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"strings"

	"pawl/wear"
)

// fitSession is a session message as FIT stores it: one leg of the activity.
type fitSession struct {
	start, end     int64  // ms; 0 absent
	elapsed, timer uint32 // ms
	sport, sub     byte
	profile        string
	distance       uint32 // cm
	climb, descent uint16 // m
	cycles, work   uint32 // turns, J
	fraction       byte   // 1/128 turns
}

// fitLeg is a session with the stretch of time that is its own.
type fitLeg struct {
	fitSession
	no       int   // which session of the file
	from, to int64 // the samples that are its own: from ≤ t < to
	base     float64
	warning  string
}

// rides picks the legs that were ridden, and says what the others are.
func (f *fitFacts) rides() (rides []fitLeg, others []string) {
	named := false
	for _, s := range f.sessions {
		named = named || !unnamed(s.sport)
	}
	for _, l := range f.legs() {
		name := strings.ReplaceAll(sportName(l.sport), "_", " ")
		switch {
		case cycled(l.sport, l.sub):
		case !unnamed(l.sport):
			others = append(others, article(name)+" activity")
			continue
		case named:
			others = append(others, "a leg that names no sport")
			continue
		default:
			l.warning = "the file names no sport: counted as a ride"
		}
		rides = append(rides, l)
	}
	return rides, others
}

// legs gives every session its own stretch of time. A single one has all
// samples, wherever it says that it starts and ends.
func (f *fitFacts) legs() []fitLeg {
	if len(f.sessions) == 0 {
		return []fitLeg{{fitSession: fitSession{elapsed: no32, timer: no32, sport: f.lapSport, sub: no8, distance: no32,
			climb: no16, descent: no16, cycles: no32, work: no32, fraction: no8}, from: math.MinInt64, to: math.MaxInt64}}
	}
	legs := make([]fitLeg, len(f.sessions))
	for i, s := range f.sessions {
		legs[i] = fitLeg{fitSession: s, from: math.MinInt64, to: math.MaxInt64}
	}
	if len(legs) == 1 {
		return legs
	}
	slices.SortStableFunc(legs, func(a, b fitLeg) int { return cmp.Compare(a.begin(), b.begin()) })
	for i := range legs {
		l := &legs[i]
		l.no, l.from = i, l.begin()
		if end := l.finish(); end > l.from {
			l.to = end + 1000 // the last point may come in the session's last second
		}
		if i > 0 {
			legs[i-1].to = min(legs[i-1].to, l.from)
			l.base = f.odometer(l.from)
		}
	}
	return legs
}

// begin is when a session starts, as well as it tells.
func (s fitSession) begin() int64 {
	if s.start == 0 && s.end != 0 && s.elapsed != no32 {
		return s.end - int64(s.elapsed)
	}
	return s.start
}

// finish is when a session ends; its begin where it does not say. Some devices
// write the start as the end, too.
func (s fitSession) finish() int64 {
	end := max(s.end, s.begin())
	if s.elapsed != no32 {
		end = max(end, s.begin()+int64(s.elapsed))
	}
	return end
}

// between is the samples of from ≤ t < to. They must be in order.
func (f *fitFacts) between(from, to int64) []Sample {
	i := sort.Search(len(f.samples), func(i int) bool { return f.samples[i].T >= from })
	j := sort.Search(len(f.samples), func(i int) bool { return f.samples[i].T >= to })
	return f.samples[i:max(i, j):max(i, j)]
}

// odometer is the last distance before a time, NaN where there is none.
func (f *fitFacts) odometer(before int64) float64 {
	samples := f.between(math.MinInt64, before)
	for i := len(samples) - 1; i >= 0; i-- {
		if d := samples[i].Dist; !math.IsNaN(d) {
			return d
		}
	}
	return math.NaN()
}

// totals are the device's own sums of a leg. A zero counts only where the
// samples have what it sums: devices without a sensor write zeros.
func (l fitLeg) totals(samples []Sample) Totals {
	dist, alt, cadence, power := sampled(samples)
	t := Totals{
		Distance: unlessZero(scaled(l.distance, no32, 100, 0), dist),
		Climb:    unlessZero(scaled(uint32(l.climb), no16, 1, 0), alt),
		Descent:  unlessZero(scaled(uint32(l.descent), no16, 1, 0), alt),
		Moving:   unlessZero(scaled(l.timer, no32, 1000, 0), false),
		Turns:    scaled(l.cycles, no32, 1, 0),
		Work:     unlessZero(scaled(l.work, no32, 1, 0), power),
	}
	if l.fraction != no8 {
		t.Turns += float64(l.fraction) / 128
	}
	t.Turns = unlessZero(t.Turns, cadence)
	// The field holds strides or strokes where the sport is not cycling.
	if !cycled(l.sport, l.sub) {
		t.Turns = math.NaN()
	}
	return t
}

// sampled reports what any sample has: some way covered, altitude, cadence, power.
func sampled(samples []Sample) (dist, alt, cadence, power bool) {
	for i := range samples {
		s := &samples[i]
		dist = dist || s.Dist > 0 || s.Speed > 0 || !math.IsNaN(s.Lat)
		alt = alt || !math.IsNaN(s.Alt)
		cadence = cadence || !math.IsNaN(s.Cadence)
		power = power || !math.IsNaN(s.Power)
		if dist && alt && cadence && power {
			break
		}
	}
	return dist, alt, cadence, power
}

func unlessZero(v float64, sampled bool) float64 {
	if v == 0 && !sampled {
		return math.NaN()
	}
	return v
}

// track makes the track of a leg; nil where it has neither two points nor totals.
func (f *fitFacts) track(l fitLeg) *Track {
	samples := f.between(l.from, l.to)
	t := &Track{Format: wear.FIT, Sport: sportName(l.sport), Indoor: indoor(l.sub), Offset: f.offset,
		Samples: rebased(samples, l.base), Totals: l.totals(samples), Device: f.device, Profile: l.profile,
		Sensors: slices.Clone(f.sensors), Warnings: slices.Clone(f.warnings)}
	if l.warning != "" {
		t.Warnings = append(t.Warnings, l.warning)
	}
	if len(samples) < 2 {
		if l.begin() == 0 || math.IsNaN(t.Totals.Distance) && math.IsNaN(t.Totals.Moving) {
			return nil
		}
		t.Warnings = append(t.Warnings, "no points: only the device's totals count")
	} else if !t.Indoor && !positioned(samples) {
		t.Warnings = append(t.Warnings, "no positions: it may have been ridden on a trainer")
	}
	t.Start, t.End = l.extent(samples)
	t.Pauses = f.pauses(t.Start, t.End)
	t.Shifts = f.shiftsOf(t.Start, t.End)
	return t
}

func positioned(samples []Sample) bool {
	for i := range samples {
		if !math.IsNaN(samples[i].Lat) {
			return true
		}
	}
	return false
}

// extent is when a leg starts and ends: as the session says where that is within
// a day of its samples, and never within them.
func (l fitLeg) extent(samples []Sample) (start, end int64) {
	start, end = l.begin(), l.finish()
	if len(samples) == 0 {
		return start, end
	}
	first, last := samples[0].T, samples[len(samples)-1].T
	if start == 0 || start > first || first-start > wear.Day {
		start = first
	}
	if end < last || end-last > wear.Day {
		end = last
	}
	return start, end
}

// rebased counts a leg's odometer from its own start, where the device counted
// on from the leg before.
func rebased(samples []Sample, base float64) []Sample {
	if !(base > 0) {
		return samples
	}
	for _, s := range samples {
		if !math.IsNaN(s.Dist) && s.Dist < base {
			return samples
		}
	}
	for i := range samples {
		samples[i].Dist -= base
	}
	return samples
}
