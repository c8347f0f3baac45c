package desk

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/metrics"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	tormoder "github.com/tormoder/fit"

	"pawl/ingest/rig"
	"pawl/wear"
)

var benchNow = time.Date(2027, 12, 31, 12, 0, 0, 0, time.UTC)

// benchRides writes n distinct rides of about 200 kB into a folder.
func benchRides(b *testing.B, n int) (dir string, size int64) {
	b.Helper()
	dir = b.TempDir()
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%05d.fit", i)), rig.Make(rig.Bench(i)).FIT(), 0o600); err != nil {
					b.Error(err)
				}
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	entries, err := os.ReadDir(dir)
	require.NoError(b, err)
	for _, e := range entries {
		info, err := e.Info()
		require.NoError(b, err)
		size += info.Size()
	}
	return dir, size
}

// decodeAll decodes every file of a folder with the library alone, on all cores.
func decodeAll(b *testing.B, dir string) time.Duration {
	b.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.fit"))
	require.NoError(b, err)
	start := time.Now()
	next := make(chan string)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for path := range next {
				data, err := os.ReadFile(path)
				if err == nil {
					_, err = tormoder.Decode(bytes.NewReader(data))
				}
				if err != nil {
					b.Error(path, err)
				}
			}
		})
	}
	for _, f := range files {
		next <- f
	}
	close(next)
	wg.Wait()
	return time.Since(start)
}

// heapPeak samples the live heap until stopped.
func heapPeak() (stop func() uint64) {
	done, peak := make(chan struct{}), make(chan uint64)
	go func() {
		sample := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
		var most uint64
		for {
			metrics.Read(sample)
			most = max(most, sample[0].Value.Uint64())
			select {
			case <-done:
				peak <- most
				return
			case <-time.After(5 * time.Millisecond):
			}
		}
	}()
	return func() uint64 { close(done); return <-peak }
}

// An import beside bare decoding of the same files by the same library on the
// same cores, in turn. "ratio" is the median of the pairs.
func BenchmarkImport(b *testing.B) {
	for _, n := range []int{100, 1000} {
		b.Run(fmt.Sprintf("rides=%d", n), func(b *testing.B) {
			dir, size := benchRides(b, n)
			decodeAll(b, dir)
			var ratios []float64
			var peak uint64
			var spent time.Duration
			for b.Loop() {
				alone := decodeAll(b, dir)
				d := Open(filepath.Join(b.TempDir(), "bench.book"), "UTC", "bench", benchNow)
				_, _, err := d.AddBike(context.Background(), BikeRequest{Bike: wear.Bike{Name: "bench"}, Used: Nothing()})
				require.NoError(b, err)
				runtime.GC()
				stop, start := heapPeak(), time.Now()
				res, err := d.Import(context.Background(), ImportRequest{Paths: []string{dir}})
				took := time.Since(start)
				peak = max(peak, stop())
				require.NoError(b, err)
				require.Equal(b, n, res.Rides)
				ratios = append(ratios, float64(took)/float64(alone))
				spent += took
			}
			b.ReportMetric(median(ratios), "ratio")
			b.ReportMetric(float64(peak)/1e6, "heapMB")
			b.ReportMetric(spent.Seconds()*1e3/float64(b.N)/float64(n), "ms/ride")
			b.ReportMetric(float64(size)/1e3/float64(n), "kB/file")
			b.ReportMetric(0, "ns/op")
		})
	}
}

func median(v []float64) float64 {
	s := slices.Sorted(slices.Values(v))
	return s[len(s)/2]
}
