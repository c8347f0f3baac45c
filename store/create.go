package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"go.etcd.io/bbolt"
)

// create makes the book with its first transaction.
func (b *Book) create(fn func(*Tx) error) error {
	return b.drafted(func(draft string) error {
		return b.openFile(draft, false, func(db *bbolt.DB) error { return b.update(db, fn) })
	})
}

// drafted makes a file under another name, and gives it the book's once all of it
// is on the disk: whatever happens meanwhile, the book is as it was before (no
// book yet, or the old one) or the new one, whole.
func (b *Book) drafted(write func(draft string) error) error {
	path, err := resolved(b.path)
	if err != nil {
		return fmt.Errorf("book %q: %w", b.path, err)
	}
	draft := path + ".new"
	if err := os.Remove(draft); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return b.opening(err) // what an attempt left that was cut short
	}
	err = write(draft)
	if err == nil {
		if err = os.Rename(draft, path); err != nil {
			err = b.opening(err)
		}
	}
	if err != nil {
		_ = os.Remove(draft)
		return err
	}
	if err := syncDir(filepath.Dir(path)); err != nil {
		return fmt.Errorf("book %q: %w", b.path, err)
	}
	return nil
}

// makeFolder makes a folder, and those above it, whose names stay: fsync(2) asks
// for a sync of the folder that a name is in.
func makeFolder(folder string) error {
	if info, err := os.Stat(folder); err == nil && info.IsDir() {
		return nil
	}
	above := filepath.Dir(folder)
	if above != folder {
		if err := makeFolder(above); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return err
	}
	return syncDir(above)
}
