package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"runtime/metrics"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// What an import may take: 64 MB, and 400 bytes for a point of its largest file.
// Garbage that is not collected yet is in that, at the collector's usual pace.
const (
	heapBase  = 64 << 20
	heapPoint = 400
)

// heapPeak is how far the heap's objects rise, garbage among them, while run
// runs: looked at all the time, and whenever run says.
func heapPeak(run func(look func())) uint64 {
	defer debug.SetGCPercent(debug.SetGCPercent(100))
	debug.FreeOSMemory()
	before := heapObjects()
	var lock sync.Mutex
	most := before
	look := func() {
		lock.Lock()
		defer lock.Unlock()
		most = max(most, heapObjects())
	}
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		for {
			select {
			case <-stop:
				return
			case <-time.After(500 * time.Microsecond):
				look()
			}
		}
	}()
	run(look)
	close(stop)
	<-stopped
	return most - before
}

func heapObjects() uint64 {
	sample := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	metrics.Read(sample)
	return sample[0].Value.Uint64()
}

// laughs is a GPX whose title is an entity that would grow to a billion.
func laughs() []byte {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY l0 "lol">`)
	for i := range 10 {
		fmt.Fprintf(&b, `<!ENTITY l%d "%s">`, i+1, strings.Repeat(fmt.Sprintf("&l%d;", i), 10))
	}
	b.WriteString("]>")
	_, body, _ := strings.Cut(wrap(riddenGPX(30)), "?>")
	b.WriteString(strings.Replace(body, "loop", "&l10;", 1))
	return []byte(b.String())
}

// manyPoints is a FIT of n points a second apart.
func manyPoints(n int) []byte {
	var m fitMaker
	fitID(&m, fileActivity)
	fitPoints(&m, day0, n)
	return m.file()
}

// longGPX is a GPX of n points a second apart, as short as they can be.
func longGPX(n int) []byte {
	var b bytes.Buffer
	b.WriteString(`<gpx version="1.1"><trk><trkseg>`)
	for i := range n {
		fmt.Fprintf(&b, `<trkpt lat="46.%05d" lon="7"><time>%s</time></trkpt>`, i%100_000, morning.Add(time.Duration(i)*time.Second).Format(time.RFC3339))
	}
	b.WriteString(`</trkseg></trk></gpx>`)
	return b.Bytes()
}

// thin is a GPX of so many bytes that shrink to just more than a hundredth.
func thin(size int) []byte {
	var b bytes.Buffer
	b.WriteString("<gpx><trk><name>")
	for i := 0; b.Len() < size; i++ {
		fmt.Fprintf(&b, "%06x%s", i*2654435761%(1<<24), strings.Repeat(" ", 450))
	}
	b.WriteString("</name></trk></gpx>")
	return b.Bytes()[:size]
}

// archivesInArchives are so many, each beside a ride and under a name to harm.
func archivesInArchives(tb testing.TB, n int) []byte {
	ride := entry{"ride.gpx", gpxRide(1, 9)}
	nested := bundleOf(tb, ride)
	for range n {
		nested = bundleOf(tb, entry{"../\x1b[31min.zip", nested}, ride)
	}
	return nested
}

// hostileRun imports a file and says how far the heap rose, at the least of a few
// runs where one of them goes past what so many points may take: on a busy machine
// the collector falls behind its usual pace, and only ever adds garbage.
func hostileRun(t *testing.T, data func() []byte, points uint64) (files []File, peak uint64) {
	path := filepath.Join(t.TempDir(), "rides")
	require.NoError(t, os.WriteFile(path, data(), 0o600))
	files, peak = hostileOnce(t, path)
	for range 7 {
		if peak <= heapBase+heapPoint*points {
			break
		}
		files = nil // or it is part of the heap that the next begins with
		var again uint64
		files, again = hostileOnce(t, path)
		peak = min(peak, again)
	}
	return files, peak
}

// hostileOnce is one import. Of files in a row that are refused for the same reason
// it keeps the first.
func hostileOnce(t *testing.T, path string) (files []File, peak uint64) {
	peak = heapPeak(func(look func()) {
		require.NoError(t, Run(t.Context(), []string{path}, Options{}, oneBike, func(f File) error {
			look()
			f.Raw = nil
			if n := len(files); n == 0 || f.Err == nil || fmt.Sprint(files[n-1].Err) != f.Err.Error() {
				files = append(files, f)
			}
			return nil
		}))
	})
	return files, peak
}

// Whatever a file was made to do, it gets one clear answer and little memory.
func TestHostileFilesTakeLittleMemory(t *testing.T) {
	for _, c := range []struct {
		name   string
		make   func() []byte
		points uint64
		rides  int
		why    string // of those that are no rides
		large  bool
	}{
		{"zip bomb", func() []byte { return copies(t, 20, make([]byte, maxBytes)) }, 0, 0, "grows more than 100-fold", true},
		{"gzip bombs", func() []byte { return copies(t, 20, zipped(t, make([]byte, maxBytes))) }, 0, 0, "grows more than 100-fold", true},
		{"just no gzip bombs", func() []byte { return copies(t, 4, zipped(t, thin(maxBytes-maxBytes/50))) }, 0, 0, "a text of more than 128 kB without a tag", true},
		{"just no zip bombs", func() []byte { return copies(t, 4, thin(maxBytes-1_000)) }, 0, 0, "a text of more than 128 kB without a tag", true},
		{"slow bomb", func() []byte { return slowBomb(t, 200) }, 0, 0, "grows more than 100-fold", false},
		{"large directory", func() []byte { return longDirectory(t) }, 0, 0, "with a directory of more than 4 MB", false},
		{"overlapping", func() []byte { return overlapping(t, gpxRide(1, 4_000), 5_000) }, 0, 0, "whose files overlap", false},
		{"archives in archives", func() []byte { return archivesInArchives(t, 20) }, 0, 1, "a zip archive within a zip archive", false},
		{"billion laughs", laughs, 30, 1, "", false},
		{"1 M points", func() []byte { return zipped(t, manyPoints(1_000_000)) }, 1_000_000, 1, "", true},
		{"1 M points and one", func() []byte { return manyPoints(1_000_001) }, 0, 0, "more than 1,000,000 points", true},
		{"GPX of 500 k points", func() []byte { return longGPX(500_000) }, 500_000, 1, "", true},
		{"GPX without content", func() []byte { return []byte("<gpx>" + strings.Repeat("<trkpt/>", maxPoints+1)) }, 0, 0, "1000001 track points", false},
		{"long comment", func() []byte { return []byte("<gpx><!--" + strings.Repeat("<>", 19<<20) + "--></gpx>") }, 0, 0, "a text of more than 128 kB without a tag", false},
		{"long attribute", func() []byte { return []byte("<gpx a='" + strings.Repeat(">", 20<<20) + "'></gpx>") }, 0, 0, "a text of more than 128 kB without a tag", false},
		{"text in pieces", func() []byte { return []byte("<gpx>" + strings.Repeat("text<!---->", maxBytes/12) + "</gpx>") }, 0, 0, "a text of more than 128 kB without a tag", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.large && raced {
				t.Skip("too large for the race detector")
			}
			files, peak := hostileRun(t, c.make, c.points)
			rides := 0
			for _, f := range files {
				rides += len(f.Rides)
				if f.Err != nil {
					require.NotEmpty(t, c.why, "%v", f.Err)
					assert.ErrorContains(t, f.Err, c.why)
					var refusal *RefusedError
					require.True(t, errors.As(f.Err, &refusal))
					assert.NotEmpty(t, refusal.Hint)
				}
			}
			assert.Equal(t, c.rides, rides)
			t.Logf("%d MB at most for %d points", peak>>20, c.points)
			assert.LessOrEqual(t, peak, heapBase+heapPoint*c.points)
		})
	}
}

func TestEntitiesAreNotExpanded(t *testing.T) {
	tracks, _, _, err := Read(laughs(), Options{})
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	assert.Len(t, tracks[0].Samples, 30)
	assert.Equal(t, "&l10;", tracks[0].Title)
	assert.Positive(t, Reduce(tracks[0], Model{}).Recorded[wear.Distance]+Reduce(tracks[0], Model{}).Estimated[wear.Distance])
}
