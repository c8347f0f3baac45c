package desk

import (
	"path"
	"path/filepath"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// resolver names the bike of every ride of an import, as the book knew to tell
// them when the import began.
type resolver struct {
	told  *wear.Bike // by the user; nil = found out
	signs wear.Signs
	bikes map[wear.ID]wear.Bike
}

// newResolver reads what tells bikes; nothing more than the bike where the user
// names one.
func newResolver(tx *store.Tx, name string) (*resolver, error) {
	if name != "" {
		b, err := tx.FindBike(name)
		return &resolver{told: &b}, err
	}
	signs, bikes, err := readSigns(tx)
	return &resolver{signs: signs, bikes: bikes}, err
}

// Resolve implements ingest.Bikes.
func (r *resolver) Resolve(file string, t *ingest.Track) (wear.Whose, ingest.Model) {
	if r.told != nil {
		return wear.Whose{Bike: r.told.ID, Rule: wear.Told}, ingest.ModelOf(*r.told)
	}
	w := r.signs.Whose(wear.Clues{
		At: wear.Instant(t.Start), Folder: folderOf(file), File: path.Base(filepath.ToSlash(file)),
		Device: t.Device, Sensors: t.Sensors, Profile: t.Profile, Indoor: t.Indoor,
	})
	return w, ingest.ModelOf(r.bikes[w.Bike])
}

// forRows is the bike of table rows that name none; zero where none is told.
func (r *resolver) forRows() wear.ID {
	switch {
	case r.told != nil:
		return r.told.ID
	case len(r.bikes) == 1:
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

// readSigns reads what the book knows to tell bikes by.
func readSigns(tx *store.Tx) (s wear.Signs, bikes map[wear.ID]wear.Bike, err error) {
	list, err := tx.Bikes()
	if err != nil {
		return s, nil, err
	}
	bikes = make(map[wear.ID]wear.Bike, len(list))
	for _, b := range list {
		bikes[b.ID] = b
		until, err := retiredFrom(tx, b.ID)
		if err != nil {
			return s, nil, err
		}
		s.Bikes = append(s.Bikes, wear.Candidate{ID: b.ID, Name: b.Name, Retired: until})
	}
	if s.Matches, err = readMatches(tx); err != nil {
		return s, nil, err
	}
	s.Told, err = tx.Told()
	return s, bikes, err
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
