package desk

import (
	"cmp"
	"slices"
	"strings"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// How much of the book is read to learn what is usual of bikes of a kind. It is
// the same for a book of any size: no more than about 500 rides are looked at.
const (
	usualBikes = 50  // at most, evenly over the book
	usualLooks = 500 // rides looked at, the latest of each bike; at least 10 a bike
	usualRides = 500 // recorded rides learned from
)

// learner learns within one transaction what rides usually ask of bikes: of
// those of the same build sheet and motor, from the latest of their rides that a
// device recorded. Each kind of bike is read once.
type learner struct {
	tx    *store.Tx
	bikes map[bikeSort][]wear.Bike
	rides map[bikeSort][]sample
	known map[usualOf]wear.Usual
}

// bikeSort is what makes bikes alike.
type bikeSort struct {
	sheet string
	motor wear.Motor
}

type usualOf struct {
	bikeSort
	given wear.Set
}

// sample is a recorded ride and the bike that it was on.
type sample struct {
	ride  *wear.Ride
	model ingest.Model
	nth   int // latest of its bike
}

func newLearner(tx *store.Tx) *learner {
	return &learner{tx: tx, bikes: map[bikeSort][]wear.Bike{}, rides: map[bikeSort][]sample{}, known: map[usualOf]wear.Usual{}}
}

// learnerOf is the learner of a transaction.
func (d *Desk) learnerOf(tx *store.Tx) *learner {
	if d.learner == nil || d.learner.tx != tx {
		d.learner = newLearner(tx)
	}
	return d.learner
}

// typed makes the load of a ride of which only a few figures are known: the
// rest is what such bikes usually have.
func (l *learner) typed(b wear.Bike, g ingest.Given) (ingest.Outcome, error) {
	usual, err := l.usual(b, g.Figures())
	if err != nil {
		return ingest.Outcome{}, err
	}
	out := ingest.Typed(g, ingest.ModelOf(b), usual)
	estimated := wear.Set(0)
	for q := range wear.NQuantities {
		if out.Estimated[q] > 0 {
			estimated = estimated.With(q)
		}
	}
	if estimated != 0 {
		out.Notes = append(out.Notes, usual.Say(estimated, b.Sheet))
	}
	return out, nil
}

// usual is what bikes like one usually have where those figures are given.
func (l *learner) usual(b wear.Bike, given wear.Set) (u wear.Usual, err error) {
	key := usualOf{bikeSort{b.Sheet, b.Motor}, given}
	if u, ok := l.known[key]; ok {
		return u, nil
	}
	rides, err := l.sample(key.bikeSort)
	if err != nil {
		return u, err
	}
	var pairs [wear.NQuantities][]wear.Pair
	for _, s := range rides {
		for q, p := range ingest.Pairs(*s.ride, given, s.model) {
			if p.Fixed > 0 {
				pairs[q] = append(pairs[q], p)
			}
		}
	}
	for q := range u {
		u[q] = wear.Learn(pairs[q])
	}
	l.known[key] = u
	return u, nil
}

// sample gathers recorded rides of bikes of a sort: the latest of every bike
// first, then the one before it of every bike, and so on.
func (l *learner) sample(sort bikeSort) ([]sample, error) {
	if rides, ok := l.rides[sort]; ok {
		return rides, nil
	}
	bikes, err := l.bikesOf(sort)
	if err != nil {
		return nil, err
	}
	var list []sample
	visits := min(len(bikes), usualBikes)
	for i := range visits {
		found, err := l.latest(bikes[i*len(bikes)/visits], max(10, usualLooks/visits))
		if err != nil {
			return nil, err
		}
		list = append(list, found...)
	}
	slices.SortStableFunc(list, func(a, b sample) int { return cmp.Compare(a.nth, b.nth) })
	list = list[:min(len(list), usualRides)]
	l.rides[sort] = list
	return list, nil
}

// bikesOf are bikes of a sort, at most usualBikes: those that a look at every so
// many of the book finds, else all others are looked at too.
func (l *learner) bikesOf(sort bikeSort) (list []wear.Bike, err error) {
	if list, ok := l.bikes[sort]; ok {
		return list, nil
	}
	ids := l.tx.BikeIDs()
	step := max(1, len(ids)/usualBikes)
	for _, first := range []bool{true, false} {
		for i := 0; i < len(ids) && len(list) < usualBikes; i++ {
			if (i%step == 0) != first {
				continue
			}
			b, err := l.tx.Bike(ids[i])
			if err != nil {
				return nil, err
			}
			if (bikeSort{b.Sheet, b.Motor}) == sort {
				list = append(list, b)
			}
		}
	}
	l.bikes[sort] = list
	return list, nil
}

// latest are the recorded rides among the latest so many of a bike.
func (l *learner) latest(b wear.Bike, looks int) (list []sample, err error) {
	model := ingest.ModelOf(b)
	for r, err := range l.tx.Rides(store.RideFilter{Bike: &b.ID, Latest: true}) {
		if err != nil {
			return nil, err
		}
		if r.State == wear.Counted && !typedIn(r) && !r.Ground.Indoor() && r.Recorded[wear.Distance] > 0 {
			list = append(list, sample{&r, model, len(list)})
		}
		if looks--; looks <= 0 {
			break
		}
	}
	return list, nil
}

// typedIn reports whether a ride was typed, or told by a table or a meter: no
// file tells more of it.
func typedIn(r wear.Ride) bool { return r.Format == wear.Typed || r.Format == wear.Table }

// anew makes the load of a ride anew with the figures of a bike: from its
// original, or from the figures that were typed and what is usual now.
func (l *learner) anew(r wear.Ride, b wear.Bike) (reduced, error) {
	if !typedIn(r) {
		return reduceAnew(l.tx, r, b)
	}
	out, err := l.typed(b, ingest.GivenOf(r))
	if err != nil {
		return reduced{Ride: r}, err
	}
	r.Recorded, r.Estimated, r.Lacking = out.Recorded, out.Estimated, out.Lacking
	r.Notes = append(slices.DeleteFunc(slices.Clone(r.Notes), isUsualNote), out.Notes...)
	return reduced{Ride: r}, nil
}

// isUsualNote reports whether a note says what estimates rest on, see [wear.Usual.Say].
func isUsualNote(note string) bool { return strings.Contains(note, "estimated as ") }
