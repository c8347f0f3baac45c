package ingest

import (
	"bytes"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// checkTaken fails unless tracks keep what readers promise to those who sum.
func checkTaken(t *testing.T, tracks []*Track, err error) {
	t.Helper()
	if err != nil {
		var refusal *RefusedError
		var not *NotRideError
		require.True(t, errors.As(err, &refusal) || errors.As(err, &not), "%T: %v", err, err)
		assert.Empty(t, tracks)
		return
	}
	require.NotEmpty(t, tracks)
	legs := map[int]bool{}
	for _, track := range tracks {
		assert.False(t, legs[track.Leg], "leg %d twice", track.Leg)
		legs[track.Leg] = true
	}
}

// checkGPX holds of every track that a GPX gave.
func checkGPX(t *testing.T, track *Track) {
	t.Helper()
	s := track.Samples
	require.GreaterOrEqual(t, len(s), 2)
	require.Equal(t, s[0].T, track.Start)
	require.Equal(t, s[len(s)-1].T, track.End)
	for i := range s {
		require.True(t, i == 0 || s[i].T > s[i-1].T, "times must rise")
		for _, v := range []float64{s[i].Lat, s[i].Lon, s[i].Alt, s[i].Dist, s[i].Speed, s[i].Cadence, s[i].Power} {
			require.True(t, math.IsNaN(v) || math.Abs(v) <= 1e7, "%v", v)
		}
	}
	for i, b := range track.Breaks {
		require.True(t, b > 0 && b < len(s) && (i == 0 || b > track.Breaks[i-1]), "break %d at %d", i, b)
	}
	load := Reduce(track, Model{})
	for q, amount := range load.Recorded.Add(load.Estimated) {
		require.GreaterOrEqual(t, amount, int64(0), "%v", wear.Quantity(q))
	}
}

func gpxSeeds(f *testing.F) [][]byte {
	seeds := [][]byte{[]byte(wrap(riddenGPX(4))), rig.Make(rig.Spec{Seed: 3, Minutes: 0.5, Cadence: true, Power: true}).GPX()}
	for _, data := range realGPX(f) {
		seeds = append(seeds, data[:min(len(data), 4_000)]) // small seeds mutate best
		if len(data) < 6_000 {
			seeds = append(seeds, data)
		}
	}
	return seeds
}

func FuzzGPX(f *testing.F) {
	for _, data := range gpxSeeds(f) {
		f.Add(data, 0.0)
		f.Add(data, 2.5)
	}
	f.Fuzz(func(t *testing.T, data []byte, hours float64) {
		on := wear.At(morning)
		tracks, err := readGPX(bytes.Clone(data), Options{Now: wear.At(morning), On: &on, Hours: hours})
		checkTaken(t, tracks, err)
		for _, track := range tracks {
			checkGPX(t, track)
		}
	})
}

func FuzzRead(f *testing.F) {
	for _, data := range gpxSeeds(f)[:8] {
		f.Add(data)
		f.Add(zipped(f, data))
	}
	f.Add(rig.Make(rig.Spec{Seed: 3, Minutes: 1}).FIT())
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		before := bytes.Clone(raw)
		tracks, hash, _, err := Read(raw, Options{})
		checkTaken(t, tracks, err)
		assert.NotZero(t, hash)
		assert.Equal(t, before, raw, "the bytes were changed")
	})
}
