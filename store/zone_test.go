package store_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pawl/store"
)

// The zone is that of the book, whatever a later opening names, and a book that
// is not there has none.
func TestZoneOfTheBook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.book")
	made := store.At(path, store.Options{Zone: "Europe/Vienna"})
	_, err := made.Zone(t.Context())
	require.ErrorIs(t, err, store.ErrNoBook)
	require.NoError(t, made.Update(t.Context(), func(tx *store.Tx) error { return nil }))
	for _, b := range []*store.Book{made, store.At(path, store.Options{Zone: "Asia/Tokyo"})} {
		zone, err := b.Zone(t.Context())
		require.NoError(t, err)
		require.Equal(t, "Europe/Vienna", zone.String())
	}
}
