package ingest

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
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
	"github.com/tormoder/fit"

	"pawl/ingest/rig"
	"pawl/wear"
)

// benchBundle is an archive of 1,000 rides of about 200 kB, each in gzip.
func benchBundle(b *testing.B) (path string, size int64) {
	b.Helper()
	const different, times = 20, 50
	var rides []entry
	for i := range different {
		s := rig.Full(uint64(i + 1))
		s.Minutes = 110
		data := rig.Make(s).FIT()
		size += times * int64(len(data))
		rides = append(rides, entry{data: zipped(b, data)})
	}
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for i := range different * times {
		w, err := z.CreateHeader(&zip.FileHeader{Name: fmt.Sprintf("rides/%d.fit.gz", i), Method: zip.Store})
		require.NoError(b, err)
		_, err = w.Write(rides[i%different].data)
		require.NoError(b, err)
	}
	require.NoError(b, z.Close())
	path = filepath.Join(b.TempDir(), "rides.zip")
	require.NoError(b, os.WriteFile(path, out.Bytes(), 0o600))
	return path, size
}

// bareBundle does the least that could be done: open, decompress and decode, on
// all cores.
func bareBundle(b *testing.B, path string, decode bool) {
	z, err := zip.OpenReader(path)
	require.NoError(b, err)
	defer z.Close()
	files := make(chan *zip.File)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for f := range files {
				data, err := bareEntry(f)
				if err == nil && decode {
					_, err = fit.Decode(bytes.NewReader(data))
				}
				if err != nil {
					b.Error(err)
				}
			}
		})
	}
	for _, f := range z.File {
		files <- f
	}
	close(files)
	wg.Wait()
}

func bareEntry(f *zip.File) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	g, err := gzip.NewReader(r)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(g)
}

// A bundle through the pipeline, loads and all, beside bare decoding of it, turn
// by turn, and once more where every file is known. The ratios are of the least
// time of processors, which a busy machine disturbs least; times of a clock beside.
func BenchmarkBundle(b *testing.B) {
	path, size := benchBundle(b)
	run := func(o Options) {
		n := 0
		require.NoError(b, Run(b.Context(), []string{path}, o, oneBike, func(f File) error {
			n++
			return f.Err
		}))
		require.Equal(b, 1000, n)
	}
	all := Options{Known: func(wear.Hash) bool { return true }}
	shortest := [4]time.Duration{time.Hour, time.Hour, time.Hour, time.Hour}
	clocks := shortest
	b.SetBytes(size)
	for b.Loop() {
		for i, work := range []func(){
			func() { run(Options{}) },
			func() { bareBundle(b, path, true) },
			func() { run(all) },
			func() { bareBundle(b, path, false) },
		} {
			start, clock := processorTime(b), time.Now()
			work()
			shortest[i] = min(shortest[i], processorTime(b)-start)
			clocks[i] = min(clocks[i], time.Since(clock))
		}
	}
	b.ReportMetric(float64(shortest[0])/float64(shortest[1]), "run/bare")
	b.ReportMetric(float64(shortest[2])/float64(shortest[0]), "known/run")
	b.ReportMetric(float64(shortest[2])/float64(shortest[3]), "known/gunzip")
	b.ReportMetric(shortest[0].Seconds(), "run-cpu-s")
	b.ReportMetric(float64(clocks[0])/float64(clocks[1]), "run/bare-clock")
}

// processorTime is what this process has taken of all processors.
func processorTime(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
