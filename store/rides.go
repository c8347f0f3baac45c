package store

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"iter"
	"slices"
	"strings"

	"pawl/wear"
)

// most is the greatest amount of a quantity that one ride can have: ten million
// kilometres, thirty years, a terajoule. It keeps sums of any number of rides
// within an int64.
const most = 1_000_000_000_000

// RideFilter says which rides.
type RideFilter struct {
	Bike     *wear.ID     // nil = all; 0 = those whose bike is not known yet
	From, To wear.Instant // start in [From, To); 0 = open
	States   []wear.State // none = all
	Latest   bool         // the latest first; only of one bike
}

// AddRide adds a ride and where in the gears it was ridden. A ride whose ID is
// in the book is known: nothing changes.
func (t *Tx) AddRide(r wear.Ride, g wear.Gears) (known bool, err error) {
	if t.bucket(bktRideIDs).Get(r.ID[:]) != nil {
		return true, nil
	}
	if err := t.sound(r); err != nil {
		return false, err
	}
	if r.Entry == 0 && t.entry != nil {
		r.Entry = t.entry.Seq
	}
	key := rideKey(r.Bike, r.Start, r.ID)
	if t.bucket(bktRides).Get(key) != nil {
		return false, fmt.Errorf("ride %s: another ride has half its name and its start", r.ID)
	}
	if err := t.setRide(key, r); err != nil {
		return false, err
	}
	packed := packGears(g)
	if packed == nil {
		return false, nil
	}
	return false, t.write(bktGears, key, packed) // undo takes them away with the ride
}

func (t *Tx) setRide(key []byte, r wear.Ride) error {
	packed, err := t.packRide(r)
	if err != nil {
		return err
	}
	return t.set(bktRides, key, packed)
}

// sound refuses rides that would spoil the sums.
func (t *Tx) sound(r wear.Ride) error {
	if r.ID == (wear.RideID{}) {
		return fmt.Errorf("ride %q: has no ID", r.Title)
	}
	if err := dateable("ride", r.Start); err != nil {
		return err
	}
	if r.Bike != 0 {
		if _, err := t.Bike(r.Bike); err != nil {
			return err
		}
	}
	if r.Ground >= wear.NGrounds || r.State > wear.Void || r.Rule > 15 || r.Format > 15 ||
		r.Marked > wear.ByDefault || r.Uplift > wear.NoUplift {
		return fmt.Errorf("ride %s: ground, state, rule, format or mark is not known", r.ID)
	}
	for _, l := range []wear.Load{r.Recorded, r.Estimated} {
		for q, v := range l {
			if v < 0 || v > most {
				return fmt.Errorf("ride %s: %s of %g is absurd", r.ID, wear.Quantity(q), l.SI(wear.Quantity(q)))
			}
		}
	}
	return nil
}

// ChangeRide replaces what is known of a ride: its state, ground, bike, load, ….
// The entry that brought it stays.
func (t *Tx) ChangeRide(r wear.Ride) error {
	old, err := t.Ride(r.ID)
	if err != nil {
		return err
	}
	if err := t.sound(r); err != nil {
		return err
	}
	r.Entry = old.Entry
	from, to := rideKey(old.Bike, old.Start, r.ID), rideKey(r.Bike, r.Start, r.ID)
	if string(from) == string(to) {
		return t.setRide(to, r)
	}
	gears := clone(t.bucket(bktGears).Get(from))
	if gears != nil {
		if err := t.set(bktGears, from, nil); err != nil {
			return err
		}
	}
	if err := t.set(bktRides, from, nil); err != nil {
		return err
	}
	if err := t.setRide(to, r); err != nil || gears == nil {
		return err
	}
	return t.set(bktGears, to, gears)
}

// Ride returns the ride of that ID.
func (t *Tx) Ride(id wear.RideID) (wear.Ride, error) {
	key := t.rideKeyOf(id)
	if key == nil {
		return wear.Ride{}, &UnknownError{Noun: "ride", Name: id.String()}
	}
	raw := t.bucket(bktRides).Get(key)
	if raw == nil {
		return wear.Ride{}, t.corrupt("rides.id", id[:], fmt.Errorf("no such ride"))
	}
	return t.unpackRide(key, raw)
}

// rideKeyOf is the key of a ride; nil where there is none.
func (t *Tx) rideKeyOf(id wear.RideID) []byte {
	v := t.bucket(bktRideIDs).Get(id[:])
	if v == nil {
		return nil
	}
	return append(clone(v), id[:6]...)
}

// FindRide returns the only ride whose ID begins so, in hexadecimal.
func (t *Tx) FindRide(prefix string) (wear.Ride, error) {
	prefix = strings.ToLower(strings.TrimSpace(prefix))
	seek, err := hex.DecodeString(prefix[:len(prefix)&^1])
	if err != nil || prefix == "" || len(prefix) > 24 {
		return wear.Ride{}, &UnknownError{Noun: "ride", Name: prefix}
	}
	if len(prefix)%2 == 1 {
		seek = append(seek, nibble(prefix[len(prefix)-1])<<4)
	}
	var ids []wear.RideID
	var names []string
	c := t.bucket(bktRideIDs).Cursor()
	for k, _ := c.Seek(seek); k != nil && len(ids) <= mostFits; k, _ = c.Next() {
		if !strings.HasPrefix(hex.EncodeToString(k), prefix) {
			break
		}
		ids = append(ids, wear.RideID(k))
		names = append(names, hex.EncodeToString(k))
	}
	switch len(ids) {
	case 0:
		return wear.Ride{}, &UnknownError{Noun: "ride", Name: prefix}
	case 1:
		return t.Ride(ids[0])
	}
	return wear.Ride{}, &AmbiguousError{"ride", prefix, names}
}

func nibble(digit byte) byte {
	return byte(max(0, strings.IndexByte("0123456789abcdef", digit)))
}

// Gears returns where in the gears a ride was ridden.
func (t *Tx) Gears(id wear.RideID) (wear.Gears, error) {
	key := t.rideKeyOf(id)
	if key == nil {
		return wear.Gears{}, &UnknownError{Noun: "ride", Name: id.String()}
	}
	g, err := unpackGears(t.bucket(bktGears).Get(key))
	if err != nil {
		err = t.corrupt("gears", key, err)
	}
	return g, err
}

// ChangeGears replaces where in the gears a ride was ridden.
func (t *Tx) ChangeGears(id wear.RideID, g wear.Gears) error {
	key := t.rideKeyOf(id)
	if key == nil {
		return &UnknownError{Noun: "ride", Name: id.String()}
	}
	return t.set(bktGears, key, packGears(g))
}

// Rides returns rides in order of start, or against it.
func (t *Tx) Rides(f RideFilter) iter.Seq2[wear.Ride, error] {
	if f.From == 0 {
		f.From = wear.Ever
	}
	if f.To == 0 {
		f.To = wear.Never
	}
	return func(yield func(wear.Ride, error) bool) {
		for key, raw := range t.rideRows(f) {
			if raw == nil {
				yield(wear.Ride{}, t.corrupt("rides.time", key, fmt.Errorf("no such ride")))
				return
			}
			r, err := t.unpackRide(key, raw)
			if err == nil && len(f.States) > 0 && !slices.Contains(f.States, r.State) {
				continue
			}
			if !yield(r, err) || err != nil {
				return
			}
		}
	}
}

// rideRows are the rides of a bike, or of all, in a time, with their keys; nil
// where there is none of that key. A row is good until the next is asked for or
// something is written.
func (t *Tx) rideRows(f RideFilter) iter.Seq2[[]byte, []byte] {
	if f.Bike != nil && f.Latest {
		return t.latestRows(f)
	}
	if f.Bike != nil {
		return func(yield func(k, v []byte) bool) {
			c := t.bucket(bktRides).Cursor()
			for k, v := c.Seek(idAt(*f.Bike, f.From)); within(k, *f.Bike) && instant(k[8:]) < f.To; k, v = c.Next() {
				if !yield(k, v) {
					return
				}
			}
		}
	}
	return func(yield func(k, v []byte) bool) {
		c := t.bucket(bktRideTimes).Cursor()
		for k, v := c.Seek(be48(nil, f.From)); k != nil && instant(k) < f.To; k, v = c.Next() {
			key := append(clone(v), k...)
			if !yield(key, t.bucket(bktRides).Get(key)) {
				return
			}
		}
	}
}

// latestRows are the rides of a bike in a time, the latest first.
func (t *Tx) latestRows(f RideFilter) iter.Seq2[[]byte, []byte] {
	return func(yield func(k, v []byte) bool) {
		c := t.bucket(bktRides).Cursor()
		end := idAt(*f.Bike, f.To)
		k, v := c.Seek(end)
		if k == nil { // bbolt stays on the last row when it seeks beyond
			k, v = c.Last()
		}
		for k != nil && bytes.Compare(k, end) >= 0 {
			k, v = c.Prev()
		}
		for ; within(k, *f.Bike) && instant(k[8:]) >= f.From; k, v = c.Prev() {
			if !yield(k, v) {
				return
			}
		}
	}
}
