package ingest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
)

// BenchmarkGPX compares the two readers on an hour at one point a second.
func BenchmarkGPX(b *testing.B) {
	text, err := plainXML(rig.Make(rig.Spec{Seed: 1, Minutes: 60, Cadence: true, Power: true}).GPX())
	require.NoError(b, err)
	points := countTags(text, "trkpt")
	b.Run("gpxgo", func(b *testing.B) {
		b.SetBytes(int64(len(text)))
		b.ReportAllocs()
		for b.Loop() {
			require.NotNil(b, gpxgoFile(text, points))
		}
	})
	b.Run("streaming", func(b *testing.B) {
		b.SetBytes(int64(len(text)))
		b.ReportAllocs()
		for b.Loop() {
			f, err := streamGPX(text)
			require.NoError(b, err)
			require.Equal(b, points, f.points)
		}
	})
	b.Run("door", func(b *testing.B) {
		b.SetBytes(int64(len(text)))
		b.ReportAllocs()
		for b.Loop() {
			_, _, _, err := Read(text, Options{})
			require.NoError(b, err)
		}
	})
}
