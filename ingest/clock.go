package ingest

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"pawl/wear"
)

// longestStep is the most time, in s, that one step between two samples can
// add. With the timer stops subtracted first it brought 57 of 59 real files
// within 1 % of the device's own timer; dropping long steps, 53.
const longestStep = 30

// clock fills the time of every step: what passed, what was ridden, and where
// nothing joins two samples.
func (r *reducer) clock(pauses []Pause, breaks []int) {
	p, b := 0, 0
	for i := 1; i < len(r.samples); i++ {
		from, to := r.samples[i-1].T, r.samples[i].T
		gap := seconds(from, to)
		var stopped float64
		stopped, p = overlap(pauses, p, from, to)
		for b < len(breaks) && breaks[b] < i {
			b++
		}
		broken := b < len(breaks) && breaks[b] == i
		r.t[i] = r.t[i-1] + gap
		r.gap[i] = gap
		r.dt[i] = min(max(gap-stopped, 0), longestStep)
		if broken {
			r.dt[i] = 0
		}
		r.broken[i] = broken
		r.cut[i] = broken || (stopped > 0 && stopped > gap/2)
	}
}

// seconds is the time between two instants; it cannot overflow.
func seconds(from, to int64) float64 { return (float64(to) - float64(from)) / 1000 }

// overlap is the time in s that the pauses take from the step. Pauses are in
// order and apart; p is the first that can matter, returned for the next step.
func overlap(pauses []Pause, p int, from, to int64) (float64, int) {
	for p < len(pauses) && pauses[p].To <= from {
		p++
	}
	var sum float64
	for k := p; k < len(pauses) && pauses[k].From < to; k++ {
		sum += seconds(max(from, pauses[k].From), min(to, pauses[k].To))
	}
	return sum, p
}

// tidyPauses puts pauses in order and joins those that touch. The argument is
// not changed.
func tidyPauses(pauses []Pause) []Pause {
	var tidy []Pause
	for _, p := range slices.SortedFunc(slices.Values(pauses), func(a, b Pause) int {
		return cmp.Compare(a.From, b.From)
	}) {
		switch n := len(tidy); {
		case p.To <= p.From:
		case n > 0 && p.From <= tidy[n-1].To:
			tidy[n-1].To = max(tidy[n-1].To, p.To)
		default:
			tidy = append(tidy, p)
		}
	}
	return tidy
}

// inOrder returns the samples in order of time and the breaks that belong to
// them. Samples already in order, as nearly all are, come back as they are.
func inOrder(samples []Sample, breaks []int) ([]Sample, []int) {
	byTime := func(a, b Sample) int { return cmp.Compare(a.T, b.T) }
	if slices.IsSortedFunc(samples, byTime) {
		if !slices.IsSorted(breaks) {
			breaks = slices.Clone(breaks)
			slices.Sort(breaks)
		}
		return samples, breaks
	}
	begins := make(map[int]bool, len(breaks))
	for _, b := range breaks {
		begins[b] = true
	}
	index := make([]int, len(samples))
	for i := range index {
		index[i] = i
	}
	sort.SliceStable(index, func(a, b int) bool { return samples[index[a]].T < samples[index[b]].T })
	sorted := make([]Sample, len(samples))
	var moved []int
	for to, from := range index {
		sorted[to] = samples[from]
		if begins[from] {
			moved = append(moved, to)
		}
	}
	return sorted, moved
}

// ridden is the time of the ride in s: the device's own timer where it is
// plausible beside the steps, else the steps; less the share of the lifts.
func (r *reducer) ridden() {
	whole := r.moving + r.carried.time
	total := r.total(r.track.Totals.Moving, wear.Moving)
	if math.Abs(total-whole) <= 0.15*whole+longestStep {
		r.record(wear.Moving, total*share(r.moving, whole, 1))
		return
	}
	if !math.IsNaN(total) {
		r.unfit("timer time", clockTime(total), clockTime(whole))
	}
	r.record(wear.Moving, r.moving)
}
