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

// stopAfter is a context that is cancelled after it was asked so many times.
type stopAfter struct {
	context.Context
	left int
}

func (s *stopAfter) Err() error {
	if s.left--; s.left < 0 {
		return context.Canceled
	}
	return nil
}

// TestBackupCutShortAnywhere ends a backup at each place where it looks whether it
// should: a new one leaves nothing, and one over an older one leaves that as it was.
func TestBackupCutShortAnywhere(t *testing.T) {
	b := backedBook(t)
	dir, older := t.TempDir(), t.TempDir()
	path := filepath.Join(older, "copy.book")
	_, err := b.Backup(t.Context(), path, store.BackupOptions{Originals: true})
	require.NoError(t, err)
	pack := filepath.Join(store.OriginalsDir(path), "000001.pack")
	wantBook, wantPack := read(t, path), read(t, pack)
	cut := 0
	for ; ; cut++ {
		o := store.BackupOptions{Originals: true, Force: true}
		_, err := b.Backup(&stopAfter{t.Context(), cut}, filepath.Join(dir, "copy.book"), o)
		if err == nil {
			break
		}
		require.ErrorIs(t, err, context.Canceled)
		require.Empty(t, names(t, dir))
		_, err = b.Backup(&stopAfter{t.Context(), cut}, path, o)
		require.ErrorIs(t, err, context.Canceled)
		require.Equal(t, []string{"copy.book", "copy.book.originals"}, names(t, older))
		require.Equal(t, wantBook, read(t, path))
		require.Equal(t, wantPack, read(t, pack))
	}
	assert.Greater(t, cut, 10, "a backup looks too seldom whether it should end")
	assert.Equal(t, []string{"copy.book", "copy.book.originals"}, names(t, dir))
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	raw, err := os.ReadFile(path)
	require.NoError(t, err)
	return raw
}

// TestBackupKeepsOffTheBooksOwn: neither the lock of the book nor its originals,
// by whatever name, are written over; nor is a file that is named like a draft.
func TestBackupKeepsOffTheBooksOwn(t *testing.T) {
	b := backedBook(t)
	o := store.BackupOptions{Originals: true, Force: true}
	for _, end := range []string{"", ".lock", ".turn", ".new", ".originals"} {
		_, err := b.Backup(t.Context(), b.Path()+end, o)
		require.ErrorContains(t, err, "is the book itself", end)
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "copy.book")
	if os.Symlink(store.OriginalsDir(b.Path()), store.OriginalsDir(path)) == nil {
		_, err := b.Backup(t.Context(), path, o)
		require.ErrorContains(t, err, "originals of the book itself")
		require.NoError(t, os.Remove(store.OriginalsDir(path)))
	}
	require.NoError(t, os.WriteFile(path+".new", []byte("mine"), 0o600))
	_, err := b.Backup(t.Context(), path, o)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(read(t, path+".new")))
	_, err = b.Backup(t.Context(), filepath.Join(dir, "copy.book.new"), store.BackupOptions{Originals: true})
	require.ErrorContains(t, err, "is there already")
}

// TestBackupTakesPacksAsFarAsTheBookKnows: a torn record behind that stays out.
func TestBackupTakesPacksAsFarAsTheBookKnows(t *testing.T) {
	b := backedBook(t)
	pack := filepath.Join(store.OriginalsDir(b.Path()), "000001.pack")
	known := read(t, pack)
	require.NoError(t, os.WriteFile(pack, append(known[:len(known):len(known)], "torn"...), 0o600))
	path := filepath.Join(t.TempDir(), "copy.book")
	r, err := b.Backup(t.Context(), path, store.BackupOptions{Originals: true})
	require.NoError(t, err)
	assert.EqualValues(t, len(known), r.PackBytes)
	assert.Equal(t, known, read(t, filepath.Join(store.OriginalsDir(path), "000001.pack")))
	storetest.Check(t, storetest.OpenAt(t, path, store.Options{}))
	require.NoError(t, os.WriteFile(pack, known, 0o600))
}
