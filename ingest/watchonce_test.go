package ingest

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWatchOnce(t *testing.T) {
	dir := put(t, map[string]string{"a.fit": string(fitRide(10)), "sub/cut.gpx": "<gpx><trk>", "empty": ""})
	w := &watched{t: t}
	o := WatchOptions{Once: true, Settle: testSettle, Trouble: w.trouble}
	require.NoError(t, Watch(t.Context(), []string{dir}, o, w.take))
	assert.Equal(t, []string{filepath.Join(dir, "a.fit"), filepath.Join(dir, "empty"), filepath.Join(dir, "sub", "cut.gpx")}, w.taken)
	assert.Empty(t, w.troubles)
}

func TestWatchOnceEndsWithWhatIsWrong(t *testing.T) {
	dir := put(t, map[string]string{"a.fit": "x"})
	for name, c := range map[string]struct {
		dirs []string
		want string
	}{
		"no such folder": {[]string{dir, filepath.Join(dir, "none")}, "no such folder"},
		"a file":         {[]string{filepath.Join(dir, "a.fit")}, "not a folder"},
		"take fails":     {[]string{dir}, errBusy.Error()},
	} {
		w := &watched{t: t, refuse: 1}
		err := Watch(t.Context(), c.dirs, WatchOptions{Once: true, Settle: testSettle, Trouble: w.trouble}, w.take)
		require.ErrorContains(t, err, c.want, name)
		assert.Empty(t, w.taken, name)
	}
}

func TestWatchOnceLeavesOutWhatKeepsChanging(t *testing.T) {
	dir := put(t, map[string]string{"still.fit": string(fitRide(10)), "wild.csv": "date,km\n"})
	still, wild := filepath.Join(dir, "still.fit"), filepath.Join(dir, "wild.csv")
	got := &watched{t: t}
	w := idleWatcher(t, dir, WatchOptions{Patience: 3 * time.Second, Trouble: got.trouble})
	w.take = got.take
	w.searchAll(noon)
	for i := 1; len(w.waiting) > 0; i++ {
		require.Less(t, i, 100)
		write(t, wild, make([]byte, i))
		require.NoError(t, w.pass(t.Context(), noon.Add(time.Duration(i)*w.settle)))
	}
	assert.Equal(t, []string{still}, got.taken)
	assert.Equal(t, []error{&UnsettledError{wild, 3 * time.Second}}, got.troubles)
}
