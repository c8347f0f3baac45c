package desk

import (
	"context"
	"errors"
	"sync"
	"time"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// ImportRequest says what to import.
type ImportRequest struct {
	Paths    []string
	Bike     string       // "" = found out
	Ground   *wear.Ground // nil = the bike's usual one, else unmarked
	DryRun   bool
	Salvage  bool    // take what is whole in damaged files
	Retry    bool    // read tables again of which rows were refused
	On       string  // start of a GPX without times
	Hours    float64 // how long a GPX without times took
	Progress func(done, all int)
}

// The outcomes of a file.
const (
	TakenFile   = "taken"
	KnownFile   = "known"
	TwinFile    = "twin"    // the same outings as rides that count already
	PartialFile = "partial" // what is whole in a damaged file, or the good rows of a table
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
	Notes   []string // what a reader of its rides must know
	Wrong   []string // rows of a table that were refused: "FILE:12:3: why"
	Noted   bool     // the book has noted it for that reason already
}

// ImportResult is what became of all of them.
type ImportResult struct {
	Taken, Known, NotRides, Refused int // files; a twin is known
	Rides                           int // taken
	Homeless                        int // rides taken for which no bike is known
	News                            int // files refused by a watch that were not noted before
	Files                           []FileOutcome
	Warnings                        []string
	DryRun                          bool
	Interrupted                     bool
	Left                            int // files not looked at when interrupted

	Wrote store.Entry // the newest of its entries; zero = nothing was written
}

// Trouble reports whether something of the import did not go in.
func (r *ImportResult) Trouble() bool {
	for _, f := range r.Files {
		if len(f.Wrong) > 0 {
			return true
		}
	}
	return r.Refused > 0 || r.Interrupted
}

func (r *ImportResult) add(o FileOutcome) {
	r.Files = append(r.Files, o)
	switch o.Outcome {
	case TakenFile, PartialFile:
		r.Taken++
		r.Rides += len(o.Rides)
	case KnownFile, TwinFile:
		r.Known++
	case NotRideFile:
		r.NotRides++
	case RefusedFile:
		r.Refused++
	}
}

// Import reads ride files and writes their rides to the book, batch by batch.
// A cancelled context ends it after the batch in hand: what is in stays in,
// and the result tells what that is also where an error comes with it.
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
	w := &batchWriter{desk: d, req: req, who: who, res: &res, total: len(files), told: map[wear.SensorKey]wear.Ride{}}
	done, all := 0, len(files)
	opts.Opened = func(more int) { all += more }
	err = ingest.Run(ctx, files, opts, who, func(f ingest.File) error {
		done++
		if req.Progress != nil {
			req.Progress(done, all)
		}
		return w.take(ctx, f)
	})
	if err := who.ready(); err != nil {
		return ImportResult{DryRun: req.DryRun}, err // nothing was written
	}
	if err != nil && !errors.Is(err, context.Canceled) {
		return res, err
	}
	// What was handed over before an interrupt is still written.
	after := context.WithoutCancel(ctx)
	if err := w.flush(after); err != nil {
		return res, err
	}
	if err := errors.Join(w.askTorn(after), w.countHomeless(after)); err != nil {
		return res, err
	}
	res.Warnings = append(res.Warnings, d.Warnings...)
	if err != nil {
		res.Interrupted, res.Left = true, all-done
	}
	return res, nil
}

// prepare finds out how the bikes of the import are told, and the options of reading.
func (d *Desk) prepare(ctx context.Context, req ImportRequest) (r *resolver, o ingest.Options, err error) {
	known := &knownFiles{desk: d, retry: req.Retry}
	o = ingest.Options{Now: wear.At(d.Now), Hours: req.Hours, Salvage: req.Salvage, Known: func(h wear.Hash) bool { return known.known(ctx, h) }}
	if r, err = d.resolver(ctx, req.Bike); err != nil || req.On == "" {
		return r, o, err
	}
	zone, err := d.Book.Zone(ctx)
	if errors.Is(err, store.ErrNoBook) {
		zone, err = time.UTC, nil
	}
	if err != nil {
		return r, o, err
	}
	at, err := d.when(req.On, zone)
	o.On = &at
	return r, o, err
}

// manyFiles is how many files are asked about one by one before all that the
// book knows are read at once.
const manyFiles = 64

// knownFiles tells reading which files are in the book already, so that they are
// not decoded once more. Where the book cannot be asked, nothing is known:
// writing finds out what is wrong, also of what came in meanwhile.
type knownFiles struct {
	desk  *Desk
	retry bool
	mu    sync.Mutex
	asked int
	all   map[wear.Hash]bool // once many were asked about
}

func (k *knownFiles) known(ctx context.Context, h wear.Hash) (known bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.all != nil {
		return k.all[h]
	}
	_ = k.desk.Book.View(ctx, func(tx *store.Tx) (err error) {
		if k.asked++; k.asked > manyFiles {
			k.all, err = tx.FileHashes()
			return err
		}
		fact, found, err := tx.File(h)
		known = found && !(k.retry && halfTable(fact))
		return err
	})
	return known || k.all[h]
}

// halfTable reports whether a file is a table of which rows were refused: what
// was wrong may have been mended in the book.
func halfTable(f store.FileFact) bool { return f.Format == wear.Table && f.Outcome == PartialFile }

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
