package ingest

import (
	"cmp"
	"math"
	"slices"

	"pawl/wear"
)

const (
	steadyCadence = 40  // turns a minute: below, speed ÷ cadence says little
	steadySpread  = 0.2 // of the median: more is a shift, a start or a stop
	steadyHalf    = 2   // s on either side of the median
	steadyFar     = 10  // s: neighbours are further apart than that only across a gap
	fewest        = 3   // values that a median needs
	lowestGear    = 0.5 // m per turn of the crank
	highestGear   = 15
)

// tally is turns and work of one gear while summing.
type tally struct{ turns, work float64 }

// gears sorts turns and work by development and by recorded gear number.
func (r *reducer) gears() {
	r.out.Gears = wear.Gears{ByDevelopment: r.byDevelopment(), ByNumber: r.byNumber()}
}

// byDevelopment sorts steady pedalling by the metres that a turn of the crank
// makes. Against recorded gear changes this loose filter had 90 % on the right
// cog, 97–99.6 % on it or the next, and the least error of the shares per cog;
// stricter ones favour steady gears.
func (r *reducer) byDevelopment() []wear.Gear {
	dev, any := r.developments()
	if !any {
		return nil
	}
	var bins [256]tally
	var near [16]float64
	for i := 1; i < len(dev); i++ {
		if math.IsNaN(dev[i]) {
			continue
		}
		n := r.neighbours(dev, i, &near)
		if n < fewest {
			continue
		}
		sorted := near[:n]
		slices.Sort(sorted)
		middle := sorted[n/2]
		if n%2 == 0 {
			middle = (sorted[n/2-1] + sorted[n/2]) / 2
		}
		if sorted[n-1]-sorted[0] >= steadySpread*middle || middle < lowestGear || middle > highestGear {
			continue
		}
		b := &bins[uint8(wear.DevelopmentBin(middle)+64)]
		b.turns += r.turns[i]
		b.work += r.work[i]
	}
	var list []wear.Gear
	for k, b := range bins {
		list = b.appendTo(list, int16(k)-64)
	}
	return list
}

// developments fills tmp with metres per turn, and reports whether there are any.
func (r *reducer) developments() (dev []float64, any bool) {
	dev = r.tmp
	for i := range dev {
		dev[i] = math.NaN()
		c, v := r.samples[i].Cadence, r.v[i]
		if c >= steadyCadence && c <= fastestCadence && v > slowest {
			dev[i] = v * 60 / c
			any = true
		}
	}
	return dev, any
}

// neighbours gathers the values around i: those within steadyHalf, and one on
// either side where samples are further apart.
func (r *reducer) neighbours(dev []float64, i int, near *[16]float64) int {
	near[0] = dev[i]
	n := 1
	for _, way := range [2]int{-1, 1} {
		for k := i + way; k >= 0 && k < len(dev) && n < len(near)-2; k += way {
			away := math.Abs(r.t[k] - r.t[i])
			if away > steadyFar || (away > steadyHalf && k != i+way) || r.cut[max(k, k-way)] {
				break
			}
			if !math.IsNaN(dev[k]) {
				near[n] = dev[k]
				n++
			}
		}
	}
	return n
}

// byNumber sorts turns and work, estimated ones too, by the gear numbers that
// the shifting recorded. What was before the first change is not known.
func (r *reducer) byNumber() []wear.Gear {
	if len(r.track.Shifts) == 0 {
		return nil
	}
	shifts := r.shifts()
	sums := make(map[int16]tally)
	next, now := 0, int16(-1)
	for i := 1; i < len(r.turns); i++ {
		for next < len(shifts) && shifts[next].T <= r.samples[i].T {
			now = gearNumber(shifts[next])
			next++
		}
		if now >= 0 {
			b := sums[now]
			b.turns += r.turns[i]
			b.work += r.work[i]
			sums[now] = b
		}
	}
	var list []wear.Gear
	for bin, b := range sums {
		list = b.appendTo(list, bin)
	}
	slices.SortFunc(list, func(a, b wear.Gear) int { return int(a.Bin) - int(b.Bin) })
	return list
}

// shifts are the gear changes in order of time.
func (r *reducer) shifts() []Shift {
	shifts := r.track.Shifts
	if !slices.IsSortedFunc(shifts, byTime) {
		shifts = slices.Clone(shifts)
		slices.SortStableFunc(shifts, byTime)
	}
	return shifts
}

func byTime(a, b Shift) int { return cmp.Compare(a.T, b.T) }

// gearNumber is front*64+rear; -1 where the rear gear is none. Devices write 0
// or 255 for none; no front means a single ring.
func gearNumber(s Shift) int16 {
	if s.Rear == 0 || s.Rear >= 64 {
		return -1
	}
	front := int16(s.Front)
	if front >= 64 {
		front = 0
	}
	return front*64 + int16(s.Rear)
}

// appendTo puts the tally at the end of the list, unless it is nothing.
func (b tally) appendTo(list []wear.Gear, bin int16) []wear.Gear {
	g := wear.Gear{Bin: bin, Turns: stored(wear.Turns, b.turns), Work: stored(wear.Work, b.work)}
	if g.Turns == 0 && g.Work == 0 {
		return list
	}
	return append(list, g)
}
