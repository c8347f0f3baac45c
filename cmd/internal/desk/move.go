package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// MoveResult is what a move of rides did.
type MoveResult struct {
	Bike      wear.Bike
	Moved     int
	Explained int // rides without a bike that are now told, of whichever bike
}

// MoveRides gives rides to a bike, or all that have none where none is named,
// and makes their estimates anew with its masses, from the originals where
// they are kept. It teaches: what else is told by it now is counted, not moved.
func (d *Desk) MoveRides(ctx context.Context, rides []string, bike string) (res MoveResult, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		res = MoveResult{}
		if res.Bike, err = tx.FindBike(bike); err != nil {
			return err
		}
		list, err := d.ridesToMove(tx, rides)
		if err != nil {
			return err
		}
		tx.Begin("ride move", res.Bike.Name, d.Who)
		for _, r := range list {
			if r.Bike == res.Bike.ID && r.Rule == wear.Told {
				continue
			}
			if err := d.giveRide(tx, r, wear.Whose{Bike: res.Bike.ID, Rule: wear.Told}); err != nil {
				return err
			}
			res.Moved++
		}
		explained, err := d.learned(tx, list)
		res.Explained = len(explained)
		return err
	})
	return res, err
}

// learned asks about the sensors of rides whose bike the user told, where rides
// of another bike speak too, and lists the rides without a bike that are told now.
func (d *Desk) learned(tx *store.Tx, told []wear.Ride) ([]toldRide, error) {
	signs, err := readSigns(tx, func(wear.Bike) {})
	if err != nil {
		return nil, err
	}
	for _, r := range told {
		d.askTorn(&signs, r)
	}
	return explained(tx, &signs)
}

// askTorn asks about the sensors of a ride that rides of two bikes speak for.
func (d *Desk) askTorn(signs *wear.Signs, r wear.Ride) {
	if doubts := signs.Torn(cluesOf(r, store.FileFact{})); len(doubts) > 0 {
		d.ask(strings.Join(doubts, "; ") + ": if one moved for good, say from when: pawl bike match BIKE --sensor NUMBER --on DATE")
	}
}

// toldRide is a ride without a bike, and the bike of which it is told now.
type toldRide struct {
	ride  wear.Ride
	whose wear.Whose
}

// explained are the rides without a bike of which the signs tell one.
func explained(tx *store.Tx, signs *wear.Signs) (list []toldRide, err error) {
	nobody := wear.ID(0)
	for r, err := range tx.Rides(store.RideFilter{Bike: &nobody, States: []wear.State{wear.Counted}}) {
		if err != nil {
			return nil, err
		}
		file, _, err := tx.File(r.File)
		if err != nil {
			return nil, err
		}
		if w := signs.Whose(cluesOf(r, file)); w.Bike != 0 {
			list = append(list, toldRide{r, w})
		}
	}
	return list, nil
}

// MovedTo is how many rides went to a bike.
type MovedTo struct {
	Bike  string
	Rides int
}

// MoveExplained gives every ride without a bike to the one that its sensors,
// its device's name for it or the matches tell now; the others stay.
func (d *Desk) MoveExplained(ctx context.Context) (moved []MovedTo, left int, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		signs, err := readSigns(tx, func(wear.Bike) {})
		if err != nil {
			return err
		}
		list, err := explained(tx, &signs)
		if err != nil {
			return err
		}
		tx.Begin("ride move", counted(len(list), "ride"), d.Who)
		count := map[wear.ID]int{}
		for _, r := range list {
			if err := d.giveRide(tx, r.ride, r.whose); err != nil {
				return err
			}
			count[r.whose.Bike]++
		}
		moved = nil
		for _, b := range signs.Bikes {
			if count[b.ID] > 0 {
				moved = append(moved, MovedTo{b.Name, count[b.ID]})
			}
		}
		slices.SortStableFunc(moved, func(a, b MovedTo) int { return strings.Compare(strings.ToLower(a.Bike), strings.ToLower(b.Bike)) })
		rest, err := homeless(tx, wear.Never-1)
		left = len(rest)
		return err
	})
	return moved, left, err
}

// giveRide gives a ride to a bike: its estimates are made anew, its twins
// follow, the odometers of both bikes are settled, and what tells the same
// outing on its new bike is found.
func (d *Desk) giveRide(tx *store.Tx, r wear.Ride, w wear.Whose) error {
	before := r
	r, err := tx.Ride(before.ID)
	if err != nil {
		return err
	}
	rest, err := isRest(tx, r)
	switch {
	case err != nil:
		return err
	case before.State == wear.Counted && r.State == wear.Twin:
		return nil // it followed one that was given before it
	case rest:
		return refusal("void it, and enter the other bike's rides or readings", "ride %s: it is what the odometer of its bike leaves", r.ID)
	case r.State == wear.Twin && r.Of != (wear.RideID{}):
		return refusal(fmt.Sprintf("move the one that counts; or say they are two: pawl ride mark %s --not-twin", brief(r)),
			"ride %s: tells the same outing as ride %s", brief(r), r.Of.String()[:8])
	}
	b, err := tx.Bike(w.Bike)
	if err != nil {
		return err
	}
	anew, err := d.learnerOf(tx).anew(r, b)
	if err != nil {
		return err
	}
	anew.Bike, anew.Rule, anew.Because = w.Bike, w.Rule, w.Because
	if err := usualGround(tx, &anew.Ride); err != nil {
		return err
	}
	if err := anew.put(tx); err != nil {
		return err
	}
	if err := moveTwins(tx, r, anew.Ride); err != nil {
		return err
	}
	now, err := d.joinTwins(tx, anew.Ride)
	if err != nil {
		return err
	}
	return d.settleRides(tx, []wear.Ride{r, now})
}

func (d *Desk) ridesToMove(tx *store.Tx, names []string) (list []wear.Ride, err error) {
	if len(names) > 0 {
		return d.pick(tx, RideChoice{Rides: names})
	}
	nobody := wear.ID(0)
	for r, err := range tx.Rides(store.RideFilter{Bike: &nobody, States: []wear.State{wear.Counted}}) {
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}
