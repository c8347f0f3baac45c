// Package storetest gives tests a book that is checked when they end.
package storetest

import (
	"context"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"pawl/store"
)

// Open names a book in a temporary folder. When the test ends, the book, if one
// was made, must pass the audit, page check included.
func Open(tb testing.TB, o store.Options) *store.Book {
	tb.Helper()
	return OpenAt(tb, filepath.Join(tb.TempDir(), "book"), o)
}

// OpenAt is Open at a path.
func OpenAt(tb testing.TB, path string, o store.Options) *store.Book {
	tb.Helper()
	if o.Now == nil {
		o.Now = func() time.Time { return time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC) }
	}
	book := store.At(path, o)
	tb.Cleanup(func() { Check(tb, book) })
	return book
}

// Check fails the test if the book does not pass the audit.
func Check(tb testing.TB, book *store.Book) {
	tb.Helper()
	report, err := book.Audit(context.Background())
	if errors.Is(err, store.ErrNoBook) {
		return
	}
	if err != nil {
		tb.Errorf("audit: %v", err)
	}
	for _, problem := range report.Problems {
		tb.Errorf("audit: %s", problem)
	}
}
