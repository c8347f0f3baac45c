package ingest

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"

	"pawl/wear"
)

// maxTail is how many points beside a leap of more than a day are nonsense
// rather than another day's ride: damage and clocks not yet set leave one or two.
const maxTail = 3

// tidy puts the samples in order of time and drops what cannot be: points
// without a time, times that run backwards, leaps of more than a day at the ends.
func (f *fitFacts) tidy() error {
	f.drop(f.untimed, "without a time")
	f.dated()
	total := len(f.samples)
	kept, backwards := ascending(f.samples)
	if backwards > total/2 {
		return refused(setClock,
			"times run backwards at %d of %d points", backwards, total)
	}
	f.drop(backwards, "whose time runs backwards")
	kept = joined(kept)
	kept, leapt := withoutLeaps(kept)
	f.drop(leapt, "whose time leaps by more than a day")
	f.samples = kept
	slices.SortStableFunc(f.timers, func(a, b fitTimer) int { return cmp.Compare(a.t, b.t) })
	slices.SortStableFunc(f.shifts, func(a, b Shift) int { return cmp.Compare(a.T, b.T) })
	return nil
}

// dated drops what came before the device's clock was set, where it was set at
// all: such times count from when the device was switched on.
func (f *fitFacts) dated() {
	before := 0
	for i := range f.samples {
		if f.samples[i].T < fitClockSet {
			before++
		}
	}
	if before == len(f.samples) && before > 0 {
		return
	}
	if before > 0 {
		f.samples = slices.DeleteFunc(f.samples, func(s Sample) bool { return s.T < fitClockSet })
		f.drop(before, "from before the device's clock was set")
	}
	f.timers = slices.DeleteFunc(f.timers, func(e fitTimer) bool { return e.t < fitClockSet })
	f.shifts = slices.DeleteFunc(f.shifts, func(s Shift) bool { return s.T < fitClockSet })
	for i := range f.sessions {
		s := &f.sessions[i]
		if s.start < fitClockSet {
			s.start = 0
		}
		if s.end < fitClockSet {
			s.end = 0
		}
	}
}

// drop warns of points that were left out.
func (f *fitFacts) drop(n int, which string) {
	if n > 0 {
		f.warnings = append(f.warnings, fmt.Sprintf("%s %s left out", plural(n, "point"), which))
	}
}

// ascending keeps the longest run of samples whose times do not decrease, so that
// a clock that was set during the ride costs the shorter side only.
func ascending(samples []Sample) (kept []Sample, dropped int) {
	sorted := true
	for i := 1; i < len(samples) && sorted; i++ {
		sorted = samples[i-1].T <= samples[i].T
	}
	if sorted {
		return samples, 0
	}
	// ends[k] is the sample that the best run of k+1 ends in; before links them.
	var ends []int
	before := make([]int, len(samples))
	for i, s := range samples {
		k := sort.Search(len(ends), func(k int) bool { return samples[ends[k]].T > s.T })
		before[i] = -1
		if k > 0 {
			before[i] = ends[k-1]
		}
		if k == len(ends) {
			ends = append(ends, i)
		} else {
			ends[k] = i
		}
	}
	kept = make([]Sample, len(ends))
	for i, k := ends[len(ends)-1], len(ends)-1; k >= 0; i, k = before[i], k-1 {
		kept[k] = samples[i]
	}
	return kept, len(samples) - len(kept)
}

// joined makes one sample of those that share a time: devices split what
// several sensors said in one second over several messages. The last word wins.
func joined(samples []Sample) []Sample {
	n := 0 // samples kept so far
	for i := range samples {
		switch {
		case n > 0 && samples[n-1].T == samples[i].T:
			samples[n-1] = over(samples[n-1], samples[i])
		case n < i:
			samples[n] = samples[i]
			n++
		default:
			n++
		}
	}
	return samples[:n]
}

// over is b where it has a value, else a.
func over(a, b Sample) Sample {
	for _, v := range [...]struct{ from, to *float64 }{{&a.Lat, &b.Lat}, {&a.Lon, &b.Lon}, {&a.Alt, &b.Alt},
		{&a.Dist, &b.Dist}, {&a.Speed, &b.Speed}, {&a.Cadence, &b.Cadence}, {&a.Power, &b.Power}} {
		if math.IsNaN(*v.to) {
			*v.to = *v.from
		}
	}
	return b
}

// withoutLeaps drops the few samples before a leap of more than a day at the
// start and after one at the end. A leap between many is a ride of several days.
func withoutLeaps(s []Sample) (kept []Sample, dropped int) {
	n := len(s)
	for i := 1; i <= maxTail && i < len(s)-maxTail; i++ {
		if s[i].T-s[i-1].T > wear.Day {
			s = s[i:]
			break
		}
	}
	for i := len(s) - 1; i >= max(len(s)-maxTail, 1); i-- {
		if s[i].T-s[i-1].T > wear.Day {
			s = s[:i]
		}
	}
	return s, n - len(s)
}

// pauses are the stretches from each stop of the timer to the next start,
// within start and end. A last stop without a start lasts to the end.
func (f *fitFacts) pauses(start, end int64) []Pause {
	var list []Pause
	stopped := int64(math.MinInt64)
	paused := false
	for _, e := range append(f.timers[:len(f.timers):len(f.timers)], fitTimer{end, true}) {
		switch {
		case !e.running && !paused:
			stopped, paused = e.t, true
		case e.running && paused:
			paused = false
			if from, to := max(stopped, start), min(e.t, end); to > from {
				list = append(list, Pause{from, to})
			}
		}
	}
	return list
}

// shiftsOf are the gear changes within start and end, and at the start the gear
// that the last one before it left.
func (f *fitFacts) shiftsOf(start, end int64) []Shift {
	var list []Shift
	for _, s := range f.shifts {
		switch {
		case s.T > end:
			return list
		case s.T > start || len(list) == 0:
			list = append(list, s)
		default:
			list[0] = s
		}
		list[0].T = max(list[0].T, start)
	}
	return list
}
