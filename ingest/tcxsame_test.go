package ingest

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// sameLoad requires two formats of one ride to give the same load: within 1 %
// in way and time, within turns in those, within 10 % in height.
func sameLoad(t *testing.T, fit, other Outcome, turns float64) {
	t.Helper()
	for _, c := range []struct {
		q      wear.Quantity
		within float64
	}{{wear.Distance, 0.01}, {wear.Moving, 0.01}, {wear.Turns, turns}, {wear.Climb, 0.1}, {wear.Descent, 0.1}} {
		want, got := (fit.Recorded[c.q] + fit.Estimated[c.q]), (other.Recorded[c.q] + other.Estimated[c.q])
		t.Logf("%-8v %9d, %+.2f %%", c.q, want, 100*(float64(got)/float64(want)-1))
		assert.InEpsilon(t, want, got, c.within, c.q.String())
	}
	for _, q := range []wear.Quantity{wear.Distance, wear.Moving, wear.Turns} {
		assert.NotZero(t, other.Recorded[q], "%v recorded", q)
	}
}

func outcomeOf(t *testing.T, data []byte, format wear.Format) Outcome {
	t.Helper()
	tracks, _, is, err := Read(data, Options{})
	require.NoError(t, err)
	require.Equal(t, format, is)
	require.Len(t, tracks, 1)
	return Reduce(tracks[0], Model{})
}

func TestOneRideInThreeFormatsIsOneLoad(t *testing.T) {
	for seed := range uint64(10) {
		spec := rig.Full(100 + seed)
		spec.Minutes, spec.Pauses, spec.Stands = 60+10*float64(seed), int(seed), 3
		spec.Odometer = seed%4 != 3 // where not, positions are the way
		threeFormats(t, spec, 0.01)
	}
}

// A device that records every one to eight seconds misses what the cadence did
// between: the turns of its samples are up to 2 % off those that it counted, in
// whatever format.
func TestOneSparseRideInThreeFormatsIsOneLoad(t *testing.T) {
	for seed := range uint64(5) {
		spec := rig.Full(200 + seed)
		spec.Minutes, spec.Pauses, spec.Smart = 120, 2, true
		threeFormats(t, spec, 0.02)
	}
}

func threeFormats(t *testing.T, spec rig.Spec, turns float64) {
	ride := rig.Make(spec)
	fit := outcomeOf(t, ride.FIT(), wear.FIT)
	t.Run(fmt.Sprintf("GPX of %d", spec.Seed), func(t *testing.T) { sameLoad(t, fit, outcomeOf(t, ride.GPX(), wear.GPX), turns) })
	t.Run(fmt.Sprintf("TCX of %d", spec.Seed), func(t *testing.T) { sameLoad(t, fit, outcomeOf(t, ride.TCX(), wear.TCX), turns) })
}

// Two real rides as another program writes them: it keeps neither timer stops
// nor the device's odometer, and leaves out every cadence and power of zero.
func TestRealRidesConvertedByGpsbabelAreTheSameLoad(t *testing.T) {
	program := needs(t, "gpsbabel")
	files := realFITs(t)
	for _, name := range []string{"tormoder/bpg/garmin.fit", "tormoder/dcrainmaker/Edge810-Vector-2013-08-16-15-35-10.fit"} {
		from := filepath.Join(t.TempDir(), "ride.fit")
		require.NoError(t, os.WriteFile(from, files[name], 0o600))
		fit := outcomeOf(t, files[name], wear.FIT)
		for _, to := range []struct {
			writer string
			format wear.Format
		}{{"gpx,garminextensions=1", wear.GPX}, {"gtrnctr,course=0,sport=Biking", wear.TCX}} {
			t.Run(filepath.Base(name)+" as "+to.format.String(), func(t *testing.T) {
				data, err := exec.Command(program, "-t", "-i", "garmin_fit", "-f", from, "-o", to.writer, "-F", "-").Output()
				require.NoError(t, err)
				sameLoad(t, fit, outcomeOf(t, data, to.format), 0.01)
			})
		}
	}
}

// The sums of the laps of a TCX are the device's own: they win over steps where
// they fit, as those of a FIT do.
func TestLapsOfATCXGiveTheTotals(t *testing.T) {
	ride := rig.Make(rig.Full(7))
	tracks, err := readTCX(ride.TCX(), Options{})
	require.NoError(t, err)
	assert.InDelta(t, ride.Truth.Distance, tracks[0].Totals.Distance, 0.01)
	assert.InDelta(t, ride.Truth.Timer, tracks[0].Totals.Moving, 1e-9)
	assert.True(t, math.IsNaN(tracks[0].Totals.Climb))
	assert.Len(t, tracks[0].Pauses, len(ride.Pauses))
	assert.Equal(t, wear.Sensor{Name: "trail recorder", Serial: ride.Spec.Serial, Product: 1}, tracks[0].Device)
}
