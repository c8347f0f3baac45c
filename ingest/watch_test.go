package ingest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
)

const (
	testSettle = 40 * time.Millisecond
	soonEnough = 20 * time.Second // no test waits so long where all is well
)

// watched is a watcher at work in a test.
type watched struct {
	t        *testing.T
	mu       sync.Mutex
	taken    []string
	batches  []int
	troubles []error
	refuse   int // how often take is still to fail
}

// errBusy is what take returns in tests.
var errBusy = errors.New("the book is busy")

func (w *watched) take(_ context.Context, files []string) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.refuse > 0 {
		w.refuse--
		return errBusy
	}
	w.batches = append(w.batches, len(files))
	w.taken = append(w.taken, files...)
	return nil
}

func (w *watched) trouble(err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.troubles = append(w.troubles, err)
}

// watch watches folders until the test ends.
func watch(t *testing.T, w *watched, o WatchOptions, dirs ...string) *watched {
	t.Helper()
	w.t = t
	o.Settle, o.Trouble = testSettle, w.trouble
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- Watch(ctx, dirs, o, w.take) }()
	t.Cleanup(func() {
		cancel()
		require.ErrorIs(t, <-ended, context.Canceled)
		goleak.VerifyNone(t)
	})
	return w
}

// times is how often a file was handed over.
func (w *watched) times(path string) int {
	w.mu.Lock()
	defer w.mu.Unlock()
	n := 0
	for _, p := range w.taken {
		if p == path {
			n++
		}
	}
	return n
}

// gets waits until a file was handed over so often.
func (w *watched) gets(path string, times int) {
	w.t.Helper()
	require.Eventually(w.t, func() bool { return w.times(path) >= times }, soonEnough, 5*time.Millisecond, path)
	require.Equal(w.t, times, w.times(path))
}

// told waits until what is wanted was told and returns it.
func (w *watched) told(want func(error) bool) error {
	w.t.Helper()
	var found error
	require.Eventually(w.t, func() bool {
		w.mu.Lock()
		defer w.mu.Unlock()
		at := slices.IndexFunc(w.troubles, want)
		if at >= 0 {
			found = w.troubles[at]
		}
		return at >= 0
	}, soonEnough, 5*time.Millisecond)
	return found
}

// aboutFolder wants word of a folder.
func aboutFolder(path string, back bool) func(error) bool {
	return func(err error) bool {
		var f *FolderError
		return errors.As(err, &f) && f.Path == path && f.Back == back
	}
}

// write writes a file in one go.
func write(t *testing.T, path string, content []byte) string {
	t.Helper()
	require.NoError(t, os.WriteFile(path, content, 0o600))
	return path
}

func TestWatchTakesWhatIsThereAndWhatComes(t *testing.T) {
	dir := put(t, map[string]string{
		"old.fit": string(fitRide(10)), "sub/old.fit": string(fitRide(11)), ".hidden/x.fit": string(fitRide(12)),
		"book.db": "leave this alone", ".x.fit": string(fitRide(13)),
	})
	outside := put(t, map[string]string{"far.fit": string(fitRide(14))})
	require.NoError(t, os.Symlink(outside, filepath.Join(dir, "link")))
	require.NoError(t, os.Symlink(dir, filepath.Join(dir, "sub", "loop")))
	skip := func(path string) bool { return filepath.Base(path) == "book.db" }
	w := watch(t, &watched{}, WatchOptions{Skip: skip}, dir, dir+"/")
	w.gets(filepath.Join(dir, "sub", "old.fit"), 1)
	w.gets(write(t, filepath.Join(dir, "new.fit"), fitRide(15)), 1)
	w.gets(write(t, filepath.Join(dir, "sub", "new.fit"), fitRide(16)), 1)

	all, errs := Find([]string{dir})
	require.Empty(t, errs)
	all = slices.DeleteFunc(all, skip)
	assert.ElementsMatch(t, all, w.taken, "the same rules as Find, each file once")
	assert.Empty(t, w.troubles)
}

func TestWatchWaitsForASlowWriter(t *testing.T) {
	dir, ride := t.TempDir(), fitRide(2000)
	w := watch(t, &watched{}, WatchOptions{}, dir)
	path := filepath.Join(dir, "slow.fit")
	f, err := os.Create(path)
	require.NoError(t, err)
	for chunk := range slices.Chunk(ride, len(ride)/4) {
		require.Zero(t, w.times(path), "it is not complete")
		_, err := f.Write(chunk)
		require.NoError(t, err)
		if len(chunk) == len(ride)/4 {
			time.Sleep(2 * testSettle) // still for longer than a file needs to be
		}
	}
	require.NoError(t, f.Close())
	w.gets(path, 1)
}

func TestWatchSeesARename(t *testing.T) {
	dir, elsewhere := t.TempDir(), t.TempDir()
	w := watch(t, &watched{}, WatchOptions{}, dir)
	hidden := write(t, filepath.Join(dir, ".ride.part"), fitRide(20))
	path := filepath.Join(dir, "ride.fit")
	require.NoError(t, os.Rename(hidden, path))
	w.gets(path, 1)

	folder := filepath.Join(elsewhere, "june", "week")
	require.NoError(t, os.MkdirAll(folder, 0o700))
	write(t, filepath.Join(folder, "a.fit"), fitRide(21))
	require.NoError(t, os.Rename(filepath.Dir(folder), filepath.Join(dir, "june")))
	w.gets(filepath.Join(dir, "june", "week", "a.fit"), 1)

	require.NoError(t, os.Rename(filepath.Join(dir, "june"), filepath.Join(dir, "july")))
	w.gets(filepath.Join(dir, "july", "week", "a.fit"), 1)
	w.gets(write(t, filepath.Join(dir, "july", "week", "b.fit"), fitRide(22)), 1)
}

func TestWatchTakesAChangedFileAgain(t *testing.T) {
	dir := t.TempDir()
	w := watch(t, &watched{}, WatchOptions{}, dir)
	path := write(t, filepath.Join(dir, "a.fit"), fitRide(30))
	w.gets(path, 1)
	write(t, path, fitRide(31))
	w.gets(path, 2)
	require.NoError(t, os.Remove(path))
	write(t, path, fitRide(31))
	w.gets(path, 3)
}

func TestWatchFollowsNewFolders(t *testing.T) {
	dir := t.TempDir()
	w := watch(t, &watched{}, WatchOptions{}, dir)
	for i := range 5 {
		deep := filepath.Join(dir, fmt.Sprint(i), "b", "c")
		require.NoError(t, os.MkdirAll(deep, 0o700))
		path := write(t, filepath.Join(deep, "a.fit"), fitRide(40+i))
		w.gets(path, 1)
	}
}

func TestWatchWaitsForItsFolder(t *testing.T) {
	root := filepath.Join(t.TempDir(), "stick")
	w := watch(t, &watched{}, WatchOptions{}, root)
	err := w.told(aboutFolder(root, false))
	assert.ErrorContains(t, err, "no such folder")
	var refused *RefusedError
	require.ErrorAs(t, err, &refused)
	assert.NotEmpty(t, refused.Hint)

	require.NoError(t, os.Mkdir(root, 0o700))
	path := write(t, filepath.Join(root, "a.fit"), fitRide(50))
	w.gets(path, 1)
	w.told(aboutFolder(root, true))

	require.NoError(t, os.RemoveAll(root))
	require.Eventually(t, func() bool { w.mu.Lock(); defer w.mu.Unlock(); return len(w.troubles) == 3 }, soonEnough, 5*time.Millisecond)
	require.NoError(t, os.Mkdir(root, 0o700))
	w.gets(write(t, path, fitRide(51)), 2)
	w.mu.Lock()
	defer w.mu.Unlock()
	assert.Len(t, w.troubles, 4, "each change of state is told once")
}

func TestWatchTriesAgain(t *testing.T) {
	dir := put(t, map[string]string{"a.fit": string(fitRide(60)), "b.fit": string(fitRide(61))})
	w := watch(t, &watched{refuse: 2}, WatchOptions{}, dir)
	w.gets(filepath.Join(dir, "a.fit"), 1)
	w.gets(filepath.Join(dir, "b.fit"), 1)
	assert.Equal(t, []int{2}, w.batches)
	assert.Equal(t, []error{errBusy}, w.troubles, "told once")
}

func TestWatchTakesThousandsAtOnce(t *testing.T) {
	dir, ride := t.TempDir(), fitRide(5)
	w := watch(t, &watched{}, WatchOptions{}, dir)
	want := make([]string, 2000)
	for i := range want {
		want[i] = write(t, filepath.Join(dir, fmt.Sprintf("%04d.fit", i)), ride)
	}
	require.Eventually(t, func() bool { w.mu.Lock(); defer w.mu.Unlock(); return len(w.taken) >= len(want) }, soonEnough, 10*time.Millisecond)
	assert.ElementsMatch(t, want, w.taken)
	assert.LessOrEqual(t, slices.Max(w.batches), maxHanded)
}

func TestWatchHandsOverWhatStaysIncomplete(t *testing.T) {
	dir, ride := t.TempDir(), fitRide(70)
	w := watch(t, &watched{}, WatchOptions{Patience: 5 * testSettle}, dir)
	w.gets(write(t, filepath.Join(dir, "cut.fit"), ride[:len(ride)-1]), 1)
}
