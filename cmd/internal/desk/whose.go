package desk

import (
	"cmp"
	"context"
	"errors"
	"path"
	"path/filepath"
	"slices"
	"sync"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// resolver names the bike of every ride of an import, as the book knew to tell
// them when the import began.
type resolver struct {
	told  *wear.Bike   // by the user; nil = found out
	read  func() error // reads what follows, once; nil = there is nothing
	signs wear.Signs
	// models are those of the bikes of the signs, in the same order.
	models []ingest.Model
}

// resolver finds the bike that the user names. Where he names none, it begins to
// read what tells bikes: meanwhile the first files can be decoded.
func (d *Desk) resolver(ctx context.Context, name string) (*resolver, error) {
	r := &resolver{}
	if name != "" {
		return r, d.Book.View(ctx, func(tx *store.Tx) error {
			b, err := tx.FindBike(name)
			r.told = &b
			return err
		})
	}
	r.read = sync.OnceValue(func() error {
		err := d.Book.View(ctx, func(tx *store.Tx) (err error) {
			r.signs, err = readSigns(tx, func(b wear.Bike) { r.models = append(r.models, ingest.ModelOf(b)) })
			return err
		})
		if errors.Is(err, store.ErrNoBook) {
			return nil
		}
		return err
	})
	go func() { _ = r.read() }()
	return r, nil
}

// ready waits until what tells bikes was read. Where it could not be, no bike is
// told and nothing may be written.
func (r *resolver) ready() error {
	if r.read == nil {
		return nil
	}
	return r.read()
}

// Resolve implements ingest.Bikes.
func (r *resolver) Resolve(file string, t *ingest.Track) (wear.Whose, ingest.Model) {
	if r.told != nil {
		return wear.Whose{Bike: r.told.ID, Rule: wear.Told}, ingest.ModelOf(*r.told)
	}
	if r.ready() != nil {
		return wear.Whose{}, ingest.ModelOf(wear.Bike{})
	}
	w := r.signs.Whose(wear.Clues{
		At: wear.Instant(t.Start), Folder: folderOf(file), File: path.Base(filepath.ToSlash(file)),
		Device: t.Device, Sensors: t.Sensors, Profile: t.Profile, Indoor: t.Indoor,
	})
	return w, r.modelOf(w.Bike)
}

// modelOf is the model of a bike of the signs, which have them by their IDs; of
// none the one without figures.
func (r *resolver) modelOf(bike wear.ID) ingest.Model {
	i, found := slices.BinarySearchFunc(r.signs.Bikes, bike, func(b wear.Candidate, id wear.ID) int { return cmp.Compare(b.ID, id) })
	if !found {
		return ingest.ModelOf(wear.Bike{})
	}
	return r.models[i]
}

// forRows is the bike of table rows that name none; zero where none is told.
func (r *resolver) forRows() wear.ID {
	switch {
	case r.told != nil:
		return r.told.ID
	case len(r.signs.Bikes) == 1:
		return r.signs.Bikes[0].ID
	}
	return 0
}

// folderOf is where a file lies, from the root, with slashes.
func folderOf(file string) string {
	if full, err := filepath.Abs(file); err == nil {
		file = full
	}
	return path.Dir(filepath.ToSlash(file))
}

// readSigns reads what the book knows to tell bikes by, those by their IDs, and
// shows every bike on the way.
func readSigns(tx *store.Tx, show func(wear.Bike)) (s wear.Signs, err error) {
	for b, err := range tx.EachBike() {
		if err != nil {
			return s, err
		}
		c, err := candidate(tx, b)
		if err != nil {
			return s, err
		}
		s.Bikes = append(s.Bikes, c)
		show(b)
	}
	if s.Matches, err = readMatches(tx); err != nil {
		return s, err
	}
	s.Told, err = tx.Told()
	return s, err
}

// readTorn reads what tells whether rides of two bikes speak for a sensor of some
// rides: no more than the bikes that any speaks for.
func readTorn(tx *store.Tx, sensors []wear.SensorKey) (s wear.Signs, err error) {
	if s.Told, err = tx.ToldOf(sensors); err != nil {
		return s, err
	}
	known := map[wear.ID]bool{}
	for _, rides := range s.Told {
		for id := range rides {
			if known[id] || len(rides) < 2 {
				continue
			}
			known[id] = true
			b, err := tx.Bike(id)
			if err != nil {
				return s, err
			}
			c, err := candidate(tx, b)
			if err != nil {
				return s, err
			}
			s.Bikes = append(s.Bikes, c)
		}
	}
	if len(s.Bikes) > 0 {
		s.Matches, err = readMatches(tx)
	}
	return s, err
}

func candidate(tx *store.Tx, b wear.Bike) (wear.Candidate, error) {
	until, err := retiredFrom(tx, b.ID)
	return wear.Candidate{ID: b.ID, Name: b.Name, Retired: until}, err
}

// retiredFrom is when a bike was retired for good; Never where it is ridden.
func retiredFrom(tx *store.Tx, bike wear.ID) (wear.Instant, error) {
	statuses, err := tx.Statuses(bike)
	if err != nil {
		return wear.Never, err
	}
	c := wear.Case{Statuses: statuses, Today: wear.Never - 1}
	if is, last := c.Standing(); is == wear.Retired {
		return last.At, nil
	}
	return wear.Never, nil
}

// readMatches are the matches in force, in the order in which they were made.
func readMatches(tx *store.Tx) (list []wear.BikeMatch, err error) {
	settings, err := tx.Settings()
	if err != nil {
		return nil, err
	}
	for _, s := range settings {
		if s.Void || s.Name != wear.SettingMatch {
			continue
		}
		m, err := wear.ParseMatch(s.Text)
		if err != nil {
			return nil, err
		}
		list = append(list, wear.BikeMatch{Match: m, ID: s.ID, Bike: s.Of, From: s.At})
	}
	return list, nil
}

// cluesOf are the clues of a ride in the book.
func cluesOf(r wear.Ride, f store.FileFact) wear.Clues {
	return wear.Clues{
		At: r.Start, Folder: f.Folder, File: f.Name, Device: r.Device, Sensors: r.Sensors,
		Profile: r.Profile, Indoor: r.Ground.Indoor(),
	}
}
