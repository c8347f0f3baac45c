package ingest

import (
	"bytes"
	"errors"
	"path"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/tormoder/fit"
)

// FuzzFIT feeds the door with mutated files, sealed again so that the checksum
// does not stop what the decoders should see: no panic, a reason with every
// refusal, and every track keeps its promises. Run it with -fuzzminimizetime 1x:
// shrinking a real file to what is interesting in it takes longer than a run.
func FuzzFIT(f *testing.F) {
	for _, data := range realFITs(f) {
		if len(data) < 200_000 {
			f.Add(data)
		}
	}
	f.Add(fitRide(20))
	f.Add(fitPackedRide(20))
	f.Add(triathlon(true, true, true))
	f.Fuzz(func(t *testing.T, data []byte) {
		door(t, data, false)
		door(t, data, true)
		if parts, _ := cutFIT(data); len(parts) > 0 && parts[0].flaw == fitWhole {
			head, end := int(data[0]), len(parts[0].bytes)-fitChecksumSize
			door(t, sealFIT(data[head:end], head, head == 14), false)
		}
	})
}

// door reads a file and asserts what the door promises whatever it is.
func door(t *testing.T, data []byte, salvage bool) {
	tracks, err := openFIT(data, salvage)
	var no *NotRideError
	var bad *RefusedError
	switch {
	case err == nil:
		require.NotEmpty(t, tracks)
	case errors.As(err, &no):
		require.NotEmpty(t, no.Why)
	case errors.As(err, &bad):
		require.NotEmpty(t, bad.Hint)
	default:
		t.Fatalf("an error of no kind: %v", err)
	}
	for _, tr := range tracks {
		checkTrack(t, "fuzzed", tr)
	}
}

// The door against decoding alone by the same library, turn by turn on the same
// bytes. door/bare is the ratio of the shortest times, which a busy machine
// disturbs least.
func BenchmarkFIT(b *testing.B) {
	files := realFITs(b)
	for _, name := range []string{"bpg/garmin.fit", "python-fitparse/garmin-edge-500-activitiy.fit",
		"dcrainmaker/Edge810-Vector-2013-08-16-15-35-10.fit"} {
		data := files["tormoder/"+name]
		b.Run(path.Base(name), func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			bare, door := time.Hour, time.Hour
			for b.Loop() {
				start := time.Now()
				_, err := fit.Decode(bytes.NewReader(data))
				middle := time.Now()
				_, errDoor := readFIT(data, Options{})
				bare, door = min(bare, middle.Sub(start)), min(door, time.Since(middle))
				require.NoError(b, err)
				require.NoError(b, errDoor)
			}
			b.ReportMetric(float64(door)/float64(bare), "door/bare")
			b.ReportMetric(float64(door.Microseconds())/1000, "door-ms")
		})
	}
}
