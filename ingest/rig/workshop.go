package rig

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"pawl/wear"
)

// duty is a job that the centre's workshop does by its own habit, a little
// before the default schedule would ask for it.
type duty struct {
	kind, job string
	does      doing
	first     bool    // also after the first ride
	hours     float64 // of riding between two times; 0 = not by hours
	days      float64 // between two times; 0 = not by days
	torque    float64 // N·m (an invented maker's figure)
	after     string  // "kind job" after which it is done once more, one ride later
}

// doing is how a duty is put on record.
type doing uint8

const (
	signs doing = iota
	looks
	measures
)

// duties in the order in which the workshop goes round a bike.
var duties = []duty{
	{kind: "chain", job: "clean", hours: 3.5},
	{kind: "chain", job: "measure", does: measures, first: true, hours: 8},
	{kind: "front-pads", job: "measure", does: measures, first: true, hours: 5},
	{kind: "rear-pads", job: "measure", does: measures, first: true, hours: 5},
	{kind: "front-rotor", job: "measure", does: measures, first: true, hours: 20},
	{kind: "rear-rotor", job: "measure", does: measures, first: true, hours: 20},
	{kind: "guide", job: "look", does: looks, first: true, hours: 20},
	{kind: "guide-bolts", job: "check", first: true, hours: 20, torque: 6},
	{kind: "ring-bolts", job: "check", first: true, hours: 40, torque: 10},
	{kind: "crank-bolt", job: "check", first: true, hours: 40, torque: 45},
	{kind: "pedals", job: "check", first: true, hours: 40, torque: 35},
	{kind: "caliper-bolts", job: "check", first: true, hours: 40, torque: 8},
	{kind: "axles", job: "check", first: true, hours: 40, torque: 12},
	{kind: "fork", job: "lowers", hours: 35},
	{kind: "shock", job: "air-can", hours: 35},
	{kind: "pivot-bolts", job: "check", first: true, hours: 25, torque: 14, after: "shock air-can"},
	{kind: "stem-bar-bolts", job: "check", first: true, hours: 40, torque: 5, after: "fork lowers"},
	{kind: "headset", job: "check", hours: 35},
	{kind: "dropper", job: "service", hours: 55},
	{kind: "bottom-bracket", job: "check", hours: 35},
	{kind: "front-hub", job: "check", hours: 35},
	{kind: "rear-hub", job: "check", hours: 35},
	{kind: "frame", job: "look", does: looks, first: true, hours: 40},
	{kind: "front-wheel", job: "look", does: looks, first: true, hours: 40},
	{kind: "rear-wheel", job: "look", does: looks, first: true, hours: 40},
	{kind: "front-tyre", job: "look", does: looks, hours: 25},
	{kind: "rear-tyre", job: "look", does: looks, hours: 25},
	{kind: "ring", job: "look", does: looks, first: true, hours: 45},
	{kind: "idler", job: "look", does: looks, first: true, hours: 35},
	{kind: "cassette", job: "look", does: looks, first: true, hours: 45},
	{kind: "derailleur-pulleys", job: "look", does: looks, first: true, hours: 45},
	{kind: "front-sealant", job: "top-up", days: 75},
	{kind: "rear-sealant", job: "top-up", days: 75},
}

// mechanics sign by turns, a month each.
var mechanics = []string{"Ines", "Tomek"}

// workshop is what is known of one bike while its season is gone through.
type workshop struct {
	*keeper
	hours  float64         // ridden so far
	chain  float64         // hours of the chain that is on
	unworn float64         // % that it measured when it was fitted
	done   map[string]mark // when each duty was last done
	follow map[string]bool // duties to do after the next ride
	at     time.Time
	acts   []Act
}

type mark struct {
	hours float64
	at    time.Time
}

// work goes through the outings of the bike and does what is due, each time in
// the evening.
func (k *keeper) work(outings []Outing) []Act {
	w := &workshop{keeper: k, done: map[string]mark{}, follow: map[string]bool{}, unworn: k.stretch[0]}
	for i, o := range outings {
		w.hours += o.Spec.Minutes / 60
		w.chain += o.Spec.Minutes / 60
		w.at = local(o.Spec.Start, 21)
		w.evening(o, i == 0, i == len(outings)-1)
	}
	return w.acts
}

// evening does the duties that a ride has made due.
func (w *workshop) evening(o Outing, first, last bool) {
	follow := w.follow
	w.follow = map[string]bool{}
	for _, d := range duties {
		name := d.kind + " " + d.job
		if w.forgets(name, first, last) || !w.due(d, o, first, last, follow[name]) {
			continue
		}
		w.do(d)
	}
	if w.elongation() >= chainLimit && !last { // found on the last evening, it waits for the morning
		w.change()
	}
}

// forgets reports whether the workshop never gets round to it.
func (w *workshop) forgets(name string, first, last bool) bool {
	switch {
	case first:
		return w.skips["first "+name]
	case last && w.skips["last "+name]:
		return true
	}
	return w.skips[name]
}

func (w *workshop) due(d duty, o Outing, first, last, follow bool) bool {
	was, known := w.done[d.kind+" "+d.job]
	if !known {
		was.at = seasonStart
	}
	hours := d.hours
	switch {
	case first && d.first, follow:
		return true
	case d.job == "clean" && wetGround(o.Ground):
		return true
	case d.kind == "chain" && d.job == "measure":
		hours = w.measures
		if last {
			return true
		}
	}
	return hours > 0 && w.hours-was.hours >= hours || d.days > 0 && w.at.Sub(was.at).Hours()/24 >= d.days
}

// do puts a duty on record.
func (w *workshop) do(d duty) {
	act := w.act(d.kind)
	by := mechanics[int(w.at.Month())%len(mechanics)]
	switch d.does {
	case signs:
		act.SignOff = &wear.SignOff{Job: d.job, By: by, Torque: d.torque}
	case looks:
		act.Look = &wear.Look{Word: wear.Good, By: by}
	case measures:
		act.Reading = w.reading(d.kind)
	}
	w.acts = append(w.acts, act)
	name := d.kind + " " + d.job
	w.done[name] = mark{w.hours, w.at}
	for _, later := range duties {
		if later.after == name {
			w.follow[later.kind+" "+later.job] = true
		}
	}
}

func (w *workshop) act(kind string) Act {
	return Act{At: wear.At(w.at), Bike: w.Bike.Name, Kind: kind}
}

// reading is what ruler or caliper say: the chain over 24 pitches by a ruler
// read to 0.1 mm, lining to 0.1 mm and rotors to 0.01 mm by a caliper.
func (w *workshop) reading(kind string) *wear.Reading {
	const pitch, pitches = 12.7, 24
	switch kind {
	case "chain":
		percent := w.elongation()
		length := math.Round(pitch*pitches*(1+percent/100)*10) / 10
		value := math.Round(1e4*100*(length/(pitch*pitches)-1)) / 1e4
		return &wear.Reading{Of: wear.Elongation, Value: value, Tool: "ruler", Length: length, Pitches: pitches}
	case "front-pads":
		return caliper(wear.Lining, 2.0-0.008*w.hours, 0.1)
	case "rear-pads":
		return caliper(wear.Lining, 2.0-0.0115*w.hours, 0.1)
	}
	return caliper(wear.Thickness, 1.8-0.001*w.hours, 0.01)
}

// chainLimit is where the workshop changes a chain: 306.4 mm is the first tenth
// of a millimetre past 0.5 % in 24 pitches.
const chainLimit = 0.51

// elongation is the true one of the chain that is on, in %.
func (w *workshop) elongation() float64 { return w.unworn + w.stretch[1]*w.chain }

func caliper(of wear.ReadingOf, mm, step float64) *wear.Reading {
	digits := 1 / step
	return &wear.Reading{Of: of, Value: math.Round(mm*digits) / digits, Tool: "caliper"}
}

// change fits a new chain, and looks at what runs on it.
func (w *workshop) change() {
	w.do(duty{kind: "chain", job: "measure", does: measures})
	w.at = w.at.Add(time.Minute)
	act := w.act("chain")
	act.SignOff = &wear.SignOff{Job: "change", By: "Ines", Cost: 3450, Minutes: 15, Note: "past its limit; ring and cassette still good"}
	act.Fits = &wear.Part{Kind: "chain", Model: fmt.Sprintf("%d-speed chain", w.Bike.Speeds), Speeds: w.Bike.Speeds}
	w.acts = append(w.acts, act)
	w.chain, w.unworn = 0, 0.03
	w.at = w.at.Add(time.Minute)
	w.do(duty{kind: "chain", job: "measure", does: measures})
	w.do(duty{kind: "cassette", job: "skip-test"})
	for _, kind := range []string{"ring", "cassette", "derailleur-pulleys"} {
		w.do(duty{kind: kind, job: "look", does: looks})
	}
}

// sortOutings puts rides in order of start, those of one start in order of file.
func sortOutings(list []Outing) {
	slices.SortFunc(list, func(a, b Outing) int {
		return cmp.Or(a.Spec.Start.Compare(b.Spec.Start), cmp.Compare(a.File, b.File))
	})
}

// sortActs puts acts in order of time; those of one moment keep the order in
// which the workshop went round.
func sortActs(list []Act) {
	slices.SortStableFunc(list, func(a, b Act) int { return cmp.Compare(a.At, b.At) })
}
