package store

import (
	"fmt"

	"pawl/wear"
)

// AddStock adds what was counted, came in or is known of parts of a kind and
// model, and gives it its ID.
func (t *Tx) AddStock(s wear.Stock) (wear.Stock, error) {
	if s.Kind == "" || s.Count < 0 || s.Price < 0 || !(s.Lead >= 0) {
		return s, &ConflictError{"stock of", s.Kind, fmt.Sprintf("%d parts at %d, %g days: cannot be", s.Count, s.Price, s.Lead), "count again"}
	}
	if err := dateable("stock of", s.At); err != nil {
		return s, err
	}
	id, err := t.newID()
	if err != nil {
		return s, err
	}
	s.ID = uint64(id)
	return s, t.put(bktStock, id8(id), s)
}

// Stock returns all that was said of stock, what was taken back included, in the
// order of entry.
func (t *Tx) Stock() ([]wear.Stock, error) { return list[wear.Stock](t, bktStock, nil) }

// VoidStock takes back what was said of stock; it stays in the history.
func (t *Tx) VoidStock(id uint64) error {
	s, found, err := get[wear.Stock](t, bktStock, id8(wear.ID(id)))
	if err != nil {
		return err
	}
	if !found {
		return &UnknownError{Noun: "stock", Name: fmt.Sprintf("%x", id)}
	}
	s.Void = true
	return t.put(bktStock, id8(wear.ID(id)), s)
}
