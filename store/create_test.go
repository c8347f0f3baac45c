package store_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
)

func names(t *testing.T, dir string) (all []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

// TestCreateIsWhole: until the first transaction is done there is no book under
// its name, and what an attempt that was cut short left is no hindrance.
func TestCreateIsWhole(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "made", "too")
	b := storetest.OpenAt(t, filepath.Join(dir, "the.book"), store.Options{})
	stop := errors.New("stop")
	err := b.Update(context.Background(), func(*store.Tx) error {
		assert.NoFileExists(t, b.Path())
		return stop
	})
	require.ErrorIs(t, err, stop)
	assert.ElementsMatch(t, []string{"the.book.lock", "the.book.turn"}, names(t, dir))

	require.NoError(t, os.WriteFile(b.Path()+".new", []byte("torn"), 0o600))
	require.ErrorIs(t, b.View(context.Background(), nothing), store.ErrNoBook)
	withBike(t, b)
	assert.ElementsMatch(t, []string{"the.book", "the.book.lock", "the.book.turn"}, names(t, dir))
	info, err := os.Stat(b.Path())
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
}

// TestCreateBehindLink: a link to where no book is yet, or an empty file, stays
// a link.
func TestCreateBehindLink(t *testing.T) {
	for name, empty := range map[string]bool{"nothing": false, "an empty file": true} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			far := filepath.Join(dir, "far")
			require.NoError(t, os.Mkdir(far, 0o700))
			target, link := filepath.Join(far, "the.book"), filepath.Join(dir, "the.book")
			if empty {
				require.NoError(t, os.WriteFile(target, nil, 0o600))
			}
			require.NoError(t, os.Symlink(filepath.Join("far", "the.book"), link))
			withBike(t, storetest.OpenAt(t, link, store.Options{}))
			to, err := os.Readlink(link)
			require.NoError(t, err)
			assert.Equal(t, filepath.Join("far", "the.book"), to)
			assert.Equal(t, []string{"the.book"}, names(t, far))
		})
	}
}

func TestCreateFails(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "file"), nil, 0o600))
	b := store.At(filepath.Join(dir, "file", "the.book"), store.Options{})
	require.ErrorContains(t, b.Update(context.Background(), nothing), "not a directory")
	b = store.At(filepath.Join(dir, "the.book"), store.Options{})
	require.NoError(t, os.MkdirAll(filepath.Join(b.Path()+".new", "full"), 0o700))
	require.ErrorContains(t, b.Update(context.Background(), nothing), "the.book.new")
	assert.NoFileExists(t, b.Path())
}
