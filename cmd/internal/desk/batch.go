package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
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

// importVerb is the verb of the entries of an import. All batches of one have
// the same moment and target, by which undo takes them back together.
const importVerb = "import"

// batchWriter gathers decoded files and writes them in batches.
type batchWriter struct {
	desk   *Desk
	req    ImportRequest
	who    *resolver
	res    *ImportResult
	total  int // files to come
	files  []ingest.File
	rides  int
	bytes  int
	since  time.Time
	seen   map[wear.Hash]bool           // by a dry run, which writes nothing down
	bad    []badFile                    // of this batch
	nobody []wear.RideID                // rides whose bike was not known when they came
	told   map[wear.SensorKey]wear.Ride // by sensor, a ride whose bike the user names
}

func (w *batchWriter) take(ctx context.Context, f ingest.File) error {
	if err := w.who.ready(); err != nil {
		return err
	}
	if f.Err != nil {
		w.refuse(f)
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
		return w.noteRefusals(ctx)
	}
	var outcomes []FileOutcome
	work := func(tx *store.Tx) error {
		outcomes = nil
		for _, f := range w.files {
			o, err := w.one(tx, f)
			if err != nil {
				return fmt.Errorf("file %q: %w", f.Path, err)
			}
			outcomes = append(outcomes, o)
		}
		return w.settleRefusals(tx)
	}
	if err := w.run(ctx, work); err != nil {
		return err
	}
	for _, o := range outcomes {
		w.res.add(o)
	}
	w.files, w.bad, w.rides, w.bytes = w.files[:0], nil, 0, 0
	return nil
}

func (w *batchWriter) run(ctx context.Context, work func(*store.Tx) error) error {
	if !w.req.DryRun {
		var wrote store.Entry
		err := w.desk.Book.Update(ctx, func(tx *store.Tx) error {
			tx.Begin(importVerb, "of "+counted(w.total, "file"), w.desk.Who)
			err := work(tx)
			wrote, _ = tx.Wrote()
			return err
		})
		if err == nil && wrote.Seq != 0 {
			w.res.Wrote = wrote
		}
		return err
	}
	if slices.ContainsFunc(w.files, func(f ingest.File) bool { return f.Table != nil }) {
		return w.runDry(ctx, work)
	}
	err := w.desk.Book.View(ctx, work)
	if errors.Is(err, store.ErrNoBook) {
		return work(nil)
	}
	return err
}

// runDry does the work and takes it back: only so are rows of a table looked at in
// the light of those before them.
func (w *batchWriter) runDry(ctx context.Context, work func(*store.Tx) error) error {
	err := w.desk.Book.Update(ctx, func(tx *store.Tx) error {
		tx.Begin(importVerb, "dry run", w.desk.Who)
		return cmp.Or(work(tx), errDry)
	})
	if errors.Is(err, errDry) {
		return nil
	}
	return err
}

// one decides what becomes of a file, and puts it into the book where it is
// new. tx is nil where there is no book and none is to be made.
func (w *batchWriter) one(tx *store.Tx, f ingest.File) (FileOutcome, error) {
	if tx != nil {
		fact, known, err := tx.File(f.Hash)
		if err != nil {
			return FileOutcome{}, err
		}
		if known && !(f.Table != nil && w.req.Retry && halfTable(fact)) {
			return w.again(tx, f, fact)
		}
	}
	if f.Known {
		return FileOutcome{
			File: f.Path, Outcome: RefusedFile, Why: "it was taken back while the import ran", Hint: "import it again",
		}, nil
	}
	o := FileOutcome{File: f.Path, Outcome: TakenFile}
	if w.req.DryRun {
		if w.seen[f.Hash] {
			o.Outcome, o.Why = KnownFile, "the same as a file before it"
			return o, nil
		}
		if w.seen == nil {
			w.seen = map[wear.Hash]bool{}
		}
		w.seen[f.Hash] = true
	}
	if f.Table != nil {
		return w.table(tx, f)
	}
	for i := range f.Rides {
		r := &f.Rides[i]
		o.Rides = append(o.Rides, r.ID)
		o.Notes = append(o.Notes, r.Notes...)
		if r.Salvaged {
			o.Outcome = PartialFile
		}
	}
	if w.req.DryRun {
		w.count(f.Rides)
		return o, nil
	}
	rides, err := w.put(tx, f, o.Outcome)
	if err != nil {
		return o, err
	}
	w.count(rides)
	return twinOutcome(tx, o, rides)
}

// count keeps what is to be said of rides at the end.
func (w *batchWriter) count(rides []wear.Ride) {
	for _, r := range rides {
		if r.Bike == 0 {
			w.nobody = append(w.nobody, r.ID)
		}
		if r.Rule == wear.Told {
			for _, key := range r.Witnesses() {
				w.told[key] = r
			}
		}
	}
}

// countHomeless counts the rides of the import that have no bike in the end: some
// became twins of what came behind them.
func (w *batchWriter) countHomeless(ctx context.Context) error {
	if w.res.Homeless = len(w.nobody); w.req.DryRun || len(w.nobody) == 0 {
		return nil
	}
	return w.desk.Book.View(ctx, func(tx *store.Tx) error {
		w.res.Homeless = 0
		for _, id := range w.nobody {
			r, err := tx.Ride(id)
			if err != nil {
				return err
			}
			if r.Bike == 0 && r.State == wear.Counted {
				w.res.Homeless++
			}
		}
		return nil
	})
}

// askTorn asks about the sensors of told rides that rides of another bike speak
// for too.
func (w *batchWriter) askTorn(ctx context.Context) error {
	if len(w.told) == 0 || w.req.DryRun {
		return nil
	}
	return w.desk.Book.View(ctx, func(tx *store.Tx) error {
		signs, err := readTorn(tx, slices.Collect(maps.Keys(w.told)))
		for _, r := range w.told {
			w.desk.askTorn(&signs, r)
		}
		slices.Sort(w.desk.Warnings)
		return err
	})
}

// twinOutcome says what the rides of a file are twins of.
func twinOutcome(tx *store.Tx, o FileOutcome, rides []wear.Ride) (FileOutcome, error) {
	twins := 0
	for _, r := range rides {
		if r.State != wear.Twin || r.Of == (wear.RideID{}) {
			continue
		}
		twins++
		winner, err := tx.Ride(r.Of)
		if err != nil {
			return o, err
		}
		file, _, err := tx.File(winner.File)
		if err != nil {
			return o, err
		}
		o.Why = fmt.Sprintf("the same outing as ride %s (%s), which records more", brief(winner), file.Name)
	}
	if twins == len(rides) && twins > 0 {
		o.Outcome = TwinFile
	}
	return o, nil
}

// again is what becomes of a file that is in the book: where the user names a
// bike, those of its rides that had none get it.
func (w *batchWriter) again(tx *store.Tx, f ingest.File, fact store.FileFact) (FileOutcome, error) {
	o := FileOutcome{File: f.Path, Outcome: KnownFile, Rides: fact.Rides, Why: "already in the book as " + fact.Name}
	if w.who.told == nil || w.req.DryRun {
		return o, nil
	}
	given := 0
	for _, id := range fact.Rides {
		r, err := tx.Ride(id)
		if err != nil {
			return o, err
		}
		if r, err = countsFor(tx, r); err != nil {
			return o, err
		}
		if r.Bike != 0 || r.State != wear.Counted {
			continue
		}
		if err := w.desk.giveRide(tx, r, wear.Whose{Bike: w.who.told.ID, Rule: wear.Told}); err != nil {
			return o, err
		}
		given++
	}
	if given > 0 {
		o.Why += "; " + counted(given, "ride") + " had no bike and got this one"
	}
	return o, nil
}

// put writes the bytes of a file and its rides, and returns those as they are
// then in the book.
func (w *batchWriter) put(tx *store.Tx, f ingest.File, outcome string) ([]wear.Ride, error) {
	fact := store.FileFact{
		Hash: f.Hash, Name: plainText(filepath.Base(f.Path)), Folder: plainText(folderOf(f.Path)), Size: int64(len(f.Raw)),
		Format: f.Format, Outcome: outcome,
	}
	for _, r := range f.Rides {
		fact.Rides = append(fact.Rides, r.ID)
	}
	if err := tx.AddFile(fact, f.Raw); err != nil {
		return nil, err
	}
	var rides []wear.Ride
	for i, r := range f.Rides {
		r, err := w.putRide(tx, r, f.Gears[i])
		if err != nil {
			return nil, err
		}
		rides = append(rides, r)
	}
	return rides, w.desk.settleRides(tx, rides)
}

func (w *batchWriter) putRide(tx *store.Tx, r wear.Ride, g wear.Gears) (wear.Ride, error) {
	r.Title = plainText(r.Title)
	if w.req.Ground != nil && !r.Ground.Indoor() {
		r.Ground, r.Marked = *w.req.Ground, wear.ByUser
	} else if err := usualGround(tx, &r); err != nil {
		return r, err
	}
	if _, err := tx.AddRide(r, g); err != nil {
		return r, err
	}
	return w.desk.joinTwins(tx, r)
}
