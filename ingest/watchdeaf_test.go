package ingest

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/fsnotify/fsnotify"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// idleWatcher is a watcher of a folder before it runs.
func idleWatcher(tb testing.TB, dir string, o WatchOptions) *watcher {
	tb.Helper()
	w := newWatcher(context.Background(), o, func(context.Context, []string) error { return nil })
	require.NoError(tb, w.name([]string{dir}))
	return w
}

func TestWatchRestsWhereNothingIsToDo(t *testing.T) {
	w := idleWatcher(t, t.TempDir(), WatchOptions{})
	w.searchAll(noon)
	assert.Equal(t, noon.Add(3*time.Minute), w.next())
}

// Where the system can tell of nothing, everything is searched again and again.
func TestWatchSearchesWhatCannotBeTold(t *testing.T) {
	dir := t.TempDir()
	got := &watched{t: t}
	w := idleWatcher(t, dir, WatchOptions{Settle: testSettle, Trouble: got.trouble})
	w.take = got.take
	w.listen()
	w.goDeaf(errBusy)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() { ended <- w.run(ctx) }()
	got.gets(write(t, filepath.Join(dir, "a.fit"), fitRide(10)), 1)
	got.gets(write(t, filepath.Join(dir, "b.fit"), fitRide(10)), 1)
	cancel()
	require.ErrorIs(t, <-ended, context.Canceled)
	require.Len(t, got.troubles, 1)
	require.ErrorIs(t, got.troubles[0], errBusy)
}

// What the system's queue lost is found by a search that comes soon.
func TestWatchFindsWhatGotLost(t *testing.T) {
	dir := t.TempDir()
	got := &watched{t: t}
	w := idleWatcher(t, dir, WatchOptions{Trouble: got.trouble})
	w.searchAll(time.Now())
	write(t, filepath.Join(dir, "a.fit"), fitRide(10))
	for range 3 {
		w.failed(fsnotify.ErrEventOverflow)
	}
	assert.LessOrEqual(t, time.Until(w.next()), w.o.Settle)
	assert.Equal(t, []error{errFlood}, got.troubles, "told once")
	w.searchAll(w.next())
	assert.Contains(t, w.waiting, filepath.Join(dir, "a.fit"))
}

func TestWatchTellsOfFoldersThatCannotBeRead(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may read everything")
	}
	dir := put(t, map[string]string{"closed/a.fit": "x", "open/b.fit": "x"})
	closed := filepath.Join(dir, "closed")
	got := &watched{t: t}
	w := idleWatcher(t, dir, WatchOptions{Trouble: got.trouble})
	for _, mode := range []os.FileMode{0, 0, 0o700, 0o700} {
		require.NoError(t, os.Chmod(closed, mode))
		w.searchAll(noon)
	}
	require.Len(t, got.troubles, 2, "each change of state once")
	assert.True(t, aboutFolder(closed, false)(got.troubles[0]))
	assert.True(t, aboutFolder(closed, true)(got.troubles[1]))
	assert.Len(t, w.waiting, 2)
}

// A folder that was named may be in another, also where that passes it over.
func TestWatchOfFoldersWithinEachOther(t *testing.T) {
	dir := put(t, map[string]string{"a.fit": "x", ".in/b.fit": "x", ".in/deep/c.fit": "x"})
	w := idleWatcher(t, dir, WatchOptions{})
	require.NoError(t, w.name([]string{filepath.Join(dir, ".in")}))
	w.searchAll(noon)
	assert.Len(t, w.waiting, 3)
	for path := range w.waiting {
		w.done([]string{path})
	}
	w.searchAll(noon)
	assert.Len(t, w.known, 3)
	assert.Empty(t, w.waiting)

	require.NoError(t, os.Remove(filepath.Join(dir, ".in", "b.fit")))
	w.searchAll(noon)
	assert.Len(t, w.known, 2)
	require.NoError(t, os.Rename(filepath.Join(dir, ".in"), filepath.Join(dir, ".out")))
	w.searchAll(noon)
	assert.Equal(t, noon.Add(pollEvery), w.poll, "it is looked for")
	require.NoError(t, os.Rename(filepath.Join(dir, ".out"), filepath.Join(dir, ".in")))
	w.searchMissing(noon)
	assert.Equal(t, noon.Add(w.o.Rescan), w.rescan)
	assert.True(t, w.poll.IsZero())
}
