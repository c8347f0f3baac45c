package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"go.etcd.io/bbolt"
)

// BackupReport is what a backup came to.
type BackupReport struct {
	Rows          int64
	Before, After int64 // bytes of the book and of its copy
	Packs         int   // of originals that were copied
	PackBytes     int64
}

// BackupOptions say what is copied, and whether over what is there.
type BackupOptions struct {
	Originals bool // the packs too, into FILE.originals
	Force     bool // write over a file of that name
}

// Backup writes a copy of the book into a file, without free pages: all rows as
// they are at one moment. The copy is compared with the book, row by row, and synced
// before it gets its name; what is cut short leaves nothing. The book is held for
// reading meanwhile: others may look, and whoever writes waits.
func (b *Book) Backup(ctx context.Context, path string, o BackupOptions) (r BackupReport, err error) {
	if err := b.freeFor(path, o); err != nil {
		return r, err
	}
	draft := path + ".new"
	defer func() {
		if err != nil {
			_ = os.Remove(draft)
		}
	}()
	err = b.View(ctx, func(t *Tx) error {
		if err := os.Remove(draft); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if err := t.copyRows(ctx, draft, 1); err != nil {
			return err
		}
		if r.Rows, err = t.sameIn(ctx, draft); err != nil || !o.Originals {
			return err
		}
		r.Packs, r.PackBytes, err = t.packs.copyTo(ctx, OriginalsDir(path), o.Force)
		return err
	})
	if err != nil {
		return r, err
	}
	if r.Before, err = sizeOf(b.path); err != nil {
		return r, err
	}
	if r.After, err = sizeOf(draft); err != nil {
		return r, err
	}
	if err = os.Rename(draft, path); err != nil {
		return r, err
	}
	return r, syncDir(filepath.Dir(path))
}

// freeFor refuses a name that is the book's own, or taken.
func (b *Book) freeFor(path string, o BackupOptions) error {
	there, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if own, err := os.Stat(b.path); err == nil && os.SameFile(own, there) {
		return &ConflictError{"backup", path, "is the book itself", "name another file"}
	}
	if !o.Force || there.IsDir() {
		return &ConflictError{"file", path, "is there already", "--force writes over it, or name another file"}
	}
	return nil
}

func sizeOf(path string) (int64, error) {
	info, err := os.Stat(path)
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

// sameIn compares all rows with those of a copy, and counts them.
func (t *Tx) sameIn(ctx context.Context, path string) (rows int64, err error) {
	err = t.book.openFile(path, true, func(db *bbolt.DB) error {
		return db.View(func(copied *bbolt.Tx) error {
			return t.bolt.ForEach(func(name []byte, from *bbolt.Bucket) error {
				n, err := sameRows(ctx, from, copied.Bucket(name))
				if rows += n; err != nil {
					return fmt.Errorf("backup %q: bucket %q: %w", path, name, err)
				}
				return nil
			})
		})
	})
	return rows, err
}

// errUnlike is returned for a copy that is not like the book: the disk is to blame.
var errUnlike = errors.New("the copy is not what was written: is the disk sound?")

func sameRows(ctx context.Context, from, to *bbolt.Bucket) (n int64, err error) {
	if to == nil || from.Sequence() != to.Sequence() {
		return 0, errUnlike
	}
	a, b := from.Cursor(), to.Cursor()
	k, v := a.First()
	for ck, cv := b.First(); ; ck, cv = b.Next() {
		if !bytes.Equal(k, ck) || !bytes.Equal(v, cv) {
			return n, errUnlike
		}
		if k == nil {
			return n, nil
		}
		if n++; n%100_000 == 0 && ctx.Err() != nil {
			return n, ctx.Err()
		}
		k, v = a.Next()
	}
}

// copyTo copies the packs as far as the book knows them into a folder that is not
// there yet, or over what is there.
func (p *packs) copyTo(ctx context.Context, dir string, force bool) (packs int, size int64, err error) {
	if _, err := os.Stat(dir); err == nil && !force {
		return 0, 0, &ConflictError{"folder", dir, "is there already", "--force writes over it, or name another file"}
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return 0, 0, err
	}
	for n := uint32(1); n <= p.pack; n++ {
		limit := int64(-1)
		if n == p.pack {
			limit = int64(p.size)
		}
		written, err := copyPack(ctx, p.path(n), filepath.Join(dir, filepath.Base(p.path(n))), limit)
		if errors.Is(err, fs.ErrNotExist) {
			continue // the audit reports it
		}
		if err != nil {
			return packs, size, err
		}
		packs, size = packs+1, size+written
	}
	return packs, size, syncDir(dir)
}

// copyPack copies a pack up to a length, all of it where that is below nought.
func copyPack(ctx context.Context, from, to string, limit int64) (n int64, err error) {
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	src, err := os.Open(from)
	if err != nil {
		return 0, err
	}
	defer src.Close()
	dst, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return 0, err
	}
	var r io.Reader = src
	if limit >= 0 {
		r = io.LimitReader(src, limit)
	}
	n, err = io.Copy(dst, r)
	if err == nil {
		err = dst.Sync()
	}
	return n, errors.Join(err, dst.Close())
}
