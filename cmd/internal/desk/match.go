package desk

import (
	"context"
	"path/filepath"

	"pawl/store"
	"pawl/wear"
)

// MatchState is a match in force and the name of its bike.
type MatchState struct {
	wear.BikeMatch
	Bike string
}

// AddMatch says by what the rides of a bike are told, from a day on (always,
// where none is given). It returns how many rides without a bike are told now.
func (d *Desk) AddMatch(ctx context.Context, bike string, m wear.Match, on string) (b wear.Bike, explains int, err error) {
	if m.Folder != "" {
		full, err := filepath.Abs(m.Folder)
		if err != nil {
			return b, 0, err
		}
		m.Folder = filepath.ToSlash(full)
	}
	text, err := matchText(m)
	if err != nil {
		return b, 0, err
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		if b, err = tx.FindBike(bike); err != nil {
			return err
		}
		from := wear.Ever
		if on != "" {
			at, err := parseInstant(on, tx.Zone())
			if err != nil {
				return err
			}
			from = startOfDay(at, tx.Zone())
		}
		if err := newMatch(tx, b.ID, m, from); err != nil {
			return err
		}
		tx.Begin("bike match", b.Name, d.Who)
		if _, err := tx.AddSetting(wear.Setting{Name: wear.SettingMatch, Scope: wear.ForBike, Of: b.ID, At: from, Text: text}); err != nil {
			return err
		}
		list, err := d.learned(tx, nil)
		explains = len(list)
		return err
	})
	return b, explains, err
}

// newMatch refuses a match that is in force already.
func newMatch(tx *store.Tx, bike wear.ID, m wear.Match, from wear.Instant) error {
	matches, err := readMatches(tx)
	for _, o := range matches {
		if o.Bike == bike && o.From == from && o.Match.String() == m.String() {
			return refusal("pawl bike match lists them", "match of %s: is in force already", m)
		}
	}
	return err
}

// matchText is a match as the book keeps it, if it can be meant.
func matchText(m wear.Match) (string, error) {
	text, err := m.Text()
	if err == nil {
		_, err = wear.ParseMatch(text)
	}
	if err != nil {
		return "", mistake("pawl bike match BIKE --folder DIR, --file '*-enduro.fit', --device NUMBER, --profile NAME, --sensor NUMBER, --indoor", "%v", err)
	}
	return text, nil
}

// Matches lists the matches in force, of one bike or of all, in the order in
// which they were made.
func (d *Desk) Matches(ctx context.Context, bike string) (list []MatchState, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		only := wear.ID(0)
		if bike != "" {
			b, err := tx.FindBike(bike)
			if err != nil {
				return err
			}
			only = b.ID
		}
		names, err := bikeNames(tx)
		if err != nil {
			return err
		}
		matches, err := readMatches(tx)
		for _, m := range matches {
			if only == 0 || m.Bike == only {
				list = append(list, MatchState{m, names[m.Bike]})
			}
		}
		return err
	})
	return list, err
}

// DropMatch takes back a match by its number.
func (d *Desk) DropMatch(ctx context.Context, id uint64) error {
	return d.Book.Update(ctx, func(tx *store.Tx) error {
		matches, err := readMatches(tx)
		if err != nil {
			return err
		}
		for _, m := range matches {
			if m.ID == id || m.ID&0xffffffff == id {
				tx.Begin("bike match", m.Match.String(), d.Who)
				return tx.VoidSetting(id)
			}
		}
		return refusal("pawl bike match lists them with their numbers", "match %d: no such match", id)
	})
}
