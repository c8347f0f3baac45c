package desk

import (
	"context"

	"pawl/store"
	"pawl/wear"
)

// RingsPage is which rings fit a bike, and what that rests on.
type RingsPage struct {
	Bike     wear.Bike
	Today    wear.Instant
	Query    wear.RingQuery
	Advice   wear.RingAdvice
	Cautions []string
}

// Rings chooses among the narrow-wide rings that fit a bike. What the book does
// not know, edit puts in; nothing of that is kept.
func (d *Desk) Rings(ctx context.Context, bike, today string, edit func(*wear.RingQuery) error) (p RingsPage, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		at, err := d.today(today, tx.Zone())
		if err != nil {
			return err
		}
		b, err := tx.FindBike(bike)
		if err != nil {
			return err
		}
		c, err := tx.Case(b.ID, at)
		if err != nil {
			return err
		}
		setup, err := setupPage(tx, c)
		if err != nil {
			return err
		}
		p, err = ringsPage(c, setup, wear.Assess(c, wear.Default()), edit)
		return err
	})
	return p, err
}

// ringsPage is the choice for a case; edit may be nil.
func ringsPage(c wear.Case, setup SetupPage, fs []wear.Finding, edit func(*wear.RingQuery) error) (RingsPage, error) {
	p := RingsPage{Bike: c.Bike, Today: c.Today, Query: wear.RingsOf(c, setup.State.Setup, fs)}
	if sane(wear.RingQuery{Ring: p.Query.Ring}) != nil {
		p.Query.Ring = 0 // no ring of a bike: asked for
	}
	if edit != nil {
		if err := edit(&p.Query); err != nil {
			return p, err
		}
		if err := sane(p.Query); err != nil {
			return p, err
		}
	}
	p.Advice = wear.Rings(p.Query)
	p.Cautions = cautions([2]string{"ring", "change"}, [2]string{"chain", "change"}, [2]string{"ring-bolts", "check"})
	return p, nil
}

// sane refuses figures that no bike has.
func sane(q wear.RingQuery) error {
	if err := (wear.GuideSetup{ChainLine: q.Line, Ring: q.Ring, Drive: q.Drive}).Check(); err != nil {
		return mistake("pawl rings --help has the units; lengths are in mm", "%v", err)
	}
	for _, o := range q.Offers {
		if err := (wear.GuideSetup{Drive: wear.Drive{RingMount: o.Mount, Offset: o.Offset}}).Check(); err != nil {
			return mistake("pawl rings --help has the units; lengths are in mm", "of the rings on offer: %v", err)
		}
	}
	return nil
}
