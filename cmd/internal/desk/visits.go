package desk

import (
	"context"
	"slices"

	"pawl/store"
	"pawl/wear"
)

// VisitState is a visit and what it will do.
type VisitState struct {
	Visit  wear.Visit
	Plan   wear.VisitPlan
	Owner  string // "" = nobody's
	Missed bool   // its day is over, and what it was to do is still due
}

// AddVisit enters that a bike comes on a day; an earlier plan for the bike that
// lies ahead gives way to it.
func (d *Desk) AddVisit(ctx context.Context, bike, on, note string) (s VisitState, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		b, err := tx.FindBike(bike)
		if err != nil {
			return err
		}
		at, err := parseInstant(on, tx.Zone())
		if err != nil {
			return err
		}
		at = wear.EndOfDay(at.Time(), tx.Zone())
		if at < wear.At(d.Now) {
			return mistake("a day from today on", "visit on %s: that day is over", day(at, tx.Zone()))
		}
		tx.Begin("visit", b.Name, d.Who)
		if err := d.dropVisits(tx, b); err != nil {
			return err
		}
		v, err := tx.AddVisit(wear.Visit{Bike: b.ID, At: at, Note: plainText(note)})
		if err != nil {
			return err
		}
		s, err = d.visitState(tx, b, v)
		return err
	})
	return s, err
}

// DropVisit takes back the visits of a bike that lie ahead.
func (d *Desk) DropVisit(ctx context.Context, bike string) (b wear.Bike, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		if b, err = tx.FindBike(bike); err != nil {
			return err
		}
		ahead, err := d.visitsAhead(tx, b.ID)
		if err != nil {
			return err
		}
		if len(ahead) == 0 {
			return refusal("pawl visit list shows the visits", "bike %q: no visit lies ahead", b.Name)
		}
		tx.Begin("visit", b.Name, d.Who)
		return d.dropVisits(tx, b)
	})
	return b, err
}

func (d *Desk) dropVisits(tx *store.Tx, b wear.Bike) error {
	ahead, err := d.visitsAhead(tx, b.ID)
	for _, v := range ahead {
		if err := tx.VoidVisit(b.ID, v.ID); err != nil {
			return err
		}
	}
	return err
}

// visitsAhead are the visits of a bike of today or later.
func (d *Desk) visitsAhead(tx *store.Tx, bike wear.ID) ([]wear.Visit, error) {
	visits, err := tx.Visits(bike)
	today := startOfDay(wear.At(d.Now), tx.Zone())
	return slices.DeleteFunc(visits, func(v wear.Visit) bool { return v.Void || v.At < today }), err
}

// Visits lists the visits of the next days, and those missed in the last month.
func (d *Desk) Visits(ctx context.Context, days int) (list []VisitState, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		bikes, err := tx.Bikes()
		if err != nil {
			return err
		}
		from := startOfDay(wear.At(d.Now), tx.Zone())
		list = nil
		for _, b := range bikes {
			visits, err := tx.Visits(b.ID)
			if err != nil {
				return err
			}
			for _, v := range visits {
				if v.Void || v.At < from-30*wear.Day || v.At >= from+wear.Instant(days)*wear.Day {
					continue
				}
				s, err := d.visitState(tx, b, v)
				if err != nil {
					return err
				}
				s.Missed = v.At < from
				if !s.Missed || missed(s) {
					list = append(list, s)
				}
			}
		}
		return nil
	})
	slices.SortStableFunc(list, func(a, b VisitState) int { return int(min(max(a.Visit.At-b.Visit.At, -1), 1)) })
	return list, err
}

// missed reports whether something that the visit was to do is still due.
func missed(s VisitState) bool {
	return slices.ContainsFunc(s.Plan.Findings, func(f wear.Finding) bool { return f.Verdict >= wear.Due && f.Declined == 0 })
}

func (d *Desk) visitState(tx *store.Tx, b wear.Bike, v wear.Visit) (VisitState, error) {
	s := VisitState{Visit: v}
	c, err := tx.Case(b.ID, wear.At(d.Now))
	if err != nil {
		return s, err
	}
	s.Plan = wear.PlanVisit(v, wear.Assess(c, wear.Default()))
	s.Plan.Bike = b.Name
	if b.Owner != 0 {
		if p, err := tx.Person(b.Owner); err == nil {
			s.Owner = p.Name
		}
	}
	return s, nil
}
