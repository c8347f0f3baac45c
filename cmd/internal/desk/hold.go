package desk

import (
	"pawl/store"
	"pawl/wear"
)

// holdOf says whether a bike has to stay in, from its case and findings of today.
// Where a release is in force it looks at what stopped the bike when that was given.
func holdOf(tx *store.Tx, c wear.Case, findings []wear.Finding) (wear.Hold, error) {
	var then []wear.Finding
	if r := c.Release(); r != nil && wear.Worst(findings) == wear.Stop {
		was, err := tx.Case(c.Bike.ID, r.At)
		if err != nil {
			return wear.Hold{}, err
		}
		then = wear.AssessOnly(was, wear.Default(), wear.Stop)
	}
	return wear.HoldOf(c, findings, then), nil
}

// heldAt says whether a bike had to stay in at an instant.
func heldAt(tx *store.Tx, bike wear.ID, at wear.Instant) (bool, error) {
	c, err := tx.Case(bike, at)
	if err != nil {
		return false, err
	}
	h, err := holdOf(tx, c, wear.AssessOnly(c, wear.Default(), wear.Stop))
	return h.Held, err
}
