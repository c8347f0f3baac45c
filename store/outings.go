package store

import (
	"slices"

	"pawl/wear"
)

// Outings are the counted rides of a bike that start from one instant to
// another, both included, in order of start. It reads no more of a ride than
// that takes.
func (t *Tx) Outings(bike wear.ID, from, to wear.Instant) ([]wear.Outing, error) {
	rests, err := t.rests(bike)
	if err != nil {
		return nil, err
	}
	var list []wear.Outing
	c := t.bucket(bktRides).Cursor()
	for k, v := c.Seek(idAt(bike, from)); within(k, bike) && instant(k[8:]) <= to; k, v = c.Next() {
		ride, r := rideFigures(v)
		if r.err != nil {
			return nil, t.corrupt("ride", k, r.err)
		}
		if ride.State != wear.Counted {
			continue
		}
		o := wear.Outing{At: instant(k[8:]), Way: ride.Total()[wear.Distance], Est: ride.Estimated[wear.Distance]}
		if ride.Format == wear.Table {
			_, o.Rest = slices.BinarySearch(rests, o.At)
		}
		list = append(list, o)
	}
	return list, nil
}

// RideFigures are the rides of a bike that start in [from, to), in order of start,
// as far as sums ask: when, whether and on what ground they count, and their loads.
func (t *Tx) RideFigures(bike wear.ID, from, to wear.Instant) (list []wear.Ride, err error) {
	c := t.bucket(bktRides).Cursor()
	for k, v := c.Seek(idAt(bike, from)); within(k, bike) && instant(k[8:]) < to; k, v = c.Next() {
		ride, r := rideFigures(v)
		if r.err != nil {
			return nil, t.corrupt("ride", k, r.err)
		}
		ride.Bike, ride.Start = bike, instant(k[8:])
		list = append(list, ride)
	}
	return list, nil
}

// rests are the instants at which an odometer of the bike left a rest, in order.
func (t *Tx) rests(bike wear.ID) ([]wear.Instant, error) {
	all, err := t.Odometers(bike)
	if err != nil {
		return nil, err
	}
	var at []wear.Instant
	for _, o := range all {
		if o.Ride != (wear.RideID{}) && !o.Void {
			at = append(at, o.At)
		}
	}
	return at, nil
}
