package desk

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// refuse says why a file could not be read, and notes it where it is a ride
// file or was meant to be one: a picture in a folder is none.
func (w *batchWriter) refuse(f ingest.File) {
	o := failed(f.Path, f.Err)
	w.res.add(o)
	if o.Outcome == NotRideFile && f.Format == wear.Typed {
		return
	}
	w.bad = append(w.bad, store.Refusal{
		Path: plainText(fullPath(f.Path)), Format: f.Format, Why: o.Why, Hint: o.Hint,
		Size: int64(len(f.Raw)), Hash: f.Hash, At: wear.At(w.desk.Now),
	})
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
		if _, err := tx.NoteRefusal(r); err != nil {
			return err
		}
	}
	for _, f := range w.files {
		if err := tx.DropRefusal(plainText(fullPath(f.Path))); err != nil {
			return err
		}
	}
	return nil
}

// RefusedState is a file that was refused.
type RefusedState struct {
	store.Refusal
	Gone bool // it is not there any more
}

// Refused lists the files that were refused and not taken since.
func (d *Desk) Refused(ctx context.Context) (list []RefusedState, err error) {
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
