package store

import (
	"fmt"
	"strconv"

	"pawl/wear"
)

// AddPart adds a part, gives it its ID, and a name (chain-1, chain-2, …) where
// it has none.
func (t *Tx) AddPart(p wear.Part) (wear.Part, error) {
	if p.Kind == "" {
		return p, &ConflictError{partNoun, p.Name, "needs a kind", "say what it is: chain, ring, …"}
	}
	id, err := t.newID()
	if err != nil {
		return p, err
	}
	p.ID = id
	if p.Name == "" {
		p.Name = t.numberedName(p.Kind)
	}
	return p, t.putPart(p)
}

// numberedName finds the next free number of a kind, in steps that double and
// then halve: a fleet has tens of thousands of chains. It begins behind the one
// that this operation gave last.
func (t *Tx) numberedName(kind string) string {
	name := func(n int) string { return kind + "-" + strconv.Itoa(n) }
	taken := func(n int) bool { return t.bucket(bktNames).Get(nameKey(partNoun, name(n))) != nil }
	low, step := 0, 1
	if last := t.numbered[kind]; taken(last) {
		low = last
	}
	for taken(low + step) {
		low, step = low+step, step*2
	}
	high := low + step
	for high-low > 1 {
		if mid := (low + high) / 2; taken(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	t.numbered[kind] = high
	return name(high)
}

// ChangePart replaces what is known of a part: its model, teeth, end, ….
func (t *Tx) ChangePart(p wear.Part) error {
	old, err := t.Part(p.ID)
	if err != nil {
		return err
	}
	if p.Kind != old.Kind {
		return &ConflictError{partNoun, old.Name, "is a " + old.Kind + ", which it stays", "add another part"}
	}
	return t.putPart(p)
}

func (t *Tx) putPart(p wear.Part) error {
	if err := t.freeName(partNoun, p.Name, p.ID); err != nil {
		return err
	}
	if p.End != nil {
		if err := dateable(partNoun, p.End.At); err != nil {
			return err
		}
	}
	return t.put(bktParts, id8(p.ID), p)
}

// Part returns the part of that ID.
func (t *Tx) Part(id wear.ID) (wear.Part, error) {
	if p, ok := t.parts[id]; ok {
		return p, nil
	}
	p, found, err := get[wear.Part](t, bktParts, id8(id))
	if err == nil && !found {
		err = &UnknownError{Noun: partNoun, Name: fmt.Sprintf("%x", uint64(id))}
	}
	if err == nil {
		if len(t.parts) >= partsKept {
			clear(t.parts)
		}
		t.parts[id] = p
	}
	return p, err
}

// partsKept is how many parts a transaction remembers: those of one bike are asked
// for again and again, those of a whole fleet only take room.
const partsKept = 4096

// Parts returns all parts in the order in which they were added.
func (t *Tx) Parts() ([]wear.Part, error) { return list[wear.Part](t, bktParts, nil) }
