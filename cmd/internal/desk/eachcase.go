package desk

import (
	"context"
	"math"
	"runtime"
	"runtime/debug"
	"sync/atomic"

	"pawl/store"
	"pawl/wear"
)

// caseWindow is how many bikes are read ahead of the one that is handed out: what
// a walk over a fleet keeps of it at once.
const caseWindow = 64

// walkGC is how much garbage is left lying on such a walk, in per cent of what is
// in use: a case is half a megabyte that nobody needs a moment later, and little else
// is in use. At the usual 100 more than half of the time went into collecting it.
const walkGC = 400

// walkMemory is how much memory a walk takes before it collects garbage more often,
// in bytes, unless the environment says otherwise (GOMEMLIMIT).
const walkMemory = 400 << 20

// collectLate lets garbage lie until end is called.
func collectLate() (end func()) {
	return lateness.begin(func() func() {
		percent, limit := debug.SetGCPercent(walkGC), debug.SetMemoryLimit(-1)
		if limit == math.MaxInt64 {
			debug.SetMemoryLimit(walkMemory)
		}
		return func() {
			debug.SetGCPercent(percent)
			debug.SetMemoryLimit(limit)
		}
	})
}

// eachCase reads the case of each bike on all cores and hands them out in the
// bikes' order, one at a time, on the caller's goroutine. All see one state of the
// book. What takes longer than a moment for each belongs into [eachJudged].
func eachCase(ctx context.Context, tx *store.Tx, w caseWalk, fn func(i int, c wear.Case) error) error {
	return eachJudged(ctx, tx, w, func(_ *store.Tx, c wear.Case) (wear.Case, error) { return c, nil }, fn)
}

// caseWalk says which bikes are gone through, and as of when.
type caseWalk struct {
	Bikes []wear.Bike
	Today wear.Instant
	Brief bool // only for their findings: see [store.Tx.CaseToAssess]; nothing made of a case holds spans or weeks
}

func (w *caseWalk) read(tx *store.Tx, i int) (wear.Case, error) {
	if w.Brief {
		return tx.CaseToAssess(w.Bikes[i].ID, w.Today)
	}
	return tx.Case(w.Bikes[i].ID, w.Today)
}

// eachJudged is eachCase with work on the core that read the case: judge may read
// more through the transaction that it is given, and must touch nothing shared.
// What it makes of the case is handed to take in the bikes' order, on the
// caller's goroutine, where the caller's own transaction serves.
func eachJudged[T any](ctx context.Context, tx *store.Tx, w caseWalk, judge judgeCase[T], take func(i int, made T) error) error {
	cores := min(runtime.GOMAXPROCS(0), len(w.Bikes))
	if cores < 2 || tx.Writes() {
		return judgeAlone(ctx, tx, w, judge, take)
	}
	defer collectLate()()
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	row := caseRow[T]{walk: w, judge: judge, ahead: make(chan struct{}, caseWindow)}
	for i := range row.slots {
		row.slots[i] = make(chan T, 1)
	}
	defer readCold()()
	read := make(chan error, 1)
	go func() {
		err := tx.Beside(min(max(cores, coldReaders), len(w.Bikes)), func(tx *store.Tx) error { return row.fill(ctx, stop, tx) })
		if err != nil {
			stop() // some bikes will never come
		}
		read <- err
	}()
	err := row.hand(ctx, take)
	stop()
	if failed := <-read; failed != nil {
		return failed // which is why no more was handed out
	}
	return err
}

// inBackground begins work and returns what ends it and waits until it has.
func inBackground(work, end func()) (wait func()) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		work()
	}()
	return func() {
		end()
		<-done
	}
}

// judgeCase makes something of a case.
type judgeCase[T any] func(tx *store.Tx, c wear.Case) (T, error)

// judgeAlone goes through the bikes one after the other.
func judgeAlone[T any](ctx context.Context, tx *store.Tx, w caseWalk, judge judgeCase[T], take func(i int, made T) error) error {
	for i := range w.Bikes {
		if err := ctx.Err(); err != nil {
			return err
		}
		c, err := w.read(tx, i)
		if err != nil {
			return err
		}
		made, err := judge(tx, c)
		if err != nil {
			return err
		}
		if err := take(i, made); err != nil {
			return err
		}
	}
	return nil
}

// caseRow puts what several cores make back into the order of the bikes.
type caseRow[T any] struct {
	walk  caseWalk
	judge judgeCase[T]
	next  atomic.Int64       // the bike that nobody has begun yet
	ahead chan struct{}      // holds one for each bike begun and not handed out
	slots [caseWindow]chan T // of bike i: slot i modulo the window
}

// fill reads bikes until there are none, or somebody has stopped all. Where it
// fails it stops all.
func (r *caseRow[T]) fill(ctx context.Context, stop func(), tx *store.Tx) error {
	whole := false
	defer func() {
		if !whole {
			stop()
		}
	}()
	for {
		select {
		case r.ahead <- struct{}{}:
		case <-ctx.Done():
			return nil
		}
		i := int(r.next.Add(1)) - 1
		if i >= len(r.walk.Bikes) || ctx.Err() != nil {
			whole = true
			return nil
		}
		c, err := r.walk.read(tx, i)
		if err != nil {
			return err
		}
		made, err := r.judge(tx, c)
		if err != nil {
			return err
		}
		r.slots[i%caseWindow] <- made
	}
}

// hand hands out what was made, bike by bike.
func (r *caseRow[T]) hand(ctx context.Context, take func(i int, made T) error) error {
	for i := range r.walk.Bikes {
		select {
		case made := <-r.slots[i%caseWindow]:
			<-r.ahead
			if err := take(i, made); err != nil {
				return err
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}
