package desk

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"syscall"
	"time"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// WatchRequest says what to watch.
type WatchRequest struct {
	Dirs   []string
	Once   bool          // one pass, then end
	Rescan time.Duration // between looks at everything; 0 = the default
	Settle time.Duration // for how long a file must be still; 0 = the default
	Log    *slog.Logger
	// Fresh opens a desk as of now: a watch lasts for days, a desk for a moment.
	Fresh func() *Desk
}

// watcher imports what lands in folders and says one line a ride.
type watcher struct {
	WatchRequest
	sum  ImportResult
	mark bookmark
}

// WatchFolders imports what lands in folders until ctx ends, or once. The result adds
// up what became of all files, without naming them.
func WatchFolders(ctx context.Context, req WatchRequest) (ImportResult, error) {
	w := watcher{WatchRequest: req}
	if err := w.usable(ctx); err != nil {
		return w.sum, err
	}
	own, err := ownFiles(w.Fresh().Book.Path(), req.Dirs)
	if err != nil {
		return w.sum, err
	}
	o := ingest.WatchOptions{
		Once: req.Once, Rescan: req.Rescan, Settle: req.Settle, Skip: own, Trouble: w.trouble,
		Anew: func() bool { return w.mark.exchanged(ctx, w.Fresh().Book) },
	}
	if err := w.Fresh().forgetGone(ctx, req.Dirs); err != nil {
		return w.sum, err
	}
	err = ingest.Watch(ctx, req.Dirs, o, w.take)
	if ctx.Err() != nil {
		w.sum.Interrupted, err = true, nil
	}
	return w.sum, err
}

// usable reports why nothing can be written to the book. None is needed yet, and
// one that another program holds is waited for.
func (w *watcher) usable(ctx context.Context) error {
	err := w.Fresh().Book.View(ctx, func(*store.Tx) error { return nil })
	var held *store.HeldError
	switch {
	case errors.Is(err, store.ErrNoBook):
		return nil
	case errors.As(err, &held) && !w.Once:
		w.trouble(err)
		return nil
	}
	return err
}

// trouble tells of the state of a folder or of the book. What can wait is a
// warning: the watch goes on.
func (w *watcher) trouble(err error) {
	var folder *ingest.FolderError
	if errors.As(err, &folder) && folder.Back {
		w.Log.Info(err.Error())
		return
	}
	if hint := hintOf(err); hint != "" {
		w.Log.Warn(err.Error(), "hint", hint)
		return
	}
	w.Log.Warn(err.Error())
}

// hintOf is what to do about an error; "" where nothing is known to help.
func hintOf(err error) string {
	var hinted interface{ Hint() string }
	var refused *ingest.RefusedError
	switch {
	case errors.As(err, &hinted):
		return hinted.Hint()
	case errors.As(err, &refused):
		return refused.Hint
	case errors.Is(err, syscall.ENOSPC):
		return "free some room on the disk: it is tried again until there is"
	}
	return ""
}

// take imports some files.
func (w *watcher) take(ctx context.Context, files []string) error {
	d := w.Fresh()
	if w.mark.gone(d.Book) {
		return refusal("put it back, or mount its drive: it is tried again until it is there", "book %q: it is gone", d.Book.Path())
	}
	res, err := d.Import(ctx, ImportRequest{Paths: files})
	w.mark.wrote(res.Wrote)
	w.sum.Taken, w.sum.Known = w.sum.Taken+res.Taken, w.sum.Known+res.Known
	w.sum.NotRides, w.sum.Refused = w.sum.NotRides+res.NotRides, w.sum.Refused+res.Refused
	for _, f := range res.Files {
		if f.Outcome == RefusedFile && !f.Noted {
			w.sum.News++
		}
	}
	w.sum.Rides, w.sum.Homeless = w.sum.Rides+res.Rides, w.sum.Homeless+res.Homeless
	if sayErr := w.say(ctx, d, res); err == nil {
		err = sayErr
	}
	if err == nil && res.Interrupted {
		err = context.Canceled
	}
	w.mark.look(ctx, d.Book) // what was written must stay in it
	return err
}

// say tells what became of files: a line a ride, a line a file that was not taken.
func (w *watcher) say(ctx context.Context, d *Desk, res ImportResult) error {
	// What is in the book is told also when the watch is about to end.
	ctx = context.WithoutCancel(ctx)
	for _, f := range res.Files {
		if f.Noted {
			w.Log.Debug(f.Why, "file", f.File)
			continue
		}
		switch f.Outcome {
		case KnownFile:
			w.Log.Debug("known already", "file", f.File)
		case NotRideFile:
			w.Log.Info(f.Why, "file", f.File)
		case RefusedFile:
			w.Log.Warn("refused: "+f.Why, "file", f.File, "hint", f.Hint)
		default:
			if err := w.sayRides(ctx, d, f); err != nil {
				return err
			}
		}
	}
	for _, warning := range res.Warnings {
		w.Log.Warn(warning)
	}
	return nil
}

func (w *watcher) sayRides(ctx context.Context, d *Desk, f FileOutcome) error {
	for _, row := range f.Wrong {
		w.Log.Warn("refused: "+row, "file", f.File)
	}
	return d.Book.View(ctx, func(tx *store.Tx) error {
		for _, id := range f.Rides {
			r, err := tx.Ride(id)
			if err != nil {
				return err
			}
			bike, err := bikeOrNone(tx, r.Bike)
			if err != nil {
				return err
			}
			level := slog.LevelInfo
			if r.Bike == 0 && r.State == wear.Counted {
				level = slog.LevelWarn
			}
			w.Log.Log(ctx, level, rideLine(r, bike.Name), "file", f.File)
		}
		return nil
	})
}

// rideLine says of a ride what a log needs: "ride 3fa4c09d of enduro: 31.2 km,
// its sensors: shifter 4711".
func rideLine(r wear.Ride, bike string) string {
	words := []string{km(r.Total()[wear.Distance] / 100)}
	switch {
	case r.State == wear.Twin:
		words = append(words, "tells the same outing as ride "+r.Of.String()[:8]+" and does not count")
	case r.Bike == 0 && r.Because != "":
		words = append(words, "no bike is known: "+r.Because)
	case r.Bike == 0:
		words = append(words, "no bike is known")
	case r.Because != "":
		words = append(words, r.Rule.String()+": "+r.Because)
	default:
		words = append(words, r.Rule.String())
	}
	if r.Salvaged {
		words = append(words, "from a damaged file")
	}
	of := ""
	if bike != "" {
		of = " of " + bike
	}
	return fmt.Sprintf("ride %s%s: %s", brief(r), of, strings.Join(words, ", "))
}
