package wear

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Pair is what one recorded ride says of a quantity: what was recorded, and
// what the fixed figures make of the same ride where only the figures are known
// that a reading or a typed ride gives. Both in SI.
type Pair struct{ Fixed, Recorded float64 }

// Habit is what the rides of bikes of a kind have of a quantity for each that
// the fixed figures give. The zero value is the fixed figures alone.
type Habit struct {
	Of    float64 // recorded for each that the fixed figures give; 0 = nothing is known
	Rides int     // from which it was learned
}

// Usual is what rides of bikes of a kind usually ask of a bike.
type Usual [NQuantities]Habit

// How far recorded rides are believed (common practice, no published source).
const (
	usualPrior  = 10.0 // rides that the fixed figures are worth
	usualSpread = 2.0  // a ride speaks for no more than this times the median, nor less than that part of it
	usualWeight = 3.0  // nor does it weigh more than this many middling ones
	usualMost   = 10.0 // times the fixed figures at most, or that part of them at least
)

// Learn is the habit that recorded rides tell, in any order: the ratio of what
// they recorded to what the fixed figures give them, so that a long ride counts
// for more than a short one, drawn towards the fixed figures as if those were
// ten rides more. No single ride, however odd, moves it far: see the bounds above.
func Learn(rides []Pair) Habit {
	known := slices.DeleteFunc(slices.Clone(rides), func(p Pair) bool {
		return !(p.Fixed > 0 && p.Recorded >= 0) || math.IsInf(p.Fixed, 0) || math.IsInf(p.Recorded, 0)
	})
	if len(known) == 0 {
		return Habit{}
	}
	slices.SortFunc(known, func(a, b Pair) int {
		return cmp.Or(cmp.Compare(a.Recorded/a.Fixed, b.Recorded/b.Fixed), cmp.Compare(a.Fixed, b.Fixed))
	})
	middle := known[len(known)/2]
	ratio, weight := middle.Recorded/middle.Fixed, usualWeight*middling(known)
	var fixed, recorded float64
	for _, p := range known {
		w := min(p.Fixed, weight)
		fixed += w
		recorded += w * min(max(p.Recorded/p.Fixed, ratio/usualSpread), ratio*usualSpread)
	}
	of := min(max(recorded/fixed, 1/usualMost), usualMost)
	n := float64(len(known))
	return Habit{Of: math.Exp(math.Log(of) * n / (n + usualPrior)), Rides: len(known)}
}

// middling is the median of what the fixed figures give.
func middling(rides []Pair) float64 {
	fixed := make([]float64, len(rides))
	for i, p := range rides {
		fixed[i] = p.Fixed
	}
	slices.Sort(fixed)
	return fixed[len(fixed)/2]
}

// Ratio is by how much the fixed figure of a quantity is multiplied.
func (u Usual) Ratio(q Quantity) float64 {
	if u[q].Of > 0 {
		return u[q].Of
	}
	return 1
}

// Say says on what the estimates of those quantities rest: "estimated as 214
// recorded rides of trail bikes have it". Kind is what the bikes are, "" = not
// said. Where they rest on different rides, each part is named.
func (u Usual) Say(estimated Set, kind string) string {
	rides, byFixed := map[int]Set{}, Set(0)
	for _, q := range estimated.List() {
		if n := u[q].Rides; n > 0 {
			rides[n] = rides[n].With(q)
		} else {
			byFixed = byFixed.With(q)
		}
	}
	if len(rides) == 0 {
		return "estimated as such bikes commonly have it"
	}
	var said []string
	for _, n := range sortedCounts(rides) {
		said = append(said, rides[n].words(estimated)+"estimated as "+ridesOf(n, kind))
	}
	if byFixed != 0 {
		said = append(said, byFixed.words(estimated)+"as such bikes commonly have it")
	}
	return strings.Join(said, "; ")
}

// words names the quantities of a set, unless they are all.
func (s Set) words(all Set) string {
	if s == all {
		return ""
	}
	var names []string
	for _, q := range s.List() {
		names = append(names, q.String())
	}
	return strings.Join(names, ", ") + " "
}

func sortedCounts(rides map[int]Set) []int {
	counts := make([]int, 0, len(rides))
	for n := range rides {
		counts = append(counts, n)
	}
	slices.Sort(counts)
	slices.Reverse(counts)
	return counts
}

func ridesOf(n int, kind string) string {
	bikes := "such bikes"
	if kind != "" {
		bikes = kind + " bikes"
	}
	if n == 1 {
		return fmt.Sprintf("1 recorded ride of %s has it", bikes)
	}
	return fmt.Sprintf("%d recorded rides of %s have it", n, bikes)
}
