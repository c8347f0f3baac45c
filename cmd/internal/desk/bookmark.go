package desk

import (
	"context"
	"errors"
	"io/fs"
	"os"

	"pawl/store"
)

// bookmark tells whether the book at a path was exchanged for another one, such
// as an older copy of itself.
type bookmark struct {
	file  os.FileInfo // when the book was last read; nil: never, or written to since
	last  store.Entry // the newest entry then, or written since
	other bool        // it was exchanged since that was last asked
}

// exchanged reports whether the book is another one than when that was last asked.
func (m *bookmark) exchanged(ctx context.Context, book *store.Book) bool {
	m.look(ctx, book)
	other := m.other
	m.other = false
	return other
}

// gone reports whether a book that was there is no more: no other is made in its
// place, since the drive on which it lies may only have come off.
func (m *bookmark) gone(book *store.Book) bool {
	_, err := os.Stat(book.Path())
	return (m.file != nil || m.last.Seq != 0) && errors.Is(err, fs.ErrNotExist)
}

// wrote remembers what an import has written: the book at the path may be another
// one before anybody looks.
func (m *bookmark) wrote(e store.Entry) {
	if e.Seq != 0 {
		m.last, m.file = e, nil
	}
}

// look reads the book where it was written to. It is another one where the newest
// entry that it had is in it no more. One that is missing, or that cannot be read
// now, is looked at again later.
func (m *bookmark) look(ctx context.Context, book *store.Book) {
	file, err := os.Stat(book.Path())
	if err != nil || m.file != nil && sameFile(file, m.file) {
		return
	}
	_ = book.View(ctx, func(tx *store.Tx) error {
		newest, kept, err := m.since(tx)
		if err == nil {
			m.file, m.last, m.other = file, newest, m.other || !kept
		}
		return err
	})
}

// since returns the newest entry of a book, and whether it still has the last one.
func (m *bookmark) since(tx *store.Tx) (newest store.Entry, kept bool, err error) {
	for e, err := range tx.Entries(true) {
		if err != nil {
			return newest, false, err
		}
		if newest.Seq == 0 {
			newest = e
		}
		if e.Seq <= m.last.Seq {
			return newest, sameEntry(e, m.last), nil
		}
	}
	return newest, m.last.Seq == 0, nil
}

// sameEntry compares what no undo changes.
func sameEntry(a, b store.Entry) bool {
	return a.Seq == b.Seq && a.At == b.At && a.Verb == b.Verb && a.Target == b.Target
}

func sameFile(a, b os.FileInfo) bool {
	return os.SameFile(a, b) && a.Size() == b.Size() && a.ModTime().Equal(b.ModTime())
}
