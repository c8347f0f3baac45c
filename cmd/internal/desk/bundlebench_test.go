package desk

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	tormoder "github.com/tormoder/fit"

	"pawl/ingest/rig"
	"pawl/wear"
)

// The archive of the benchmark, and the tenth of it that it is held against.
const (
	bundleRides = 5000
	bundleFew   = bundleRides / 10
)

// benchBundle writes archives of the first rides of n distinct ones, which start
// every seven hours and last 50 minutes: 90 kB of FIT and 60 kB in gzip each.
func benchBundle(b *testing.B, few, n int) (fewPath, path string) {
	b.Helper()
	fewPath, path = filepath.Join(b.TempDir(), "few.zip"), filepath.Join(b.TempDir(), "all.zip")
	some, closeFew := newBundle(b, fewPath)
	all, closeAll := newBundle(b, path)
	const together = 100
	for from := 0; from < n; from += together {
		var files [together][]byte
		var wg sync.WaitGroup
		for i := range files {
			wg.Go(func() { files[i] = benchGzip(b, from+i) })
		}
		wg.Wait()
		for i, data := range files {
			name := fmt.Sprintf("rides/%05d.fit.gz", from+i)
			if from+i < few {
				some(name, data)
			}
			all(name, data)
		}
	}
	closeFew()
	closeAll()
	return fewPath, path
}

// newBundle begins an archive that keeps its entries as they are.
func newBundle(b *testing.B, path string) (add func(name string, data []byte), end func()) {
	f, err := os.Create(path)
	require.NoError(b, err)
	z := zip.NewWriter(f)
	add = func(name string, data []byte) {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
		require.NoError(b, err)
		_, err = w.Write(data)
		require.NoError(b, err)
	}
	return add, func() {
		require.NoError(b, z.Close())
		require.NoError(b, f.Close())
	}
}

func benchGzip(b *testing.B, i int) []byte {
	s := rig.Bench(i)
	s.Minutes = 50
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	if _, err := w.Write(rig.Make(s).FIT()); err != nil {
		b.Error(err)
	}
	if err := w.Close(); err != nil {
		b.Error(err)
	}
	return out.Bytes()
}

// bareBundle does the least that could be done with an archive: unzip, gunzip and
// decode with the library alone, on all cores.
func bareBundle(b *testing.B, path string) {
	z, err := zip.OpenReader(path)
	require.NoError(b, err)
	defer z.Close()
	next := make(chan *zip.File)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for f := range next {
				if err := bareDecode(f); err != nil {
					b.Error(f.Name, err)
				}
			}
		})
	}
	for _, f := range z.File {
		next <- f
	}
	close(next)
	wg.Wait()
}

func bareDecode(f *zip.File) error {
	r, err := f.Open()
	if err != nil {
		return err
	}
	defer r.Close()
	g, err := gzip.NewReader(r)
	if err != nil {
		return err
	}
	raw, err := io.ReadAll(g)
	if err != nil {
		return err
	}
	_, err = tormoder.Decode(bytes.NewReader(raw))
	return err
}

// cost is the least that a piece of work took, and the most heap that it had.
type cost struct {
	processor, clock time.Duration
	heap             uint64
}

func (c *cost) measure(b *testing.B, work func()) {
	runtime.GC()
	stop, cpu, start := heapPeak(), processorTime(b), time.Now()
	work()
	took, clock := processorTime(b)-cpu, time.Since(start)
	c.heap = max(c.heap, stop())
	if c.processor == 0 || took < c.processor {
		c.processor = took
	}
	if c.clock == 0 || clock < c.clock {
		c.clock = clock
	}
}

// processorTime is what this process has taken of all processors.
func processorTime(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// importBundle imports an archive of n rides into a new book, originals and all.
func importBundle(b *testing.B, path string, n int) {
	d := Open(filepath.Join(b.TempDir(), "bench.book"), "UTC", "bench", rig.Bench(bundleRides).Start.AddDate(0, 1, 0))
	_, _, err := d.AddBike(context.Background(), BikeRequest{Bike: wear.Bike{Name: "bench"}, Used: Nothing()})
	require.NoError(b, err)
	res, err := d.Import(context.Background(), ImportRequest{Paths: []string{path}})
	require.NoError(b, err)
	require.Equal(b, n, res.Rides)
}

// An archive of 5,000 rides, imported beside bare decoding of it and beside a tenth
// of it, turn by turn. The ratios are of the least time of processors, which a busy
// machine disturbs least; times of a clock beside.
func BenchmarkImportBundle(b *testing.B) {
	fewPath, path := benchBundle(b, bundleFew, bundleRides)
	var few, all, bare cost
	for b.Loop() {
		few.measure(b, func() { importBundle(b, fewPath, bundleFew) })
		bare.measure(b, func() { bareBundle(b, path) })
		all.measure(b, func() { importBundle(b, path, bundleRides) })
	}
	b.ReportMetric(float64(all.processor)/float64(bare.processor), "ratio")
	b.ReportMetric(float64(all.clock)/float64(bare.clock), "ratio-clock")
	b.ReportMetric(float64(all.processor)/float64(few.processor), "5000/500")
	b.ReportMetric(float64(all.clock)/float64(few.clock), "5000/500-clock")
	b.ReportMetric(float64(all.heap)/1e6, "heapMB")
	b.ReportMetric(float64(few.heap)/1e6, "heapMB-500")
	b.ReportMetric(all.processor.Seconds()*1e3/bundleRides, "cpu-ms/ride")
	b.ReportMetric(0, "ns/op")
}
