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
// they are at one moment. The copy is compared with the book, row by row, its pages
// are checked, and it is synced before it gets its name; what is cut short leaves
// nothing, and what was there as it was. The book is held for reading meanwhile:
// others may look, and whoever writes waits.
func (b *Book) Backup(ctx context.Context, path string, o BackupOptions) (r BackupReport, err error) {
	if err := b.freeFor(path, o); err != nil {
		return r, err
	}
	drafts, err := os.MkdirTemp(filepath.Dir(path), "."+filepath.Base(path)+".*.new")
	if err != nil {
		return r, fmt.Errorf("backup %q: %w", path, err)
	}
	defer os.RemoveAll(drafts)
	draft := filepath.Join(drafts, "book")
	if err := b.View(ctx, func(t *Tx) error { return t.backUp(ctx, draft, o, &r) }); err != nil {
		if ctx.Err() != nil {
			err = fmt.Errorf("backup %q: cut short, nothing of it was kept: %w", path, ctx.Err())
		}
		return r, err
	}
	if r.Before, err = sizeOf(b.path); err != nil {
		return r, err
	}
	if r.After, err = sizeOf(draft); err != nil {
		return r, err
	}
	if err := b.freeFor(path, o); err != nil { // who was quicker keeps the name
		return r, err
	}
	if err := settle(ctx, drafts, path, o); err != nil {
		return r, fmt.Errorf("backup %q: %w", path, err)
	}
	return r, nil
}

// backUp copies what this transaction sees, and the packs that it knows beside it.
func (t *Tx) backUp(ctx context.Context, draft string, o BackupOptions, r *BackupReport) (err error) {
	if err := t.copyRows(ctx, draft, 1); err != nil {
		return err
	}
	if r.Rows, err = t.sameIn(ctx, draft); err != nil || !o.Originals {
		return err
	}
	r.Packs, r.PackBytes, err = t.packs.copyTo(ctx, OriginalsDir(draft))
	return err
}

// settle gives the finished drafts their names: the originals first, so that no
// book is without those that it knows. Old originals step aside into the drafts,
// and come back where the book cannot take its name.
func settle(ctx context.Context, drafts, path string, o BackupOptions) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	draft, old := filepath.Join(drafts, "book"), filepath.Join(drafts, "old")
	fresh, dir := OriginalsDir(draft), OriginalsDir(path)
	if o.Originals {
		if err := os.Rename(dir, old); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if err := os.Rename(fresh, dir); err != nil {
			return errors.Join(err, back(old, dir))
		}
	}
	if err := os.Rename(draft, path); err != nil {
		if o.Originals {
			err = errors.Join(err, os.Rename(dir, fresh), back(old, dir))
		}
		return err
	}
	return syncDir(filepath.Dir(path))
}

// back gives a folder that stepped aside its name again, where there was one.
func back(old, dir string) error {
	if err := os.Rename(old, dir); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// freeFor refuses a name that is the book's own or one of the files beside it, and
// one that is taken.
func (b *Book) freeFor(path string, o BackupOptions) error {
	for _, own := range []string{b.path, b.path + ".lock", b.path + ".turn", b.path + ".new", OriginalsDir(b.path)} {
		if oneFile(own, path) {
			return &ConflictError{"backup", path, "is the book itself, or a file of its own", "name another file"}
		}
	}
	if there, err := os.Stat(path); err == nil && (!o.Force || there.IsDir()) {
		return &ConflictError{"file", path, "is there already", "--force writes over it, or name another file"}
	}
	if !o.Originals {
		return nil
	}
	dir := OriginalsDir(path)
	if oneFile(OriginalsDir(b.path), dir) {
		return &ConflictError{"folder", dir, "holds the originals of the book itself", "name another file"}
	}
	if _, err := os.Lstat(dir); err == nil && !o.Force {
		return &ConflictError{"folder", dir, "is there already", "--force writes over it, or name another file"}
	}
	return nil
}

// oneFile reports whether two names are one file, be it there or not.
func oneFile(a, b string) bool {
	one, err1 := os.Stat(a)
	two, err2 := os.Stat(b)
	if err1 == nil && err2 == nil {
		return os.SameFile(one, two)
	}
	a, err1 = filepath.Abs(a)
	b, err2 = filepath.Abs(b)
	return err1 == nil && err2 == nil && a == b
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
			err := t.bolt.ForEach(func(name []byte, from *bbolt.Bucket) error {
				n, err := sameRows(ctx, from, copied.Bucket(name))
				if rows += n; err != nil {
					return fmt.Errorf("backup %q: bucket %q: %w", path, name, err)
				}
				return nil
			})
			if err != nil {
				return err
			}
			for wrong := range copied.Check() { // to its end: it runs beside us
				err = errors.Join(err, fmt.Errorf("backup %q: %w: %w", path, errUnlike, wrong))
			}
			return err
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

// copyTo copies the packs as far as the book knows them into a new folder.
func (p *packs) copyTo(ctx context.Context, dir string) (packs int, size int64, err error) {
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
	n, err = io.Copy(dst, stoppable{ctx, r})
	if err == nil {
		err = dst.Sync()
	}
	return n, errors.Join(err, dst.Close())
}

// stoppable is a reader that ends with its context.
type stoppable struct {
	ctx  context.Context
	from io.Reader
}

func (s stoppable) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.from.Read(p)
}
