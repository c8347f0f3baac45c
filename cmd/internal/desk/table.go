package desk

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"slices"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// tableImport enters the rows of one table.
type tableImport struct {
	w     *batchWriter
	tx    *store.Tx
	out   FileOutcome
	known int
	wrong map[int]string // by line
}

// table enters what the rows of a table say: rides, and readings of odometers
// of which the rest becomes a ride. Wrong rows are told and stop nothing else.
func (w *batchWriter) table(tx *store.Tx, f ingest.File) (FileOutcome, error) {
	t := tableImport{w: w, tx: tx, out: FileOutcome{File: f.Path, Outcome: TakenFile}, wrong: map[int]string{}}
	for _, bad := range f.Table.Bad {
		t.wrong[bad.Line] = bad.String()
	}
	if len(f.Table.Unread) > 0 {
		t.out.Notes = append(t.out.Notes, fmt.Sprintf("columns not read: %q", f.Table.Unread))
	}
	for _, row := range t.inTime(f.Table.Rows) {
		err := t.row(row)
		var wrong interface{ Hint() string }
		if errors.As(err, &wrong) {
			t.wrong[row.Line] = fmt.Sprintf("line %d: %v", row.Line, err)
			err = nil
		}
		if err != nil {
			return t.out, fmt.Errorf("line %d: %w", row.Line, err)
		}
	}
	return t.done(f)
}

// inTime are the rows in order of time, so that a table may run either way:
// what a meter said before it was replaced is entered before what the new one says.
func (t *tableImport) inTime(rows []ingest.Row) []ingest.Row {
	rows = slices.Clone(rows)
	slices.SortStableFunc(rows, func(a, b ingest.Row) int {
		return cmp.Or(cmp.Compare(a.At(t.tx.Zone()), b.At(t.tx.Zone())), compareBool(a.New || a.NewHours, b.New || b.NewHours))
	})
	return rows
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// say lists the wrong rows by line.
func (t *tableImport) say(path string) {
	for _, line := range slices.Sorted(maps.Keys(t.wrong)) {
		t.out.Wrong = append(t.out.Wrong, path+": "+t.wrong[line])
	}
}

// done says what came of the table and remembers the file where any row went in.
func (t *tableImport) done(f ingest.File) (FileOutcome, error) {
	t.say(f.Path)
	t.out.Rides = distinct(t.out.Rides)
	if len(t.out.Wrong) > 0 {
		t.out.Outcome = PartialFile
		t.out.Why = counted(len(t.out.Wrong), "row") + " refused, the others are in"
		if t.w.req.DryRun {
			t.out.Why = counted(len(t.out.Wrong), "row") + " would be refused, the others not"
		}
		t.out.Hint = "mend those rows and import the file again: rows that are in count once"
	}
	if len(t.out.Rides) == 0 && len(t.out.Wrong) > 0 && t.known == 0 {
		t.out.Outcome, t.out.Why = RefusedFile, "none of its rows can be taken"
		return t.out, nil
	}
	if t.w.req.DryRun {
		t.out.Notes = append(t.out.Notes, counted(len(f.Table.Rows)+len(f.Table.Bad), "row"))
		return t.out, nil
	}
	before, _, err := t.tx.File(f.Hash)
	if err != nil {
		return t.out, err
	}
	rides := distinct(slices.Concat(before.Rides, t.out.Rides))
	return t.out, t.tx.AddFile(store.FileFact{
		Hash: f.Hash, Name: plainText(filepath.Base(f.Path)), Folder: plainText(folderOf(f.Path)), Size: int64(len(f.Raw)),
		Format: wear.Table, Outcome: t.out.Outcome, Rides: rides,
	}, f.Raw)
}

// distinct are rides without those that came before in the list.
func distinct(rides []wear.RideID) (list []wear.RideID) {
	seen := map[wear.RideID]bool{}
	for _, id := range rides {
		if !seen[id] {
			list = append(list, id)
		}
		seen[id] = true
	}
	return list
}

func (t *tableImport) row(row ingest.Row) error {
	bike, err := t.bike(row)
	if err != nil {
		return err
	}
	at := row.At(t.tx.Zone())
	if now := wear.At(t.w.desk.Now); at > now {
		if at > wear.EndOfDay(t.w.desk.Now, t.tx.Zone()) {
			return refusal("correct the date", "%s is in the future", day(at, t.tx.Zone()))
		}
		at = now
	}
	meters := row.Meters(bike.ID, at)
	if !math.IsNaN(row.Km) || len(meters) == 0 {
		if err := t.ride(row, bike, at); err != nil {
			return err
		}
	}
	if len(meters) == 0 {
		return nil
	}
	return t.meters(bike, meters)
}

func (t *tableImport) bike(row ingest.Row) (wear.Bike, error) {
	switch {
	case row.Bike != "":
		return t.tx.BikeOf(plainText(row.Bike))
	case t.w.who.forRows() != 0:
		return t.tx.Bike(t.w.who.forRows())
	}
	return wear.Bike{}, refusal("add a column named bike, or import with -b BIKE", "no bike is named")
}

func (t *tableImport) ride(row ingest.Row, bike wear.Bike, at wear.Instant) error {
	req := RideRequest{Km: row.Km, Climb: row.Climb, Hours: row.Hours}
	if err := req.check(); err != nil {
		return err
	}
	r, err := t.w.desk.typedRide(t.tx, req, bike, at)
	if err != nil {
		return err
	}
	r.ID = ingest.TableRideID(bike.ID, row.At(t.tx.Zone()), row.Km, float64(row.Nth))
	r.Format = wear.Table
	if t.w.req.Ground != nil {
		r.Ground, r.Marked = *t.w.req.Ground, wear.ByUser
	} else if err := usualGround(t.tx, &r); err != nil {
		return err
	}
	known, err := t.tx.AddRide(r, wear.Gears{})
	if err == nil && known {
		t.known++
		return t.correct(r)
	}
	if err != nil {
		return err
	}
	t.out.Rides = append(t.out.Rides, r.ID)
	return t.w.desk.settleRides(t.tx, []wear.Ride{r})
}

// correct changes a row that is in the book and now says more or otherwise. What
// was only estimated stays: recount brings it to what is known now.
func (t *tableImport) correct(r wear.Ride) error {
	old, err := t.tx.Ride(r.ID)
	if err != nil || ingest.GivenOf(old).Same(ingest.GivenOf(r)) {
		return err
	}
	r.State, r.Ground, r.Marked, r.Entry = old.State, old.Ground, old.Marked, old.Entry
	t.out.Rides = append(t.out.Rides, r.ID)
	return t.tx.ChangeRide(r)
}

// meters enters what the meters of a bike said.
func (t *tableImport) meters(bike wear.Bike, readings []wear.Odometer) error {
	m, err := t.w.desk.metersOf(t.tx, bike)
	if err != nil {
		return err
	}
	rests, err := m.add(readings...)
	if errors.Is(err, errSame) {
		t.known++
		return nil
	}
	t.w.res.Warnings = append(t.w.res.Warnings, m.warnings...)
	t.out.Rides = append(t.out.Rides, rests...)
	if len(rests) == 0 {
		t.known++ // a first reading: from here on is counted
	}
	return err
}
