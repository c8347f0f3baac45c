package store

import (
	"errors"
	"strings"
	"time"

	"github.com/fxamacker/cbor/v2"

	"pawl/wear"
)

// change is a fact before and after a write; nil = not there.
type change struct{ before, after []byte }

// follow lets what is derived from a fact keep up with its change. Spans are
// cut anew later, by settle: an operation often writes several dated facts.
func (t *Tx) follow(bucket string, key []byte, c change) error {
	switch bucket {
	case string(bktBikes):
		t.touched[idOf(key)] = struct{}{}
		return t.followName(bikeNoun, key, c)
	case string(bktParts):
		delete(t.parts, idOf(key))
		return t.followName(partNoun, key, c)
	case string(bktStays):
		return t.followStay(key, c)
	case string(bktRides):
		return t.followRide(key, c)
	case string(bktGears):
		ride := t.bucket(bktRides).Get(key)
		return errors.Join(t.followGears(key, ride, c.before, -1), t.followGears(key, ride, c.after, 1))
	case string(bktReadings), string(bktLooks), string(bktSignOffs):
		return t.followDated(key)
	case string(bktPeople):
		return t.followIndex(c, emailRow)
	case string(bktOutbox):
		return errors.Join(t.followIndex(c, mailOfRow), t.followIndex(c, mailStateRow))
	case string(bktIncidents):
		t.touched[idOf(key)] = struct{}{}
	}
	return nil
}

// The nouns under which names are kept.
const (
	bikeNoun = "bike"
	partNoun = "part"
)

// nameKey is where a name is looked up, whatever its case.
func nameKey(noun, name string) []byte {
	return append([]byte{noun[0]}, strings.ToLower(name)...)
}

// nameOf reads the name out of a bike or a part.
func nameOf(noun string, raw []byte) (string, error) {
	if noun == bikeNoun {
		var b wear.Bike
		err := cbor.Unmarshal(raw, &b)
		return b.Name, err
	}
	var p wear.Part
	err := cbor.Unmarshal(raw, &p)
	return p.Name, err
}

func (t *Tx) followName(noun string, key []byte, c change) error {
	names := t.bucket(bktNames)
	if c.before != nil {
		name, err := nameOf(noun, c.before)
		if err != nil {
			return err
		}
		if err := names.Delete(nameKey(noun, name)); err != nil {
			return err
		}
	}
	if c.after == nil {
		return nil
	}
	name, err := nameOf(noun, c.after)
	if err != nil {
		return err
	}
	return names.Put(nameKey(noun, name), key)
}

// staysPartRow is the row of a stay in the index by part.
func staysPartRow(s wear.Stay) (key, value []byte) {
	return idAt(s.Part, s.From), idAt(s.Host, s.To)
}

func (t *Tx) followStay(key []byte, c change) error {
	index := t.bucket(bktStaysPart)
	if c.before != nil {
		if err := index.Delete(idAt(idOf(key[14:]), instant(key[8:]))); err != nil {
			return err
		}
	}
	if c.after == nil {
		_, err := t.touchStay(idOf(key))
		return err
	}
	var s wear.Stay
	if err := cbor.Unmarshal(c.after, &s); err != nil {
		return err
	}
	if err := index.Put(staysPartRow(s)); err != nil {
		return err
	}
	was := t.lastOn
	wheel, err := t.touchStay(idOf(key))
	if err != nil || c.before != nil {
		return err
	}
	return t.grow(was, s, wheel)
}

// followDated marks the part, and the bike that it was on.
func (t *Tx) followDated(key []byte) error {
	t.newestDue[idOf(key)] = struct{}{}
	stays, err := t.WornOn(idOf(key))
	for _, s := range stays {
		if s.Holds(instant(key[8:])) {
			t.touched[s.Host] = struct{}{}
		}
	}
	return err
}

func (t *Tx) followRide(key []byte, c change) error {
	if c.before != nil {
		if err := t.followRideSum(key, c.before, wear.Sums.Sub); err != nil {
			return err
		}
	}
	if c.after != nil {
		if err := t.followRideSum(key, c.after, wear.Sums.Add); err != nil {
			return err
		}
	}
	gears := t.bucket(bktGears).Get(key)
	if err := errors.Join(t.followGears(key, c.before, gears, -1), t.followGears(key, c.after, gears, 1)); err != nil {
		return err
	}
	if err := errors.Join(t.followSensors(key, c.before, -1), t.followSensors(key, c.after, 1)); err != nil {
		return err
	}
	if (c.before == nil) == (c.after == nil) {
		return nil
	}
	return t.followRideIndex(key, c)
}

func (t *Tx) followRideIndex(key []byte, c change) error {
	ids, times := t.bucket(bktRideIDs), t.bucket(bktRideTimes)
	if c.after == nil {
		id, err := rideIDOf(key, c.before)
		if err != nil {
			return err
		}
		if err := ids.Delete(id[:]); err != nil {
			return err
		}
		if err := t.bucket(bktGears).Delete(key); err != nil {
			return err
		}
		return times.Delete(key[8:20])
	}
	id, err := rideIDOf(key, c.after)
	if err != nil {
		return err
	}
	if err := ids.Put(id[:], key[:14]); err != nil {
		return err
	}
	return times.Put(key[8:20], key[:8])
}

// followRideSum adds a ride to, or takes it from, its span and its week.
func (t *Tx) followRideSum(key, raw []byte, op func(wear.Sums, wear.Sums) wear.Sums) error {
	ride, r := rideFigures(raw)
	if r.err != nil {
		return r.err
	}
	bike, start := idOf(key), instant(key[8:])
	if bike == 0 || ride.State != wear.Counted {
		return nil
	}
	var one wear.Sums
	one[ride.Ground] = ride.Sum()
	if err := t.adjustSpan(t.spanAt(bike, start), func(s wear.Sums) wear.Sums { return op(s, one) }); err != nil {
		return err
	}
	return t.adjustWeek(weekKey(bike, t.week(start)), func(s wear.Sums) wear.Sums { return op(s, one) })
}

// spanAt is the key of the bike's span that an instant falls into.
func (t *Tx) spanAt(bike wear.ID, at wear.Instant) []byte {
	want := idAt(bike, at)
	c := t.bucket(bktSpans).Cursor()
	k, _ := c.Seek(want)
	switch {
	case k == nil: // bbolt stays on the last row when it seeks beyond
		k, _ = c.Last()
	case string(k) != string(want):
		k, _ = c.Prev()
	}
	if !within(k, bike) {
		return idAt(bike, wear.Ever)
	}
	return clone(k)
}

// adjustWeek rewrites the sums of a week. One without rides has no row; a span
// without rides has, because it says where it begins.
func (t *Tx) adjustWeek(key []byte, fn func(wear.Sums) wear.Sums) error {
	var sums wear.Sums
	b := t.bucket(bktWeeks)
	if raw := b.Get(key); raw != nil {
		var err error
		if sums, err = unpackSums(raw); err != nil {
			return t.corrupt("weeks", key, err)
		}
	}
	if sums = fn(sums); sums == (wear.Sums{}) {
		return b.Delete(key)
	}
	return b.Put(key, packSums(sums))
}

// monday is the Monday that weeks are numbered from: 1970-01-05 is week 1<<15.
const monday = 4

// week numbers the week, Monday to Sunday in the book's zone, of an instant.
func (t *Tx) week(at wear.Instant) uint16 {
	y, m, d := time.UnixMilli(int64(at)).In(t.zone).Date()
	days := time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86_400
	return uint16((days - monday + 7*(1<<15)) / 7)
}

// weekStart is the first instant of a week.
func (t *Tx) weekStart(week uint16) wear.Instant {
	if t.reads == nil {
		return t.mondayOf(week)
	}
	at, _ := remembered(t.reads.weeks, week, func() (wear.Instant, error) { return t.mondayOf(week), nil })
	return at
}

func (t *Tx) mondayOf(week uint16) wear.Instant {
	days := (int(week)-1<<15)*7 + monday
	return wear.At(time.Date(1970, 1, 1+days, 0, 0, 0, 0, t.zone))
}

// rideIDOf puts a ride's id together from its key and its record.
func rideIDOf(key, raw []byte) (id wear.RideID, err error) {
	_, r := rideFigures(raw)
	r.varint()
	r.varint()
	r.bytes(2)
	r.uvarint()
	copy(id[:6], key[14:20])
	copy(id[6:], r.bytes(6))
	return id, r.err
}
