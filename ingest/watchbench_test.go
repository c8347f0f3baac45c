package ingest

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A search through 5,000 files that were handed over: what each rescan costs.
func BenchmarkWatchSearch5000Known(b *testing.B) {
	dir := b.TempDir()
	for i := range 5000 {
		path := filepath.Join(dir, fmt.Sprint(i%50), fmt.Sprintf("%04d.fit", i))
		require.NoError(b, os.MkdirAll(filepath.Dir(path), 0o700))
		require.NoError(b, os.WriteFile(path, []byte("x"), 0o600))
	}
	w := idleWatcher(b, dir, WatchOptions{})
	w.listen()
	defer w.deafen()
	now := time.Now()
	w.searchAll(now)
	for path := range w.waiting {
		w.done([]string{path})
	}
	b.ReportAllocs()
	for b.Loop() {
		w.searchAll(now)
	}
	require.Empty(b, w.waiting)
	require.Len(b, w.known, 5000)
}

func BenchmarkCompleteFIT2MB(b *testing.B) {
	ride := fitRide(2 << 20 / 24) // bytes of a point
	path := filepath.Join(b.TempDir(), "ride.fit")
	require.NoError(b, os.WriteFile(path, ride, 0o600))
	b.SetBytes(int64(len(ride)))
	b.ReportAllocs()
	for b.Loop() {
		if !complete(path) {
			b.Fatal("it is complete")
		}
	}
}
