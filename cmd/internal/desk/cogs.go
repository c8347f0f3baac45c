package desk

import (
	"context"
	"fmt"

	"pawl/store"
	"pawl/wear"
)

// Cogs is where turns and wear of a bike's cassette went.
func (d *Desk) Cogs(ctx context.Context, bike, today string) (res wear.Cogs, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		c, err := d.caseOf(tx, bike, today)
		if err != nil {
			return err
		}
		if res, err = wear.CogsOf(c, wear.Default()); err != nil {
			return mistake(fmt.Sprintf("pawl fit %s cassette --cogs 10-12-14-16-18-21-24-28-33-39-45-51", c.Bike.Name), "%v", err)
		}
		return nil
	})
	return res, err
}

// caseOf is the case of a bike by name.
func (d *Desk) caseOf(tx *store.Tx, bike, today string) (c wear.Case, err error) {
	at, err := d.today(today, tx.Zone())
	if err != nil {
		return c, err
	}
	b, err := tx.FindBike(bike)
	if err != nil {
		return c, err
	}
	return tx.Case(b.ID, at)
}

// WheelFromRides finds the circumference of a bike's rear wheel in m, by which
// the developments of its rides come closest to its cogs.
func (d *Desk) WheelFromRides(ctx context.Context, bike string) (wheel float64, b wear.Bike, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		c, err := d.caseOf(tx, bike, "")
		if err != nil {
			return err
		}
		b = c.Bike
		all, err := tx.BikeGears(b.ID, c.Today)
		if err != nil {
			return err
		}
		if wheel, err = wear.WheelOf(c, all); err != nil {
			return mistake(fmt.Sprintf("pawl bike change %s --wheel 2300mm gives it by hand", b.Name), "wheel of %q: %v", b.Name, err)
		}
		return nil
	})
	return wheel, b, err
}
