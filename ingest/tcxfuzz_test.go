package ingest

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

func tcxSeeds() [][]byte {
	small := rig.Make(rig.Spec{Seed: 3, Minutes: 0.5, Cadence: true, Power: true, Odometer: true}).TCX()
	seeds := [][]byte{small, small[:len(small)/2], rig.Make(rig.Spec{Seed: 4, Minutes: 3, Pauses: 2}).TCX()}
	for _, text := range []string{
		wrapTCX(activityTCX("Biking", lapTCX(riddenTCX(0, 4))+lapTCX(riddenTCX(16, 3)+riddenTCX(60, 3))), activityTCX("Running", "")),
		wrapTCX(activityTCX("Other", lapTCX("<TotalTimeSeconds>60</TotalTimeSeconds><DistanceMeters>500</DistanceMeters>"))),
		`<TrainingCenterDatabase><Courses><Course><Lap/>` + riddenTCX(0, 3) + `</Course></Courses></TrainingCenterDatabase>`,
		strings.ReplaceAll(wrapTCX(activityTCX("Biking", lapTCX(riddenTCX(0, 4)))), "Time>", "Tim>"),
	} {
		seeds = append(seeds, []byte(text))
	}
	return seeds
}

// checkTCX holds of every track that a TCX gave.
func checkTCX(t *testing.T, track *Track) {
	t.Helper()
	require.LessOrEqual(t, track.Start, track.End)
	if len(track.Samples) > 0 {
		checkGPX(t, track)
	}
	for _, p := range track.Pauses {
		require.Less(t, p.From, p.To)
		require.True(t, p.From >= track.Start && p.To <= track.End, "pause %v", p)
	}
	load := Reduce(track, Model{})
	for q, amount := range load.Recorded.Add(load.Estimated) {
		require.GreaterOrEqual(t, amount, int64(0), "%v", wear.Quantity(q))
	}
}

// FuzzTCX: no panic, a reason with every refusal, every track keeps its
// promises. Run it with -fuzzminimizetime 1x.
func FuzzTCX(f *testing.F) {
	for _, data := range tcxSeeds() {
		f.Add(data, 0.0, false)
		f.Add(data, 2.5, true)
	}
	f.Fuzz(func(t *testing.T, data []byte, hours float64, salvage bool) {
		on := wear.At(morning)
		tracks, err := readTCX(bytes.Clone(data), Options{Now: on, On: &on, Hours: hours, Salvage: salvage})
		checkTaken(t, tracks, err)
		for _, track := range tracks {
			checkTCX(t, track)
		}
	})
}

// BenchmarkTCX reads an hour at one point a second.
func BenchmarkTCX(b *testing.B) {
	text := rig.Make(rig.Spec{Seed: 1, Minutes: 60, Cadence: true, Power: true, Odometer: true}).TCX()
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		_, _, _, err := Read(text, Options{})
		require.NoError(b, err)
	}
}
