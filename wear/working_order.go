package wear

import (
	"cmp"
	"slices"
)

// benches are the families of parts in the order in which a bike is worked on
// at the stand, group by group: common practice, no published source. What
// carries the rest comes first; the chain is oiled before pads and rotors are
// clean; a chain goes on last; bolts are set once nothing is taken off again.
var benches = [...][]string{
	{"frame", "linkage"},
	{"shock", "fork", "dropper"},
	{"headset", "bottom-bracket", "crank"},
	{"cassette", "ring", "drive-idler", "idler", "guide", "derailleur-pulleys", "cable", "chain"},
	{"rotor", "pads", "brake-fluid"},
	{"wheel", "hub", "tyre", "sealant"},
	{}, // kinds that the schedule does not know
	{"pivot-bolts", "stem-bar-bolts", "crank-bolt", "ring-bolts", "guide-bolts", "pedals", "caliper-bolts", "axles"},
}

// The benches that are told by the work and not by the part.
const (
	benchFirst   = -1               // looks that may end the work before it begins
	benchUnknown = len(benches) - 2 // see benches
	benchRide    = len(benches)     // what needs the bike ridden
)

// skipTest is the job that is done by riding.
const skipTest = "skip-test"

// acts are the acts in the order in which they come in one group: finding out
// may ask for more, cleaning wants the work done.
var acts = []Act{ActLook, ActMeasure, ActCheck, ActService, ActChange, ActClean}

// WorkingOrder returns the findings in the order in which a mechanic works
// through them at the stand, bike by bike (common practice, no published
// source): first the looks that may stop the bike, then frame and pivots,
// suspension, steering and bottom bracket, drivetrain, brakes, wheels and
// tyres, then the torque of all bolts, and last what is tested by riding. In
// each group what only finds out comes before the work, and front before rear.
// The same findings in any order come out in the same one.
func WorkingOrder(findings []Finding) []Finding {
	list := make([]benched, len(findings))
	for i, f := range findings {
		list[i] = bench(f)
	}
	slices.SortFunc(list, func(x, y benched) int {
		return cmp.Or(
			Naturally(x.f.Bike, y.f.Bike),
			slices.Compare(x.key[:], y.key[:]),
			cmp.Compare(x.f.Kind, y.f.Kind), // front before rear
			Naturally(x.f.Part, y.f.Part),
			cmp.Compare(x.act, y.act),
			cmp.Compare(x.f.Job, y.f.Job),
			cmp.Compare(x.f.BikeID, y.f.BikeID),
			cmp.Compare(x.f.PartID, y.f.PartID),
		)
	})
	var ordered []Finding
	for i := range list {
		ordered = append(ordered, list[i].f)
	}
	return ordered
}

// benched is a finding with its place in the working order.
type benched struct {
	f   Finding
	key [3]int // bench; 0 = finds out, 1 = work, 2 = cleaning; family
	act int
}

func bench(f Finding) benched {
	b := benched{f: f, act: slices.Index(acts, f.Act)}
	family := f.Kind
	if k := Default().kind(f.Kind); k != nil {
		family = k.Family
	}
	group, place := benchOf(family)
	switch {
	case f.Act == ActLook && (f.Safety || f.Verdict == Stop):
		group = benchFirst
	case f.Job == skipTest:
		group = benchRide
	}
	b.key = [3]int{group, phase(f.Act), place}
	return b
}

// benchOf is the group of a family, and its place among all families.
func benchOf(family string) (group, place int) {
	before := 0
	for group, families := range benches {
		if i := slices.Index(families, family); i >= 0 {
			return group, before + i
		}
		before += len(families)
	}
	return benchUnknown, before
}

// phase is what part of the work in one group an act belongs to.
func phase(a Act) int {
	switch {
	case a.Inspects():
		return 0
	case a == ActClean:
		return 2
	}
	return 1
}
