package ingest

import (
	"path/filepath"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Where what take writes to is another one now, everything comes once more: at
// once where that shows after a file was taken, and with the next file where it
// showed before.
func TestWatchHandsOverAnew(t *testing.T) {
	dir := put(t, map[string]string{"a.fit": string(fitRide(10)), "sub/b.fit": string(fitRide(11))})
	a, b := filepath.Join(dir, "a.fit"), filepath.Join(dir, "sub", "b.fit")
	var other atomic.Bool
	w := watch(t, &watched{}, WatchOptions{Anew: func() bool { return other.Swap(false) }}, dir)
	w.gets(a, 1)
	w.gets(b, 1)
	other.Store(true)
	c := write(t, filepath.Join(dir, "c.fit"), fitRide(12))
	w.gets(a, 2)
	w.gets(b, 2)
	w.gets(c, 1)
	assert.False(t, other.Load())
}
