package store

import (
	"fmt"
	"iter"
	"slices"
	"strings"
	"unicode"

	"pawl/wear"
)

// maxName is the longest name of a bike, a part or a person, in bytes.
const maxName = 100

// nameable refuses names that a list or a command line cannot show.
func nameable(noun, name string) error {
	switch {
	case name == "":
		return &ConflictError{noun, name, "needs a name", "give it one"}
	case len(name) > maxName:
		return &ConflictError{noun, name[:20] + "…", fmt.Sprintf("name longer than %d bytes", maxName), "shorten it"}
	case name != strings.TrimSpace(name) || strings.ContainsFunc(name, unicode.IsControl):
		return &ConflictError{noun, name, "name begins or ends in blanks, or holds control characters", "give it another name"}
	}
	return nil
}

// AddBike adds a bike and gives it its ID. A taken name is refused.
func (t *Tx) AddBike(b wear.Bike) (wear.Bike, error) {
	id, err := t.newID()
	if err != nil {
		return b, err
	}
	b.ID = id
	return b, t.putBike(b)
}

// ChangeBike replaces what is known of a bike.
func (t *Tx) ChangeBike(b wear.Bike) error {
	if _, err := t.Bike(b.ID); err != nil {
		return err
	}
	return t.putBike(b)
}

func (t *Tx) putBike(b wear.Bike) error {
	if err := t.freeName(bikeNoun, b.Name, b.ID); err != nil {
		return err
	}
	if !t.ownable(b.Owner) {
		return &UnknownError{Noun: personNoun, Name: fmt.Sprintf("%x", uint64(b.Owner))}
	}
	return t.put(bktBikes, id8(b.ID), b)
}

// freeName refuses a name that another holds.
func (t *Tx) freeName(noun, name string, id wear.ID) error {
	if err := nameable(noun, name); err != nil {
		return err
	}
	if holder := t.bucket(bktNames).Get(nameKey(noun, name)); holder != nil && idOf(holder) != id {
		return &ConflictError{noun, name, "name is taken", "give another name"}
	}
	return nil
}

// Bike returns the bike of that ID.
func (t *Tx) Bike(id wear.ID) (wear.Bike, error) {
	b, found, err := get[wear.Bike](t, bktBikes, id8(id))
	if err == nil && !found {
		err = &UnknownError{Noun: bikeNoun, Name: fmt.Sprintf("%x", uint64(id))}
	}
	return b, err
}

// Bikes returns all bikes by name, "hire 2" before "hire 10".
func (t *Tx) Bikes() ([]wear.Bike, error) {
	all, err := list[wear.Bike](t, bktBikes, nil)
	slices.SortFunc(all, func(a, b wear.Bike) int {
		return wear.Naturally(strings.ToLower(a.Name), strings.ToLower(b.Name))
	})
	return all, err
}

// EachBike goes through all bikes in the order in which they were added; each is
// read when its turn comes.
func (t *Tx) EachBike() iter.Seq2[wear.Bike, error] {
	return func(yield func(wear.Bike, error) bool) {
		for k, v := range t.under(bktBikes, nil) {
			if b, err := decode[wear.Bike](t, bktBikes, k, v); !yield(b, err) || err != nil {
				return
			}
		}
	}
}

// BikeIDs are the ids of all bikes, in the order in which they were added.
func (t *Tx) BikeIDs() (ids []wear.ID) {
	for k := range t.under(bktBikes, nil) {
		ids = append(ids, idOf(k))
	}
	return ids
}
