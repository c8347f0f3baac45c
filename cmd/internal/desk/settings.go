package desk

import (
	"context"

	"pawl/store"
	"pawl/wear"
)

// ReadSchedule enters what a file differs from the schedule by, in force from
// a day on (always, where none is given), all of it or nothing.
func (d *Desk) ReadSchedule(ctx context.Context, text []byte, file, on string) (n int, err error) {
	settings, err := wear.ParseOverrides(text, file)
	if err != nil {
		return 0, refusal("pawl schedule shows the words; nothing of the file was taken", "%v", err)
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		from := wear.Ever
		if on != "" {
			at, err := parseInstant(on, tx.Zone())
			if err != nil {
				return err
			}
			from = startOfDay(at, tx.Zone())
		}
		tx.Begin("schedule read", plainText(file), d.Who)
		for _, s := range settings {
			if err := resolve(tx, &s); err != nil {
				return err
			}
			s.At, s.File = from, plainText(s.File)
			if _, err := tx.AddSetting(s); err != nil {
				return err
			}
		}
		n = len(settings)
		return nil
	})
	return n, err
}

// resolve puts the ID of the bike or part that a setting names in its place.
func resolve(tx *store.Tx, s *wear.Setting) error {
	switch s.Scope {
	case wear.ForBike:
		b, err := tx.FindBike(s.Key)
		if err != nil {
			return err
		}
		s.Of, s.Key = b.ID, ""
	case wear.ForPart:
		p, err := tx.FindPart(0, s.Key, wear.Never)
		if err != nil {
			return err
		}
		s.Of, s.Key = p.ID, ""
	}
	return nil
}

// Schedule lists every job of the kinds named, all where none is, with what
// overrides put in their place, and the names of the bikes and parts that those
// are for. Where there is no book yet, the shipped one.
func (d *Desk) Schedule(ctx context.Context, kinds []string) (list []wear.InForceLine, names map[wear.ID]string, err error) {
	wanted, err := Kinds(kinds)
	if err != nil {
		return nil, nil, err
	}
	want := map[string]bool{"": len(kinds) == 0}
	for _, k := range wanted {
		want[k.Name] = true
	}
	var settings []wear.Setting
	names = map[wear.ID]string{}
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		if settings, err = tx.Settings(); err != nil {
			return err
		}
		for _, s := range settings {
			if names[s.Of], err = nameOf(tx, s.Scope, s.Of); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil && !Empty(err) {
		return nil, nil, err
	}
	for _, l := range wear.InForce(settings, wear.Default()) {
		if want[l.Kind] {
			list = append(list, l)
		}
	}
	return list, names, nil
}

func nameOf(tx *store.Tx, scope wear.Scope, id wear.ID) (string, error) {
	switch scope {
	case wear.ForBike:
		b, err := tx.Bike(id)
		return b.Name, err
	case wear.ForPart:
		p, err := tx.Part(id)
		return p.Name, err
	}
	return "", nil
}
