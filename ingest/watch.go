package ingest

import (
	"context"
	"path/filepath"
	"slices"
	"time"
)

// WatchOptions say how patient a watcher is. The zero value is the defaults.
type WatchOptions struct {
	// Settle is for how long a file must not have changed, by size and time.
	// 0: 500 ms.
	Settle time.Duration
	// Patience is how long a file may be still without being complete; then it
	// is handed over all the same, so that it is refused with the reason. With
	// Once it is how long a file may keep changing. 0: 1 minute.
	Patience time.Duration
	// Rescan is how often everything is searched for what the system did not
	// tell: it does not tell all on network and USB mounts. 0: 3 minutes.
	Rescan time.Duration
	// Once makes one pass: each file that is there is handed over as soon as it
	// is still. One that keeps changing is left out and told as an
	// [*UnsettledError].
	Once bool
	// Skip reports files and folders to leave alone. It may be nil.
	Skip func(path string) bool
	// Anew is asked before and after something is done, and reports whether all is
	// to be handed over once more, as where what take writes to is another one now.
	// It may be nil.
	Anew func() bool
	// Trouble is told of each change of state once: of a [*FolderError], of what
	// take returned, of changes that got lost and of a system that cannot tell of
	// any. It may be nil.
	Trouble func(error)
}

const (
	firstRetry = time.Second // doubling
	lastRetry  = 5 * time.Minute
)

// Watch hands over the files of folders, and of the folders in them, once each
// is complete. Paths are absolute. take gets at most 200 files at a time, in
// order of names, on one goroutine with all else; no file comes twice as long as
// it does not change. Where take returns an error nothing counts as handed over
// and it is tried again after 1 s, 2 s and so on up to 5 minutes. Hidden files
// and folders are passed over and links not followed, as by [Find].
//
// A folder that is missing is waited for. Watch ends with the error of ctx; with
// o.Once it ends with nil, with a [*FolderError] where a folder of dirs cannot
// be read, or with what take returned.
func Watch(ctx context.Context, dirs []string, o WatchOptions, take func(ctx context.Context, files []string) error) error {
	w := newWatcher(ctx, o, take)
	if err := w.name(dirs); err != nil {
		return err
	}
	if o.Once {
		return w.once(ctx)
	}
	w.listen()
	defer w.deafen()
	return w.run(ctx)
}

func newWatcher(ctx context.Context, o WatchOptions, take func(ctx context.Context, files []string) error) *watcher {
	o.Settle = orElse(o.Settle, 500*time.Millisecond)
	o.Patience = orElse(o.Patience, time.Minute)
	o.Rescan = orElse(o.Rescan, 3*time.Minute)
	w := &watcher{o: o, take: take, pending: newPending(o.Settle, o.Patience), troubles: map[string]string{}, told: map[string]bool{}}
	w.look = lookAt
	w.whole = func(path string) bool { return ctx.Err() == nil && complete(path) }
	return w
}

func orElse(d, standard time.Duration) time.Duration {
	if d <= 0 {
		return standard
	}
	return d
}

// watcher is one call of Watch. All of it is of one goroutine.
type watcher struct {
	*pending
	o    WatchOptions
	take func(ctx context.Context, files []string) error

	roots []string // the folders that were named
	bell           // by which the system tells of changes

	rescan   time.Time         // when to search everything
	poll     time.Time         // when to look for missing roots; zero: none is
	flood    time.Time         // when that was last told
	retry    time.Duration     // the last wait after an error of take
	troubles map[string]string // what is wrong with a folder
	told     map[string]bool   // errors of take since it last succeeded
}

// name takes in the folders, each once.
func (w *watcher) name(dirs []string) error {
	for _, dir := range dirs {
		path, err := filepath.Abs(dir)
		if err != nil {
			return noFolder(dir, err)
		}
		if !slices.Contains(w.roots, path) {
			w.roots = append(w.roots, path)
		}
	}
	return nil
}

// run goes on until ctx ends.
func (w *watcher) run(ctx context.Context) error {
	w.searchAll(time.Now())
	timer := time.NewTimer(0)
	defer timer.Stop()
	turned := time.Now()
	for {
		timer.Reset(max(time.Until(w.next()), time.Until(turned.Add(breath))))
		select {
		case <-ctx.Done():
			return ctx.Err()
		case e, ok := <-w.rings():
			w.rung(e, ok)
		case err := <-w.fails():
			w.failed(err)
		case <-timer.C:
			w.turn(ctx, time.Now())
			turned = time.Now()
		}
	}
}

// breath is the least time between two turns: what the system tells is heard
// meanwhile, and files that come together are looked at together.
const breath = 20 * time.Millisecond

// next is when there is something to do again.
func (w *watcher) next() time.Time {
	next := w.rescan
	for _, at := range []time.Time{w.poll, w.soonest} {
		if !at.IsZero() && at.Before(next) {
			next = at
		}
	}
	return next
}

// turn does what is due.
func (w *watcher) turn(ctx context.Context, now time.Time) {
	w.askAnew()
	switch {
	case !now.Before(w.rescan):
		w.searchAll(now)
	case !w.poll.IsZero() && !now.Before(w.poll):
		w.searchMissing(now)
	}
	if files, _ := w.due(now); len(files) > 0 {
		w.handOver(ctx, files)
		w.askAnew()
	}
}

// askAnew forgets what was handed over where it is to be once more.
func (w *watcher) askAnew() {
	if w.o.Anew != nil && w.o.Anew() {
		clear(w.known)
		w.rescan = time.Time{}
	}
}

// handOver gives files to take; after an error there is a wait.
func (w *watcher) handOver(ctx context.Context, files []string) {
	err := w.take(ctx, files)
	switch {
	case err == nil:
		w.done(files)
		w.retry = 0
		clear(w.told)
	case ctx.Err() == nil:
		w.retry = min(max(2*w.retry, firstRetry), lastRetry)
		w.hold(time.Now().Add(w.retry))
		if !w.told[err.Error()] {
			w.told[err.Error()] = true
			w.tell(err)
		}
	}
}

func (w *watcher) tell(err error) {
	if w.o.Trouble != nil {
		w.o.Trouble(err)
	}
}

// once hands over what is there and ends.
func (w *watcher) once(ctx context.Context) error {
	w.patience = 0 // still is enough
	for _, root := range w.roots {
		if err := readFolder(root); err != nil {
			return err
		}
	}
	w.searchAll(time.Now())
	timer := time.NewTimer(0)
	defer timer.Stop()
	for len(w.waiting) > 0 {
		timer.Reset(time.Until(w.soonest))
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-timer.C:
		}
		if err := w.pass(ctx, time.Now()); err != nil {
			return err
		}
	}
	return nil
}

// pass hands over what is still and gives up on what never will be.
func (w *watcher) pass(ctx context.Context, now time.Time) error {
	if files, _ := w.due(now); len(files) > 0 {
		if err := w.take(ctx, files); err != nil {
			return err
		}
		w.done(files)
	}
	for _, path := range w.restless(w.o.Patience) {
		w.tell(&UnsettledError{path, w.o.Patience})
	}
	return nil
}
