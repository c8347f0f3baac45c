package desk

import (
	"cmp"
	"fmt"
	"slices"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

const (
	// twinSearch is how long before a ride one of the same time may have begun.
	twinSearch = 2 * wear.Day
	// sameStart is how far from a ride's start one of another bike is looked for
	// that the same device may have recorded.
	sameStart = 5_000
	// maxCompared is how many rides are compared sample by sample with one: on
	// the day of a race hundreds may be of the same time.
	maxCompared = 20
)

// joinTwins finds what tells the outing of a ride in the book once more. The
// richer record counts, the others are its twins; where one of them has a bike,
// all are of it. It returns the ride as it is then in the book. What only the
// user can tell becomes a warning.
func (d *Desk) joinTwins(tx *store.Tx, r wear.Ride) (wear.Ride, error) {
	if r.State != wear.Counted {
		return r, nil
	}
	others, err := sameTime(tx, r)
	if err != nil {
		return r, err
	}
	tracks := compared{tx: tx}
	for _, o := range others {
		is, err := tracks.sameness(r, o)
		if err != nil {
			return r, err
		}
		switch is {
		case wear.Same:
			if r, err = d.join(tx, r, o); err != nil || r.State != wear.Counted {
				return r, err
			}
		case wear.Doubtful:
			d.askTwins(r, o)
		}
	}
	return r, nil
}

// askTwins asks whether two rides are one outing, and names the poorer one.
func (d *Desk) askTwins(r, o wear.Ride) {
	if r.Richer(o) > 0 {
		r, o = o, r
	}
	d.ask(fmt.Sprintf("rides %s and %s overlap in time: if they are one outing, pawl ride void %s; if they are two, pawl ride mark %s --not-twin",
		brief(o), brief(r), brief(r), brief(r)))
}

// ask warns once.
func (d *Desk) ask(question string) {
	if !slices.Contains(d.Warnings, question) {
		d.Warnings = append(d.Warnings, question)
	}
}

// brief is as much of a ride's name as tells it from others.
func brief(r wear.Ride) string { return r.ID.String()[:8] }

// sameTime are the counted rides that may be of the same time as a ride, the
// nearest start first: those of its bike and of none, and those of other bikes
// that began with it. A ride of no bike may be of the time of any.
func sameTime(tx *store.Tx, r wear.Ride) (list []wear.Ride, err error) {
	nobody := wear.ID(0)
	filters := []store.RideFilter{
		{Bike: &r.Bike, From: r.Start - twinSearch, To: r.End() + 1},
		{Bike: &nobody, From: r.Start - twinSearch, To: r.End() + 1},
		{From: r.Start - sameStart, To: r.Start + sameStart + 1},
	}
	if r.Bike == 0 {
		filters = []store.RideFilter{{From: r.Start - twinSearch, To: r.End() + 1}}
	}
	for _, f := range filters {
		f.States = []wear.State{wear.Counted}
		for o, err := range tx.Rides(f) {
			if err != nil {
				return nil, err
			}
			known := slices.ContainsFunc(list, func(k wear.Ride) bool { return k.ID == o.ID })
			if o.ID != r.ID && o.End() > r.Start && !known {
				list = append(list, o)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b wear.Ride) int {
		return cmp.Compare(max(a.Start, r.Start)-min(a.Start, r.Start), max(b.Start, r.Start)-min(b.Start, r.Start))
	})
	return list, nil
}

// compared compares rides sample by sample where nothing else tells.
type compared struct {
	tx   *store.Tx
	own  *ingest.Track // of the ride, once it was read
	done int
}

// sameness answers Same, Apart or Doubtful.
func (c *compared) sameness(r, o wear.Ride) (wear.Sameness, error) {
	is := r.Sameness(o)
	if is != wear.Compare {
		return is, nil
	}
	if c.done++; c.done > maxCompared {
		return wear.Apart, nil
	}
	if c.own == nil {
		own, err := trackOf(c.tx, r)
		if err != nil {
			return is, err
		}
		c.own = own
	}
	other, err := trackOf(c.tx, o)
	if err != nil {
		return is, err
	}
	coincide, twoBikes := ingest.Coincide(c.own, other) >= wear.Coincide, r.Bike != 0 && o.Bike != 0
	switch {
	case coincide == twoBikes: // one recording on two bikes, or two friends whose bikes nobody knows
		return wear.Doubtful, nil
	case coincide:
		return wear.Same, nil
	}
	return wear.Apart, nil
}

// join makes twins of two rides of one outing and returns the first as it is
// then. What was the loser's twin is the winner's now.
func (d *Desk) join(tx *store.Tx, r, o wear.Ride) (wear.Ride, error) {
	winner, loser := r, o
	if r.Richer(o) < 0 {
		winner, loser = o, r
	}
	followers, err := twinsOf(tx, loser)
	if err != nil {
		return r, err
	}
	before := []wear.Ride{winner, loser}
	if winner, err = d.inherit(tx, winner, loser); err != nil {
		return r, err
	}
	loser = twinOf(loser, winner)
	for _, f := range followers {
		if err := tx.ChangeRide(twinOf(f, winner)); err != nil {
			return r, err
		}
	}
	if err := tx.ChangeRide(loser); err != nil {
		return r, err
	}
	if err := d.settleRides(tx, append(before, winner)); err != nil {
		return r, err
	}
	if loser.ID == r.ID {
		return loser, nil
	}
	return winner, nil
}

// twinOf makes a ride the twin of the one that counts, on the same bike.
func twinOf(r, winner wear.Ride) wear.Ride {
	r.State, r.Of = wear.Twin, winner.ID
	if r.Bike != winner.Bike || r.Rule == wear.AsTwin {
		r.Bike, r.Rule, r.Because = winner.Bike, wear.AsTwin, brief(winner)
	}
	if winner.Bike == 0 {
		r.Rule, r.Because = wear.NoRule, ""
	}
	return r
}

// inherit gives the ride that counts what only its twin knows: the bike that
// the user named, or any where it has none, what the user marked, and what is
// not the same outing.
func (d *Desk) inherit(tx *store.Tx, winner, loser wear.Ride) (wear.Ride, error) {
	before := winner
	switch told := loser.Rule == wear.Told && winner.Rule != wear.Told; {
	case loser.Bike != 0 && told:
		winner.Bike, winner.Rule, winner.Because = loser.Bike, wear.Told, ""
	case loser.Bike != 0 && winner.Bike == 0:
		winner.Bike, winner.Rule, winner.Because = loser.Bike, wear.AsTwin, brief(loser)
	}
	if loser.Marked == wear.ByUser && winner.Marked != wear.ByUser {
		winner.Ground, winner.Marked = loser.Ground, loser.Marked
	}
	if winner.Uplift == wear.FindUplift {
		winner.Uplift = loser.Uplift
	}
	for _, id := range loser.Unlike {
		if !slices.Contains(winner.Unlike, id) {
			winner.Unlike = append(winner.Unlike, id)
		}
	}
	if winner.Bike == before.Bike && winner.Uplift == before.Uplift {
		return winner, tx.ChangeRide(winner)
	}
	bike, err := bikeOrNone(tx, winner.Bike)
	if err != nil {
		return winner, err
	}
	anew, err := reduceAnew(tx, winner, bike)
	if err != nil {
		return winner, err
	}
	if err := usualGround(tx, &anew.Ride); err != nil {
		return winner, err
	}
	return anew.Ride, anew.put(tx)
}

func bikeOrNone(tx *store.Tx, id wear.ID) (wear.Bike, error) {
	if id == 0 {
		return wear.Bike{}, nil
	}
	return tx.Bike(id)
}

// twinsOf are the twins of a ride, in order of start.
func twinsOf(tx *store.Tx, r wear.Ride) (list []wear.Ride, err error) {
	filter := store.RideFilter{
		Bike: &r.Bike, From: r.Start - twinSearch, To: r.End() + 1, States: []wear.State{wear.Twin},
	}
	for o, err := range tx.Rides(filter) {
		if err != nil {
			return nil, err
		}
		if o.Of == r.ID {
			list = append(list, o)
		}
	}
	return list, nil
}

// offerTwins tells of the twins of a ride that was taken back.
func (d *Desk) offerTwins(tx *store.Tx, r wear.Ride) error {
	twins, err := twinsOf(tx, r)
	for _, o := range twins {
		d.ask(fmt.Sprintf("ride %s tells the same outing: to count it instead, pawl ride void %s --restore", brief(o), brief(o)))
	}
	return err
}

// moveTwins lets the twins of a ride follow it to its bike.
func moveTwins(tx *store.Tx, before, after wear.Ride) error {
	twins, err := twinsOf(tx, before)
	if err != nil {
		return err
	}
	for _, o := range twins {
		if err := tx.ChangeRide(twinOf(o, after)); err != nil {
			return err
		}
	}
	return nil
}

// countsFor is the ride that counts for an outing: the ride itself, or the one
// whose twin it is.
func countsFor(tx *store.Tx, r wear.Ride) (wear.Ride, error) {
	if r.State != wear.Twin || r.Of == (wear.RideID{}) {
		return r, nil
	}
	return tx.Ride(r.Of)
}

// apart keeps a ride from being taken for the same outing as what it is the twin
// of, or as those that it is asked about, by the user's word.
func apart(tx *store.Tx, r wear.Ride) (wear.Ride, error) {
	if r.State == wear.Twin && r.Of != (wear.RideID{}) {
		r.Unlike = append(r.Unlike, r.Of)
		r.State, r.Of = wear.Counted, wear.RideID{}
		return r, nil
	}
	others, err := sameTime(tx, r)
	if err != nil {
		return r, err
	}
	tracks, found := compared{tx: tx}, false
	for _, o := range others {
		is, err := tracks.sameness(r, o)
		if err != nil {
			return r, err
		}
		if is == wear.Doubtful {
			r.Unlike, found = append(r.Unlike, o.ID), true
		}
	}
	if !found {
		return r, refusal("pawl ride list shows the twins", "ride %s: is no twin, and overlaps no ride that is asked about", brief(r))
	}
	return r, nil
}
