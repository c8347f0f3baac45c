package desk

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// A batch of an import is written at the latest when it holds this much.
const (
	batchRides = 200
	batchBytes = 16 << 20
	batchTime  = 500 * time.Millisecond
)

// ImportRequest says what to import.
type ImportRequest struct {
	Paths    []string
	Bike     string       // "" = found out
	Ground   *wear.Ground // nil = unmarked
	DryRun   bool
	On       string  // start of a GPX without times
	Hours    float64 // how long a GPX without times took
	Progress func(done, all int)
}

// The outcomes of a file.
const (
	TakenFile   = "taken"
	KnownFile   = "known"
	NotRideFile = "not_ride"
	RefusedFile = "refused"
)

// FileOutcome is what became of one file.
type FileOutcome struct {
	File    string
	Outcome string
	Rides   []wear.RideID
	Why     string
	Hint    string
	Notes   []string
}

// ImportResult is what became of all of them.
type ImportResult struct {
	Taken, Known, NotRides, Refused int
	Rides                           int // taken
	Homeless                        int // rides taken for which no bike is known
	Files                           []FileOutcome
	DryRun                          bool
	Interrupted                     bool
	Left                            int // files not looked at when interrupted
}

// Import reads ride files and writes their rides to the book, batch by batch.
// A cancelled context ends it after the batch in hand: what is in stays in.
func (d *Desk) Import(ctx context.Context, req ImportRequest) (ImportResult, error) {
	res := ImportResult{DryRun: req.DryRun}
	who, opts, err := d.prepare(ctx, req)
	if err != nil {
		return res, err
	}
	files, bad := ingest.Find(req.Paths)
	for _, err := range bad {
		var refused *ingest.RefusedError
		if errors.As(err, &refused) {
			res.add(failed(refused.Path, err))
		}
	}
	w := &batchWriter{desk: d, req: req, who: who, res: &res}
	done := 0
	err = ingest.Run(ctx, files, opts, who, func(f ingest.File) error {
		done++
		if req.Progress != nil {
			req.Progress(done, len(files))
		}
		return w.take(ctx, f)
	})
	// What was handed over before an interrupt is still written.
	if flushErr := w.flush(context.WithoutCancel(ctx)); flushErr != nil {
		return res, flushErr
	}
	if errors.Is(err, context.Canceled) {
		res.Interrupted, res.Left, err = true, len(files)-done, nil
	}
	return res, err
}

// resolver names the bike of every ride of an import.
type resolver struct {
	bike  wear.ID
	rule  wear.Rule
	model ingest.Model
}

// Resolve implements ingest.Bikes.
func (r resolver) Resolve(*ingest.Track) (wear.ID, wear.Rule, ingest.Model) {
	return r.bike, r.rule, r.model
}

// prepare finds the bike of the import and the options of reading.
func (d *Desk) prepare(ctx context.Context, req ImportRequest) (r resolver, o ingest.Options, err error) {
	o.Now, o.Hours = wear.At(d.Now), req.Hours
	zone := time.UTC
	r.model = ingest.ModelOf(wear.Bike{})
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		zone = tx.Zone()
		return r.find(tx, req.Bike)
	})
	if errors.Is(err, store.ErrNoBook) && req.Bike == "" {
		err = nil
	}
	if err == nil && req.On != "" {
		var at wear.Instant
		at, err = d.when(req.On, zone)
		o.On = &at
	}
	return r, o, err
}

func (r *resolver) find(tx *store.Tx, name string) error {
	bikes, err := tx.Bikes()
	if err != nil {
		return err
	}
	switch {
	case name != "":
		b, err := tx.FindBike(name)
		if err != nil {
			return err
		}
		r.bike, r.rule, r.model = b.ID, wear.Told, ingest.ModelOf(b)
	case len(bikes) == 1:
		r.bike, r.rule, r.model = bikes[0].ID, wear.OnlyBike, ingest.ModelOf(bikes[0])
	}
	return nil
}

// batchWriter gathers decoded files and writes them in batches.
type batchWriter struct {
	desk  *Desk
	req   ImportRequest
	who   resolver
	res   *ImportResult
	files []ingest.File
	rides int
	bytes int
	since time.Time
}

func (w *batchWriter) take(ctx context.Context, f ingest.File) error {
	if f.Err != nil {
		w.res.add(failed(f.Path, f.Err))
		return nil
	}
	if len(w.files) == 0 {
		w.since = time.Now()
	}
	w.files = append(w.files, f)
	w.rides += len(f.Rides)
	w.bytes += len(f.Raw)
	if w.rides >= batchRides || w.bytes >= batchBytes || time.Since(w.since) >= batchTime {
		return w.flush(ctx)
	}
	return nil
}

// flush writes the batch in one transaction, or only looks where nothing is
// to be written.
func (w *batchWriter) flush(ctx context.Context) error {
	if len(w.files) == 0 {
		return nil
	}
	outcomes := make([]FileOutcome, 0, len(w.files))
	each := func(tx *store.Tx, put func(*store.Tx, ingest.File) error) error {
		for _, f := range w.files {
			o, err := w.one(tx, f, put)
			if err != nil {
				return fmt.Errorf("file %q: %w", f.Path, err)
			}
			outcomes = append(outcomes, o)
		}
		return nil
	}
	err := w.write(ctx, each)
	if err != nil {
		return err
	}
	for _, o := range outcomes {
		w.res.add(o)
		if o.Outcome == TakenFile && w.who.bike == 0 {
			w.res.Homeless += len(o.Rides)
		}
	}
	w.files, w.rides, w.bytes = w.files[:0], 0, 0
	return nil
}

func (w *batchWriter) write(ctx context.Context, each func(*store.Tx, func(*store.Tx, ingest.File) error) error) error {
	if !w.req.DryRun {
		return w.desk.Book.Update(ctx, func(tx *store.Tx) error {
			tx.Begin("import", fmt.Sprintf("%d files", len(w.files)), w.desk.Who)
			return each(tx, w.put)
		})
	}
	nothing := func(*store.Tx, ingest.File) error { return nil }
	err := w.desk.Book.View(ctx, func(tx *store.Tx) error { return each(tx, nothing) })
	if errors.Is(err, store.ErrNoBook) {
		return each(nil, nothing)
	}
	return err
}

// one decides what becomes of a file, and puts it into the book where it is new.
func (w *batchWriter) one(tx *store.Tx, f ingest.File, put func(*store.Tx, ingest.File) error) (FileOutcome, error) {
	o := FileOutcome{File: f.Path, Outcome: TakenFile}
	if tx != nil {
		fact, known, err := tx.File(f.Hash)
		if err != nil {
			return o, err
		}
		if known {
			o.Outcome, o.Rides = KnownFile, fact.Rides
			o.Why = "already in the book as " + fact.Name
			return o, nil
		}
	}
	for _, r := range f.Rides {
		o.Rides = append(o.Rides, r.ID)
		o.Notes = append(o.Notes, r.Notes...)
	}
	return o, put(tx, f)
}

func (w *batchWriter) put(tx *store.Tx, f ingest.File) error {
	fact := store.FileFact{
		Hash: f.Hash, Name: filepath.Base(f.Path), Size: int64(len(f.Raw)),
		Format: f.Format, Outcome: TakenFile,
	}
	for i, r := range f.Rides {
		if w.req.Ground != nil && !r.Ground.Indoor() {
			r.Ground = *w.req.Ground
		}
		if _, err := tx.AddRide(r, f.Gears[i]); err != nil {
			return err
		}
		fact.Rides = append(fact.Rides, r.ID)
	}
	return tx.AddFile(fact, f.Raw)
}

func (r *ImportResult) add(o FileOutcome) {
	r.Files = append(r.Files, o)
	switch o.Outcome {
	case TakenFile:
		r.Taken++
		r.Rides += len(o.Rides)
	case KnownFile:
		r.Known++
	case NotRideFile:
		r.NotRides++
	case RefusedFile:
		r.Refused++
	}
}

// failed is the outcome of a file that could not be read as a ride.
func failed(path string, err error) FileOutcome {
	o := FileOutcome{File: path, Outcome: RefusedFile, Why: err.Error()}
	var no *ingest.NotRideError
	var refused *ingest.RefusedError
	switch {
	case errors.As(err, &no):
		o.Outcome, o.Hint = NotRideFile, no.Hint
	case errors.As(err, &refused):
		o.Hint = refused.Hint
	}
	return o
}
