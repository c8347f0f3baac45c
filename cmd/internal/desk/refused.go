package desk

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// badFile is a file to be noted, and where the result tells of it.
type badFile struct {
	store.Refusal
	at int
}

// refuse says why a file could not be read, and notes it, so that a later look
// at the same folder need not say it again.
func (w *batchWriter) refuse(f ingest.File) {
	o := failed(f.Path, f.Err)
	w.res.add(o)
	w.bad = append(w.bad, badFile{store.Refusal{
		Path: plainText(fullPath(f.Path)), Format: f.Format, Why: o.Why, Hint: o.Hint,
		Size: int64(len(f.Raw)), Hash: f.Hash, At: wear.At(w.desk.Now),
		Foreign: o.Outcome == NotRideFile && f.Format == wear.Typed,
	}, len(w.res.Files) - 1})
}

func fullPath(file string) string { return path.Join(folderOf(file), path.Base(file)) }

// noteRefusals writes the notes of a batch of which nothing else is written.
// Where there is no book yet, none is made for them.
func (w *batchWriter) noteRefusals(ctx context.Context) error {
	if len(w.bad) == 0 || w.req.DryRun {
		return nil
	}
	err := w.desk.Book.View(ctx, func(*store.Tx) error { return nil })
	if errors.Is(err, store.ErrNoBook) {
		return nil
	}
	if err == nil {
		err = w.desk.Book.Update(ctx, w.settleRefusals)
	}
	w.bad = nil
	return err
}

// settleRefusals notes what was refused and forgets the notes of what was not.
func (w *batchWriter) settleRefusals(tx *store.Tx) error {
	if w.req.DryRun {
		return nil
	}
	for _, r := range w.bad {
		changed, err := tx.NoteRefusal(r.Refusal)
		if err != nil {
			return err
		}
		w.res.Files[r.at].Noted = !changed
	}
	for _, f := range w.files {
		if err := tx.DropRefusal(plainText(fullPath(f.Path))); err != nil {
			return err
		}
	}
	return nil
}

// forgetGone drops the notes of files in folders that are there, where the file
// is there no more.
func (d *Desk) forgetGone(ctx context.Context, dirs []string) error {
	list, err := d.noted(ctx)
	if errors.Is(err, store.ErrNoBook) {
		return nil
	}
	var gone []string
	for _, r := range list {
		if r.Gone && slices.ContainsFunc(dirs, func(dir string) bool { return within(dir, r.Path) }) {
			gone = append(gone, r.Path)
		}
	}
	if err != nil || len(gone) == 0 {
		return err
	}
	return d.Book.Update(ctx, func(tx *store.Tx) error {
		for _, path := range gone {
			if err := tx.DropRefusal(path); err != nil {
				return err
			}
		}
		return nil
	})
}

// within reports whether a file lies in a folder that can be read now.
func within(dir, file string) bool {
	if entries, err := os.ReadDir(dir); err != nil || len(entries) == 0 {
		return false // a stick that was pulled leaves an empty folder
	}
	return strings.HasPrefix(file, path.Join(folderOf(path.Join(dir, "x")))+"/")
}

// RefusedState is a file that was refused.
type RefusedState struct {
	store.Refusal
	Gone bool // it is not there any more
}

// Refused lists the files that were refused and not taken since: those that are
// rides by their format, or cannot be read.
func (d *Desk) Refused(ctx context.Context) ([]RefusedState, error) {
	list, err := d.noted(ctx)
	return slices.DeleteFunc(list, func(r RefusedState) bool { return r.Foreign }), err
}

// noted lists all files of which it is noted why they were not taken.
func (d *Desk) noted(ctx context.Context) (list []RefusedState, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		refusals, err := tx.Refusals()
		for _, r := range refusals {
			_, statErr := os.Stat(r.Path)
			list = append(list, RefusedState{r, errors.Is(statErr, fs.ErrNotExist)})
		}
		return err
	})
	return list, err
}
