package store_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// backedBook is a book with two bikes, their rides and originals, and free pages.
func backedBook(t *testing.T) *store.Book {
	t.Helper()
	b := storetest.Open(t, store.Options{Zone: "Asia/Kolkata"})
	oldSeason(t, b)
	update(t, b, func(tx *store.Tx) {
		require.NoError(t, tx.AddFile(store.FileFact{Hash: wear.Hash{7}, Name: "a.fit", Size: 4, Outcome: "taken"}, []byte("ride")))
	})
	return b
}

func TestBackupIsTheBook(t *testing.T) {
	b := backedBook(t)
	before, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "copy.book")
	r, err := b.Backup(t.Context(), path, store.BackupOptions{Originals: true})
	require.NoError(t, err)
	assert.Positive(t, r.Rows)
	assert.LessOrEqual(t, r.After, r.Before)
	assert.Equal(t, 1, r.Packs)
	after, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	assert.Equal(t, before, after, "a backup changed the book")

	copied := storetest.OpenAt(t, path, store.Options{})
	wantCases, wantRides := oldCases(t, b)
	cases, rides := oldCases(t, copied)
	assert.Equal(t, wantCases, cases)
	assert.Equal(t, wantRides, rides)
	storetest.Check(t, copied)
	entries, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	for _, e := range entries {
		assert.NotEqual(t, ".new", filepath.Ext(e.Name()))
	}
	update(t, copied, func(tx *store.Tx) {
		_, err := tx.AddBike(wear.Bike{Name: "new in the copy"})
		require.NoError(t, err)
	})
}

func TestBackupWritesOverNothing(t *testing.T) {
	b := backedBook(t)
	_, err := b.Backup(t.Context(), b.Path(), store.BackupOptions{Force: true})
	require.ErrorContains(t, err, "is the book itself")
	path := filepath.Join(t.TempDir(), "copy.book")
	require.NoError(t, os.WriteFile(path, []byte("mine"), 0o600))
	_, err = b.Backup(t.Context(), path, store.BackupOptions{})
	require.ErrorContains(t, err, "is there already")
	left, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(left))
	_, err = b.Backup(t.Context(), path, store.BackupOptions{Force: true, Originals: true})
	require.NoError(t, err)
	storetest.Check(t, storetest.OpenAt(t, path, store.Options{}))
	_, err = b.Backup(t.Context(), filepath.Join(t.TempDir(), "no", "such", "folder"), store.BackupOptions{})
	require.Error(t, err)
}

func TestBackupCutShortLeavesNothing(t *testing.T) {
	b := backedBook(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	dir := t.TempDir()
	_, err := b.Backup(ctx, filepath.Join(dir, "copy.book"), store.BackupOptions{Originals: true})
	require.ErrorIs(t, err, context.Canceled)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, entries)
}
