package desk

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"pawl/store"
	"pawl/wear"
)

// Cogs is where turns and wear of a bike's cassette went.
func (d *Desk) Cogs(ctx context.Context, bike, today string) (res wear.Cogs, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		at, err := d.today(today, tx.Zone())
		if err != nil {
			return err
		}
		c, err := caseOf(tx, bike, at)
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
func caseOf(tx *store.Tx, bike string, at wear.Instant) (c wear.Case, err error) {
	b, err := tx.FindBike(bike)
	if err != nil {
		return c, err
	}
	return tx.Case(b.ID, at)
}

// WheelChange is what a bike's wheel is to be from a day on.
type WheelChange struct {
	Metres float64 // rolling circumference; 0 = as the rides tell it
	From   string  // the day; "" = always, or since its tyre came where the rides tell
}

// WheelChanged is what came of it.
type WheelChanged struct {
	Bike    wear.Bike
	Was, Is float64      // m
	From    wear.Instant // in force from; Ever = always
}

// ChangeWheel changes the circumference of a bike's rear wheel. Earlier days keep
// theirs where the change has a date: rides are folded with the wheel of the day.
func (d *Desk) ChangeWheel(ctx context.Context, bike string, w WheelChange) (res WheelChanged, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		c, err := caseOf(tx, bike, wear.At(d.Now))
		if err != nil {
			return err
		}
		res = WheelChanged{Bike: c.Bike, Was: c.Bike.WheelAt(c.Settings, c.Today), Is: w.Metres, From: wear.Ever}
		if w.Metres == 0 {
			if res.Is, res.From, err = wheelFromRides(tx, c); err != nil {
				return err
			}
		}
		if w.From != "" {
			at, err := parseInstant(w.From, tx.Zone())
			if err != nil {
				return err
			}
			res.From = startOfDay(at, tx.Zone())
		}
		if res.Is == res.Was && w.From == "" {
			return nil
		}
		tx.Begin("bike change", c.Bike.Name, d.Who)
		if err := keepWheel(tx, c.Bike, res.Is, res.From); err != nil {
			return err
		}
		res.Bike.Wheel = res.Is
		settings, err := tx.Settings()
		if err != nil {
			return err
		}
		res.Bike.Wheel = res.Bike.WheelAt(settings, wear.Never) // the newest, be this one earlier
		return tx.ChangeBike(res.Bike)
	})
	return res, err
}

func wheelFromRides(tx *store.Tx, c wear.Case) (wheel float64, since wear.Instant, err error) {
	all, err := tx.BikeGears(c.Bike.ID, c.Today)
	if err != nil {
		return 0, since, err
	}
	if wheel, since, err = wear.WheelOf(c, all); err != nil {
		err = mistake(fmt.Sprintf("pawl bike change %s --wheel 2300mm gives it by hand", c.Bike.Name), "wheel of %q: %v", c.Bike.Name, err)
	}
	return wheel, since, err
}

// keepWheel enters a circumference from a day on. Where no change of the bike's
// wheel ever had a date there is nothing to keep: the bike's own figure holds for
// always. Where one had, a change without a date is one of the newest.
func keepWheel(tx *store.Tx, before wear.Bike, wheel float64, from wear.Instant) error {
	settings, err := tx.Settings()
	if err != nil {
		return err
	}
	settings = slices.DeleteFunc(settings, func(s wear.Setting) bool {
		return s.Void || s.Name != wear.SettingWheel || s.Of != before.ID
	})
	if len(settings) == 0 && from == wear.Ever {
		return nil
	}
	add := func(metres float64, at wear.Instant) error {
		_, err := tx.AddSetting(wear.Setting{
			Name: wear.SettingWheel, Scope: wear.ForBike, Of: before.ID, At: at, Text: strconv.FormatFloat(metres, 'f', -1, 64),
		})
		return err
	}
	if n := len(settings); n > 0 && from == wear.Ever {
		from = settings[n-1].At
	} else if n == 0 && before.Wheel > 0 {
		if err := add(before.Wheel, wear.Ever); err != nil {
			return err
		}
	}
	return add(wheel, from)
}
