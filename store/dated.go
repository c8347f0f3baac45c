package store

import (
	"fmt"
	"math"

	"pawl/wear"
)

// dated says how the dated facts of parts and bikes are kept, which is alike.
type dated[T any] struct {
	bucket []byte
	noun   string
	head   func(*T) head
}

// head points at what they have in common.
type head struct {
	id   *uint64
	of   *wear.ID // the part or bike whose fact it is
	bike *wear.ID // where the part was then; nil = it is a fact of a bike
	at   *wear.Instant
	void *bool
}

var (
	readings = dated[wear.Reading]{bktReadings, "reading", func(r *wear.Reading) head {
		return head{&r.ID, &r.Part, &r.Bike, &r.At, &r.Void}
	}}
	looks = dated[wear.Look]{bktLooks, "look", func(l *wear.Look) head {
		return head{&l.ID, &l.Part, &l.Bike, &l.At, &l.Void}
	}}
	signOffs = dated[wear.SignOff]{bktSignOffs, "sign-off", func(s *wear.SignOff) head {
		return head{&s.ID, &s.Part, &s.Bike, &s.At, &s.Void}
	}}
)

func (d dated[T]) add(t *Tx, fact T) (T, error) {
	h := d.head(&fact)
	if err := t.owns(h); err != nil {
		return fact, err
	}
	if err := dateable(d.noun+" of", *h.at); err != nil {
		return fact, err
	}
	id, err := t.newID()
	if err != nil {
		return fact, err
	}
	*h.id = uint64(id)
	if err := t.put(d.bucket, datedKey(*h.of, *h.at, *h.id), fact); err != nil {
		return fact, err
	}
	one := []T{fact}
	err = d.place(t, one)
	return one[0], err
}

// owns refuses a fact of a part or bike that is not in the book.
func (t *Tx) owns(h head) (err error) {
	if h.bike == nil {
		_, err = t.Bike(*h.of)
	} else {
		_, err = t.Part(*h.of)
	}
	return err
}

// place says of facts of one part on which bike it was then.
func (d dated[T]) place(t *Tx, facts []T) error {
	if len(facts) == 0 || d.head(&facts[0]).bike == nil {
		return nil
	}
	stays, err := t.wornOn(*d.head(&facts[0]).of)
	for i := range facts {
		h := d.head(&facts[i])
		*h.bike = hostAt(stays, *h.at, *h.bike)
	}
	return err
}

// of returns all facts of a part or bike, those taken back included, by
// instant, then ID.
func (d dated[T]) of(t *Tx, owner wear.ID) ([]T, error) {
	facts, err := list[T](t, d.bucket, id8(owner))
	if err != nil {
		return nil, err
	}
	return facts, d.place(t, facts)
}

// upTo returns the facts of a part or bike that count on a day.
func (d dated[T]) upTo(t *Tx, owner wear.ID, today wear.Instant) ([]T, error) {
	facts, err := d.of(t, owner)
	known := facts[:0]
	for i := range facts {
		if h := d.head(&facts[i]); !*h.void && *h.at <= today {
			if len(known) < i {
				known = append(known, facts[i])
			} else {
				known = facts[:i+1] // nothing was left out yet
			}
		}
	}
	if len(known) == 0 {
		return nil, err
	}
	return known, err
}

func (d dated[T]) void(t *Tx, owner wear.ID, id uint64) error {
	fact, err := d.find(t, owner, id)
	if err != nil {
		return err
	}
	h := d.head(&fact)
	*h.void = true
	return t.put(d.bucket, datedKey(owner, *h.at, id), fact)
}

// find returns the fact as it was given.
func (d dated[T]) find(t *Tx, owner wear.ID, id uint64) (fact T, err error) {
	facts, err := list[T](t, d.bucket, id8(owner))
	if err != nil {
		return fact, err
	}
	for i := range facts {
		if *d.head(&facts[i]).id == id {
			return facts[i], nil
		}
	}
	return fact, &UnknownError{Noun: d.noun, Name: fmt.Sprintf("%x", id)}
}

// change replaces a fact, which may move to another instant.
func (d dated[T]) change(t *Tx, fact T) error {
	h := d.head(&fact)
	old, err := d.find(t, *h.of, *h.id)
	if err != nil {
		return err
	}
	if err := dateable(d.noun+" of", *h.at); err != nil {
		return err
	}
	if was := *d.head(&old).at; was != *h.at {
		if err := t.set(d.bucket, datedKey(*h.of, was, *h.id), nil); err != nil {
			return err
		}
	}
	return t.put(d.bucket, datedKey(*h.of, *h.at, *h.id), fact)
}

// AddReading adds what a tool said of a part and gives it its ID and the bike.
func (t *Tx) AddReading(r wear.Reading) (wear.Reading, error) {
	if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) {
		return r, &ConflictError{"reading", fmt.Sprint(r.Value), "is no number", "measure again"}
	}
	return readings.add(t, r)
}

// AddLook adds what an eye said of a part and gives it its ID and the bike.
func (t *Tx) AddLook(l wear.Look) (wear.Look, error) { return looks.add(t, l) }

// AddSignOff records that a job was done and gives it its ID and the bike.
func (t *Tx) AddSignOff(s wear.SignOff) (wear.SignOff, error) { return signOffs.add(t, s) }

// Readings returns all readings of a part, those taken back included, by
// instant, then ID.
func (t *Tx) Readings(part wear.ID) ([]wear.Reading, error) { return readings.of(t, part) }

// Looks is the same for looks.
func (t *Tx) Looks(part wear.ID) ([]wear.Look, error) { return looks.of(t, part) }

// SignOffs is the same for sign-offs.
func (t *Tx) SignOffs(part wear.ID) ([]wear.SignOff, error) { return signOffs.of(t, part) }

// VoidReading takes a reading back; it stays in the history.
func (t *Tx) VoidReading(part wear.ID, id uint64) error { return readings.void(t, part, id) }

// VoidLook takes a look back.
func (t *Tx) VoidLook(part wear.ID, id uint64) error { return looks.void(t, part, id) }

// VoidSignOff takes a sign-off back.
func (t *Tx) VoidSignOff(part wear.ID, id uint64) error { return signOffs.void(t, part, id) }
