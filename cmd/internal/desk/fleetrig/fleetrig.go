package fleetrig

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"pawl/store"
	"pawl/wear"
)

// version is of what is made: a book that another version made is not used again.
const version = 1

// weeks is how long the fleet has been ridden.
const weeks = 156

// Begin is the Monday on which the first bikes went out.
var Begin = time.Date(2024, 12, 2, 0, 0, 0, 0, time.UTC)

// Today is the day for which figures are asked: Monday after the last ride.
var Today = Begin.AddDate(0, 0, 7*weeks)

// Size is how many bikes and rides a fleet has.
type Size struct {
	Bikes, Rides int

	// Summed tells the same rides of each bike as three: until half-way to its last
	// visit, from there to that visit, and after it. As much is due, for a reason that
	// few rides give.
	Summed bool
}

// name tells the book of a fleet from others.
func (s Size) name() string {
	if s.Summed {
		return fmt.Sprintf("%d-%d-summed.book", s.Bikes, s.Rides)
	}
	return fmt.Sprintf("%d-%d.book", s.Bikes, s.Rides)
}

// Full is the fleet that the promises are about.
var Full = Size{Bikes: 10_000, Rides: 3_000_000}

// Wanted is the size that the environment asks for: PAWL_LONG=1 the full one,
// PAWL_FLEET_BIKES and PAWL_FLEET_RIDES any; else one that is made in seconds.
func Wanted() Size {
	s := Size{Bikes: 1_000, Rides: 30_000}
	if os.Getenv("PAWL_LONG") == "1" {
		s = Full
	}
	for name, n := range map[string]*int{"PAWL_FLEET_BIKES": &s.Bikes, "PAWL_FLEET_RIDES": &s.Rides} {
		if given, err := strconv.Atoi(os.Getenv(name)); err == nil && given > 0 {
			*n = given
		}
	}
	return s
}

// Cached returns the book of a fleet of a size, made now where it was not made
// before. It lies in the folder for temporary files; who writes to it copies it.
func Cached(ctx context.Context, s Size) (path string, err error) {
	dir := filepath.Join(os.TempDir(), fmt.Sprintf("pawl-fleet-v%d.%d", version, store.Format()))
	path = filepath.Join(dir, s.name())
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	making, err := os.MkdirTemp(dir, "making-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(making)
	draft := filepath.Join(making, "book")
	if err := Make(ctx, draft, s); err != nil {
		return "", err
	}
	return path, os.Rename(draft, path)
}

// Make makes the book of a fleet at a path where there is none.
func Make(ctx context.Context, path string, s Size) error {
	f := &fleet{Size: s, bikes: make([]bike, s.Bikes)}
	day := Begin
	book := store.At(path, store.Options{Now: func() time.Time { return day }, Patience: time.Minute})
	if err := batches(ctx, book, "bikes", s.Bikes, f.addBike); err != nil {
		return err
	}
	for week := range weeks {
		day = Begin.AddDate(0, 0, 7*week)
		err := batches(ctx, book, "week", s.Bikes, func(tx *store.Tx, n int) error {
			if err := f.rideWeek(tx, n, week); err != nil {
				return err
			}
			return f.visitWeek(tx, n, week)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// batchBikes is how many bikes are written at once.
const batchBikes = 10_000

// batches runs fn for every bike, many in one transaction.
func batches(ctx context.Context, book *store.Book, verb string, bikes int, fn func(tx *store.Tx, n int) error) error {
	for from := 0; from < bikes; from += batchBikes {
		err := book.Update(ctx, func(tx *store.Tx) error {
			tx.Begin(verb, "", "")
			for n := from; n < min(bikes, from+batchBikes); n++ {
				if err := fn(tx, n); err != nil {
					return fmt.Errorf("bike %d: %w", n, err)
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// Name is what the nth bike is called.
func Name(n int) string { return fmt.Sprintf("hire %05d", n) }

// fleet is what is known of the bikes while the book is made.
type fleet struct {
	Size
	bikes []bike
}

// bike is one of them.
type bike struct {
	id    wear.ID
	parts map[string]wear.Part
	since map[string]wear.Stay // of the parts that are changed
}

// dice is a number that depends on nothing but its arguments: a finalizer of
// 64 bits (S. Vigna's SplitMix64, which is in the public domain) over each in turn.
func dice(of ...int) uint64 {
	var h uint64
	for _, v := range of {
		h += uint64(v) + 0x9e3779b97f4a7c15
		h = (h ^ h>>30) * 0xbf58476d1ce4e5b9
		h = (h ^ h>>27) * 0x94d049bb133111eb
		h ^= h >> 31
	}
	return h
}

// between throws a number from low to high, both included.
func between(low, high int64, of ...int) int64 {
	return low + int64(dice(of...)%uint64(high-low+1))
}
