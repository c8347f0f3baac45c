package ingest

import (
	"cmp"
	"iter"
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
	r.out.Gears = wear.Gears{ByDevelopment: r.byDevelopment()}
	r.out.Gears.ByNumber, r.out.Gears.Teeth = r.byNumber()
}

// byDevelopment sorts steady pedalling by the metres that a turn of the crank
// makes. Against recorded gear changes this loose filter had the least error of
// the shares per cog; stricter ones favour steady gears.
func (r *reducer) byDevelopment() []wear.Gear {
	var bins [256]tally
	for i, metres := range r.steady() {
		b := &bins[uint8(wear.DevelopmentBin(metres)+64)]
		b.turns += r.turns[i]
		b.work += r.work[i]
	}
	var list []wear.Gear
	for k, b := range bins {
		list = b.appendTo(list, int16(k)-64)
	}
	return list
}

// steady goes through the steps that were pedalled steadily, with the metres
// that a turn of the crank made.
func (r *reducer) steady() iter.Seq2[int, float64] {
	return func(yield func(int, float64) bool) {
		dev, any := r.developments()
		if !any {
			return
		}
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
			if !yield(i, middle) {
				return
			}
		}
	}
}

// developments fills tmp with metres per turn, and reports whether there are any.
func (r *reducer) developments() (dev []float64, any bool) {
	dev, lag := r.tmp, r.lag()
	for i := range dev {
		dev[i] = math.NaN()
		if !r.spins(i) {
			continue
		}
		if v := r.speedAt(i, lag); v > slowest {
			dev[i] = v * 60 / r.samples[i].Cadence
			any = true
		}
	}
	return dev, any
}

// spins reports whether the crank turns fast enough at sample i to tell the gear.
func (r *reducer) spins(i int) bool {
	c := r.samples[i].Cadence
	return c >= steadyCadence && c <= fastestCadence && r.v[i] > slowest
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
// the shifting recorded, and tells the teeth that it took them for. What was
// before the first change is not known.
func (r *reducer) byNumber() (numbers, teeth []wear.Gear) {
	if len(r.track.Shifts) == 0 {
		return nil, nil
	}
	shifts := r.shifts()
	sums := gearSums{number: map[int16]*tally{}, teeth: map[int16]*tally{}}
	var into []*tally // the sums of the gear in hand: looked up once a change, not once a sample
	next := 0
	for i := 1; i < len(r.turns); i++ {
		for next < len(shifts) && shifts[next].T <= r.samples[i].T {
			into = sums.of(shifts[next], into[:0])
			next++
		}
		for _, sum := range into {
			sum.turns += r.turns[i]
			sum.work += r.work[i]
		}
	}
	return listed(sums.number), listed(sums.teeth)
}

// gearSums are the sums of each gear number and of each number of teeth.
type gearSums struct{ number, teeth map[int16]*tally }

// of appends the sums that count while a gear is in.
func (g gearSums) of(s Shift, into []*tally) []*tally {
	number := gearNumber(s)
	if number < 0 {
		return into
	}
	into = append(into, sumOf(g.number, number))
	if s.RearTeeth > 0 {
		into = append(into, sumOf(g.teeth, wear.TeethBin(int(s.Rear), int(s.RearTeeth))))
	}
	if s.FrontTeeth > 0 {
		into = append(into, sumOf(g.teeth, wear.TeethBin(0, int(s.FrontTeeth))))
	}
	return into
}

func sumOf(sums map[int16]*tally, bin int16) *tally {
	if sums[bin] == nil {
		sums[bin] = &tally{}
	}
	return sums[bin]
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

// listed are the sums in order of their bins.
func listed(sums map[int16]*tally) []wear.Gear {
	var list []wear.Gear
	for bin, b := range sums {
		list = b.appendTo(list, bin)
	}
	slices.SortFunc(list, func(a, b wear.Gear) int { return int(a.Bin) - int(b.Bin) })
	return list
}

// appendTo puts the tally at the end of the list, unless it is nothing.
func (b tally) appendTo(list []wear.Gear, bin int16) []wear.Gear {
	g := wear.Gear{Bin: bin, Turns: stored(wear.Turns, b.turns), Work: stored(wear.Work, b.work)}
	if g.Turns == 0 && g.Work == 0 {
		return list
	}
	return append(list, g)
}
