package desk

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"

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
}

// table enters what the rows of a table say: rides, and readings of odometers
// of which the rest becomes a ride. Wrong rows are told and stop nothing else.
func (w *batchWriter) table(tx *store.Tx, f ingest.File) (FileOutcome, error) {
	t := tableImport{w: w, tx: tx, out: FileOutcome{File: f.Path, Outcome: TakenFile}}
	for _, bad := range f.Table.Bad {
		t.out.Wrong = append(t.out.Wrong, f.Path+": "+bad.String())
	}
	if len(f.Table.Unread) > 0 {
		t.out.Notes = append(t.out.Notes, fmt.Sprintf("columns not read: %q", f.Table.Unread))
	}
	if w.req.DryRun {
		t.out.Notes = append(t.out.Notes, counted(len(f.Table.Rows), "row"))
		return t.out, nil
	}
	for _, row := range f.Table.Rows {
		err := t.row(row)
		var wrong interface{ Hint() string }
		if errors.As(err, &wrong) {
			t.out.Wrong = append(t.out.Wrong, fmt.Sprintf("%s: line %d: %v", f.Path, row.Line, err))
			err = nil
		}
		if err != nil {
			return t.out, fmt.Errorf("line %d: %w", row.Line, err)
		}
	}
	return t.done(f)
}

// done says what came of the table and remembers the file where any row went in.
func (t *tableImport) done(f ingest.File) (FileOutcome, error) {
	if len(t.out.Wrong) > 0 {
		t.out.Outcome = PartialFile
		t.out.Why = counted(len(t.out.Wrong), "row") + " refused, the others are in"
		t.out.Hint = "mend those rows and import the file again: rows that are in count once"
	}
	if len(t.out.Rides) == 0 && len(t.out.Wrong) > 0 && t.known == 0 {
		t.out.Outcome, t.out.Why = RefusedFile, "none of its rows can be taken"
		return t.out, nil
	}
	return t.out, t.tx.AddFile(store.FileFact{
		Hash: f.Hash, Name: plainText(filepath.Base(f.Path)), Folder: plainText(folderOf(f.Path)), Size: int64(len(f.Raw)),
		Format: wear.Table, Outcome: t.out.Outcome, Rides: t.out.Rides,
	}, f.Raw)
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
	if !math.IsNaN(row.Km) || math.IsNaN(row.Odometer) {
		if err := t.ride(row, bike, at); err != nil {
			return err
		}
	}
	if math.IsNaN(row.Odometer) {
		return nil
	}
	return t.odometer(row, bike, at)
}

func (t *tableImport) bike(row ingest.Row) (wear.Bike, error) {
	switch {
	case row.Bike != "":
		return t.tx.FindBike(plainText(row.Bike))
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
	r := typedRide(req, bike, at)
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

// correct changes a row that is in the book and now says more or otherwise.
func (t *tableImport) correct(r wear.Ride) error {
	old, err := t.tx.Ride(r.ID)
	if err != nil || old.Recorded == r.Recorded && old.Estimated == r.Estimated {
		return err
	}
	r.State, r.Ground, r.Marked, r.Entry = old.State, old.Ground, old.Marked, old.Entry
	t.out.Rides = append(t.out.Rides, r.ID)
	return t.tx.ChangeRide(r)
}

func (t *tableImport) odometer(row ingest.Row, bike wear.Bike, at wear.Instant) error {
	o := wear.Odometer{Bike: bike.ID, At: at, Metres: int64(math.Round(row.Odometer * 1000)), Replaced: row.New}
	if row.Climb > 0 {
		o.Climb = int64(math.Round(row.Climb))
	}
	if row.Hours > 0 {
		o.Minutes = int64(math.Round(row.Hours * 60))
	}
	o, warning, err := addOdometer(t.tx, bike, o)
	if errors.Is(err, errSame) {
		t.known++
		return nil
	}
	if warning != "" {
		t.w.res.Warnings = append(t.w.res.Warnings, warning)
	}
	if o.Ride != (wear.RideID{}) {
		t.out.Rides = append(t.out.Rides, o.Ride)
	} else {
		t.known++ // a first reading: from here on is counted
	}
	return err
}
