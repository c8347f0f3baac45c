package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"

	"github.com/gofrs/flock"
	"go.etcd.io/bbolt"
	boltErrors "go.etcd.io/bbolt/errors"
)

// Options say how a book is opened.
type Options struct {
	Zone     string           // IANA time zone, used when the book is first made; "" = UTC
	Command  string           // shown to others as the holder
	Now      func() time.Time // stamps entries; nil = time.Now
	Patience time.Duration    // how long to wait for the book; 0 = ten seconds
}

// Book is a book at a path. It holds nothing open between operations and may be
// used by many goroutines.
type Book struct {
	path      string
	o         Options
	packLimit uint64
	noSync    bool // tests only

	mounts    string                           // the mount table; tests have their own
	second    func(*flock.Flock) (bool, error) // tries the lock again; tests have their own
	driveSeen atomic.Bool                      // nothing is known against the drive
	probed    atomic.Bool                      // the locks hold
	zone      atomic.Pointer[time.Location]    // that the last operation found; nil before the first
}

// At names a book. It does no input or output.
func At(path string, o Options) *Book {
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Book{path: path, o: o, packLimit: packSize, mounts: mountTable, second: trySecond}
}

// Path is the path that the book was named with.
func (b *Book) Path() string { return b.path }

// Zone is the book's time zone. It never changes, so that the book is opened for
// it only where there was no operation before.
func (b *Book) Zone(ctx context.Context) (*time.Location, error) {
	if zone := b.zone.Load(); zone != nil {
		return zone, nil
	}
	err := b.View(ctx, func(*Tx) error { return nil })
	return b.zone.Load(), err
}

// View runs fn on the book as it is. It changes no byte of the book and needs no
// permission to write. The error wraps [ErrNoBook] when the book is missing or empty.
func (b *Book) View(ctx context.Context, fn func(*Tx) error) error {
	if err := b.exists(); err != nil {
		return err
	}
	if err := b.drive(); err != nil {
		return err
	}
	release, err := b.acquire(ctx, false)
	if err != nil {
		return err
	}
	err = b.open(true, func(db *bbolt.DB) error { return b.view(db, fn) })
	release()
	if errors.Is(err, errOld) {
		if err := b.Update(ctx, func(*Tx) error { return nil }); err != nil {
			return err
		}
		return b.View(ctx, fn)
	}
	return err
}

// Update runs fn in one transaction that is committed if fn returns nil, and
// otherwise leaves everything as it was. It makes the book on first use.
func (b *Book) Update(ctx context.Context, fn func(*Tx) error) error {
	if err := b.drive(); err != nil {
		return err
	}
	if err := b.writable(); err != nil {
		return err
	}
	release, err := b.acquire(ctx, true)
	if err != nil {
		return err
	}
	defer release()
	if errors.Is(b.exists(), ErrNoBook) {
		return b.create(fn)
	}
	return b.open(false, func(db *bbolt.DB) error { return b.update(db, fn) })
}

// exists reports a missing or empty file.
func (b *Book) exists() error {
	info, err := os.Stat(b.path)
	if errors.Is(err, fs.ErrNotExist) || err == nil && info.Size() == 0 && !info.IsDir() {
		return fmt.Errorf("book %q: %w", b.path, ErrNoBook)
	}
	if err != nil {
		return fmt.Errorf("book %q: %w", b.path, err)
	}
	return nil
}

// writable refuses a book that is marked read-only, also to those whom the
// system would let write, and makes the folder of a new one.
func (b *Book) writable() error {
	folder := filepath.Dir(b.path)
	if err := makeFolder(folder); err != nil {
		return fmt.Errorf("book %q: %w", b.path, err)
	}
	for _, path := range []string{b.path, folder} {
		if info, err := os.Stat(path); err == nil && info.Mode().Perm()&0o222 == 0 {
			return &ReadOnlyError{Path: b.path}
		}
	}
	return nil
}

// open opens the file, runs fn and closes it.
func (b *Book) open(readOnly bool, fn func(*bbolt.DB) error) error {
	if info, err := os.Stat(b.path); err == nil && (info.Size() > 0 || info.IsDir()) {
		if err := whole(b.path); err != nil {
			return b.opening(err)
		}
	}
	return b.openFile(b.path, readOnly, fn)
}

// openFile is open for a file that needs no look before, under any name.
func (b *Book) openFile(path string, readOnly bool, fn func(*bbolt.DB) error) error {
	return guarded(b.path, func() error {
		// The list of free pages is read by every writer anew: as an array it opens
		// in 2 ms where 86,000 pages are free, as a map in 35.
		db, err := bbolt.Open(path, 0o600, &bbolt.Options{
			ReadOnly: readOnly, Timeout: time.Second, FreelistType: bbolt.FreelistArrayType, NoStatistics: true,
			NoSync: b.noSync,
		})
		if err != nil {
			return b.opening(err)
		}
		defer db.Close()
		return fn(db)
	})
}

// opening says why the book did not open.
func (b *Book) opening(err error) error {
	var damaged *DamagedError
	switch {
	case errors.As(err, &damaged):
		return err
	case errors.Is(err, boltErrors.ErrTimeout):
		return &HeldError{Path: b.path}
	case unwritable(err):
		return &ReadOnlyError{b.path, err}
	case errors.Is(err, boltErrors.ErrInvalid), errors.Is(err, boltErrors.ErrChecksum), errors.Is(err, boltErrors.ErrVersionMismatch):
		return &DamagedError{Path: b.path, Why: err.Error()}
	}
	return fmt.Errorf("book %q: %w", b.path, err)
}

// errOld is returned inside the package for a book that must be migrated first.
var errOld = errors.New("older format")

func (b *Book) view(db *bbolt.DB, fn func(*Tx) error) error {
	bolt, err := db.Begin(false)
	if err != nil {
		return b.opening(err)
	}
	defer func() { _ = bolt.Rollback() }()
	format, err := b.format(bolt)
	switch {
	case err != nil:
		return err
	case format == 0:
		return fmt.Errorf("book %q: %w", b.path, ErrNoBook)
	case !readable(format):
		return errOld
	}
	t, err := b.begin(bolt)
	if err != nil {
		return err
	}
	return fn(t)
}

func (b *Book) update(db *bbolt.DB, fn func(*Tx) error) error {
	return b.transact(db, fn, (*Tx).commit)
}

// transact runs fn in one transaction, and then what ends it. Unless that commits,
// the file stays as it was.
func (b *Book) transact(db *bbolt.DB, fn, end func(*Tx) error) error {
	bolt, err := db.Begin(true)
	if err != nil {
		return b.opening(err)
	}
	defer func() { _ = bolt.Rollback() }()
	format, err := b.format(bolt)
	if err != nil {
		return err
	}
	if format < Format() {
		if err := migrate(bolt, format, b.o.Zone); err != nil {
			return err
		}
	}
	t, err := b.begin(bolt)
	if err != nil {
		return err
	}
	t.wrote = format < Format()
	defer t.packs.close()
	if err := fn(t); err != nil {
		t.packs.takeBack()
		return err
	}
	return end(t)
}

// format reads the book's format and refuses a newer one.
func (b *Book) format(bolt *bbolt.Tx) (int, error) {
	format, err := formatOf(bolt)
	if err != nil {
		return 0, &DamagedError{Path: b.path, Why: err.Error()}
	}
	if format > Format() {
		return 0, &NewerError{b.path, format, Format()}
	}
	return format, nil
}
