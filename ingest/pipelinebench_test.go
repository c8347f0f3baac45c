package ingest

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
)

// BenchmarkRun imports 1,000 files of about 200 kB and says the highest heap
// that was seen between two files.
func BenchmarkRun(b *testing.B) {
	full := func(seed uint64, minutes float64) *rig.Ride {
		s := rig.Full(seed)
		s.Minutes = minutes
		return rig.Make(s)
	}
	for name, make := range map[string]func(seed uint64) []byte{
		"gpx": func(seed uint64) []byte { return full(seed, 14).GPX() },
		"fit": func(seed uint64) []byte { return full(seed, 110).FIT() },
	} {
		b.Run(name, func(b *testing.B) { benchmarkRun(b, make) })
	}
}

func benchmarkRun(b *testing.B, make func(seed uint64) []byte) {
	const different, times = 20, 50
	dir := b.TempDir()
	var files []string
	var size int64
	for i := range different {
		data := make(uint64(i + 1))
		size += times * int64(len(data))
		files = append(files, filepath.Join(dir, fmt.Sprint(i)))
		require.NoError(b, os.WriteFile(files[i], data, 0o600))
	}
	for range times - 1 {
		files = append(files, files[:different]...)
	}
	b.SetBytes(size)
	var peak uint64
	for b.Loop() {
		n := 0
		require.NoError(b, Run(b.Context(), files, Options{}, oneBike, func(f File) error {
			require.NoError(b, f.Err)
			if n++; n%10 == 0 {
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				peak = max(peak, m.HeapInuse)
			}
			return nil
		}))
	}
	b.ReportMetric(float64(peak)/(1<<20), "peak-MB")
	b.ReportMetric(float64(size)/float64(len(files))/1000, "kB/file")
}
