package store

import (
	"fmt"
	"math"

	"pawl/wear"
)

// dated says how readings, looks and sign-offs are kept, which is alike.
type dated[T any] struct {
	bucket []byte
	noun   string
	head   func(*T) head
}

// head points at what they have in common.
type head struct {
	id         *uint64
	part, bike *wear.ID
	at         *wear.Instant
	void       *bool
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
	part, err := t.Part(*h.part)
	if err != nil {
		return fact, err
	}
	if err := dateable(d.noun+" of", *h.at); err != nil {
		return fact, err
	}
	stays, err := t.StaysOf(part.ID)
	if err != nil {
		return fact, err
	}
	id, err := t.newID()
	if err != nil {
		return fact, err
	}
	*h.id = uint64(id)
	err = t.put(d.bucket, datedKey(*h.part, *h.at, *h.id), fact)
	*h.bike = hostAt(stays, *h.at, *h.bike)
	return fact, err
}

// of returns all facts of a part, those taken back included, by instant, then ID.
func (d dated[T]) of(t *Tx, part wear.ID) ([]T, error) {
	facts, err := list[T](t, d.bucket, id8(part))
	if err != nil || len(facts) == 0 {
		return nil, err
	}
	stays, err := t.StaysOf(part)
	for i := range facts {
		h := d.head(&facts[i])
		*h.bike = hostAt(stays, *h.at, *h.bike)
	}
	return facts, err
}

// upTo returns the facts of a part that count on a day.
func (d dated[T]) upTo(t *Tx, part wear.ID, today wear.Instant) ([]T, error) {
	facts, err := d.of(t, part)
	var known []T
	for i := range facts {
		if h := d.head(&facts[i]); !*h.void && *h.at <= today {
			known = append(known, facts[i])
		}
	}
	return known, err
}

func (d dated[T]) void(t *Tx, part wear.ID, id uint64) error {
	facts, err := list[T](t, d.bucket, id8(part))
	if err != nil {
		return err
	}
	for i := range facts {
		if h := d.head(&facts[i]); *h.id == id {
			*h.void = true
			return t.put(d.bucket, datedKey(part, *h.at, id), facts[i])
		}
	}
	return &UnknownError{Noun: d.noun, Name: fmt.Sprintf("%x", id)}
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
