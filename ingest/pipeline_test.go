package ingest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"pawl/wear"
)

// bikesFunc lets a function find the bikes.
type bikesFunc func(path string, t *Track) (wear.Whose, Model)

func (f bikesFunc) Resolve(path string, t *Track) (wear.Whose, Model) { return f(path, t) }

// oneBike is a stable with a single bike.
var oneBike = bikesFunc(func(string, *Track) (wear.Whose, Model) {
	return wear.Whose{Bike: 7, Rule: wear.OnlyBike}, Model{}
})

// manyRides writes n files whose i-th has a start of its own; every fifth is
// much longer, so that it is done later than those behind it.
func manyRides(tb testing.TB, n int) []string {
	tb.Helper()
	dir := tb.TempDir()
	var files []string
	for i := range n {
		points := 10
		if i%5 == 0 {
			points = 2000
		}
		var b strings.Builder
		for k := range points {
			b.WriteString(north(k, stampAfter(86_400*i+4*k)))
		}
		path := filepath.Join(dir, fmt.Sprintf("%03d.gpx", i))
		require.NoError(tb, os.WriteFile(path, []byte(wrap(b.String())), 0o600))
		files = append(files, path)
	}
	return files
}

func TestRunHandsOverInOrder(t *testing.T) {
	defer goleak.VerifyNone(t)
	files := manyRides(t, 60)
	files[17] = files[3] // the same content twice is no error here
	files[30] += ".none"
	require.NoError(t, os.WriteFile(files[31], nil, 0o600))
	var got []File
	err := Run(t.Context(), files, Options{}, oneBike, func(f File) error { got = append(got, f); return nil })
	require.NoError(t, err)
	require.Len(t, got, len(files))
	for i, f := range got {
		assert.Equal(t, files[i], f.Path)
		if i == 30 || i == 31 {
			var refusal *RefusedError
			require.ErrorAs(t, f.Err, &refusal)
			assert.Empty(t, f.Rides)
			continue
		}
		require.NoError(t, f.Err)
		require.Len(t, f.Rides, 1)
		require.Len(t, f.Gears, 1)
		checkRide(t, f)
	}
	assert.Equal(t, got[3].Rides[0].ID, got[17].Rides[0].ID)
	assert.NotEqual(t, got[3].Rides[0].ID, got[4].Rides[0].ID)
}

func checkRide(t *testing.T, f File) {
	t.Helper()
	r := f.Rides[0]
	_, hash, _, err := Read(f.Raw, Options{})
	require.NoError(t, err)
	assert.Equal(t, hash, f.Hash)
	assert.Equal(t, hash, r.File)
	assert.Equal(t, wear.GPX, r.Format)
	assert.Equal(t, wear.ID(7), r.Bike)
	assert.Equal(t, wear.OnlyBike, r.Rule)
	assert.Equal(t, "loop", r.Title)
	assert.Equal(t, uint8(SumsVersion), r.Version)
	assert.Zero(t, (int64(r.Start)-morning.UnixMilli())%wear.Day)
	assert.Positive(t, r.Total()[wear.Distance])
}

// While the first file waits to be taken, no more than the window is read.
func TestRunReadsNoFurtherThanItsWindow(t *testing.T) {
	defer goleak.VerifyNone(t)
	cores := runtime.GOMAXPROCS(0)
	most := int64(2 * cores)
	files := manyRides(t, 12*cores)
	var read, taken atomic.Int64
	counting := bikesFunc(func(string, *Track) (wear.Whose, Model) {
		read.Add(1)
		return wear.Whose{}, Model{}
	})
	err := Run(t.Context(), files, Options{}, counting, func(File) error {
		if taken.Add(1) == 1 {
			require.Eventually(t, func() bool { return read.Load() >= int64(2*cores) }, time.Minute, time.Millisecond)
		}
		assert.LessOrEqual(t, read.Load()-taken.Load(), most)
		return nil
	})
	require.NoError(t, err)
	assert.Equal(t, int64(len(files)), taken.Load())
}

// Files that together are larger than the room wait for each other.
func TestRunBoundsTheBytesInFlight(t *testing.T) {
	dir := t.TempDir()
	var files []string
	for i := range 6 {
		path := filepath.Join(dir, fmt.Sprint(i))
		require.NoError(t, os.WriteFile(path, nil, 0o600))
		require.NoError(t, os.Truncate(path, windowBytes/2+1)) // sparse: zeros only
		files = append(files, path)
	}
	files = append(files, manyRides(t, 3)...)
	n := 0
	err := Run(t.Context(), files, Options{}, oneBike, func(f File) error {
		if n < 6 {
			assert.EqualError(t, f.Err, "the file holds nothing but zeros or spaces")
		} else {
			assert.NoError(t, f.Err)
		}
		n++
		return nil
	})
	require.NoError(t, err)
	assert.Equal(t, 9, n)
}

func TestRunEndsCleanlyWhenCancelled(t *testing.T) {
	defer goleak.VerifyNone(t)
	files := manyRides(t, 40)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var taken []string
	err := Run(ctx, files, Options{}, oneBike, func(f File) error {
		taken = append(taken, f.Path)
		if len(taken) == 6 {
			cancel()
		}
		return nil
	})
	require.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, files[:6], taken)

	err = Run(ctx, files, Options{}, oneBike, func(File) error { t.Error("taken after the end"); return nil })
	require.ErrorIs(t, err, context.Canceled)
	require.NoError(t, Run(ctx, nil, Options{}, oneBike, nil), "nothing to do is done")
}

func TestRunEndsWithTheErrorOfTake(t *testing.T) {
	defer goleak.VerifyNone(t)
	full := errors.New("disk full")
	n := 0
	err := Run(t.Context(), manyRides(t, 40), Options{}, oneBike, func(File) error {
		if n++; n == 3 {
			return full
		}
		return nil
	})
	assert.Equal(t, full, err)
	assert.Equal(t, 3, n)
}

func TestRunOutlivesAPanic(t *testing.T) {
	files := manyRides(t, 4)
	shaky := bikesFunc(func(_ string, track *Track) (wear.Whose, Model) {
		if track.Start == morning.UnixMilli()+wear.Day {
			panic("no stable")
		}
		return wear.Whose{}, Model{}
	})
	var errs []error
	require.NoError(t, Run(t.Context(), files, Options{}, shaky, func(f File) error { errs = append(errs, f.Err); return nil }))
	require.Len(t, errs, 4)
	assert.EqualError(t, errs[1], "the sums broke on this file: no stable")
	errs[1] = nil
	assert.Equal(t, []error{nil, nil, nil, nil}, errs)
}

func TestRunSaysWhatCannotBeRead(t *testing.T) {
	dir := t.TempDir()
	pipe, large, closed := filepath.Join(dir, "pipe"), filepath.Join(dir, "large"), filepath.Join(dir, "closed")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	require.NoError(t, os.WriteFile(large, nil, 0o600))
	require.NoError(t, os.Truncate(large, maxBytes+1))
	require.NoError(t, os.WriteFile(closed, []byte("x"), 0))
	want := map[string]string{
		dir:                         "a folder, not a file",
		pipe:                        "not a plain file",
		large:                       "40 MB, more than the 40 MB that a ride file may hold",
		filepath.Join(dir, "none"):  "no such file or folder",
		filepath.Join(pipe, "file"): "not a directory",
	}
	if os.Geteuid() != 0 {
		want[closed] = "no permission to read"
	}
	var files []string
	for path := range want {
		files = append(files, path)
	}
	require.NoError(t, Run(t.Context(), files, Options{}, oneBike, func(f File) error {
		assert.ErrorContains(t, f.Err, want[f.Path])
		var refusal *RefusedError
		require.ErrorAs(t, f.Err, &refusal)
		assert.NotEmpty(t, refusal.Hint)
		return nil
	}))
}
