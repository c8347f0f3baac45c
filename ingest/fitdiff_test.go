package ingest

import (
	"maps"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// misread names the real files in which the libraries are known to differ, and
// why. They are read by muktihari/fit.
var misread = map[string]string{
	"tormoder/python-fitparse/compressed-speed-distance.fit": "tormoder shifts compressed distances within a byte and keeps their sum for the next file",
}

// Both libraries agree on the samples and everything else that is taken from a
// file, wherever both read it, but for the known faults.
func TestFITLibrariesAgree(t *testing.T) {
	files := realFITs(t)
	both, points := 0, 0
	for _, name := range slices.Sorted(maps.Keys(files)) {
		parts, _ := cutFIT(files[name])
		for _, p := range parts {
			if p.check() != fitWhole || !p.activity() {
				continue
			}
			a, errA := p.byTormoder()
			b, errB := p.byMuktihari()
			if errA != nil || errB != nil {
				t.Logf("%s: tormoder: %v, muktihari: %v", name, errA, errB)
				continue
			}
			both, points = both+1, points+len(a.samples)
			if why, known := misread[name]; known {
				assert.NotEqual(t, lastDist(b), lastDist(a), "%s: no longer differs: %s", name, why)
				continue
			}
			sameFacts(t, name, a, b)
		}
	}
	t.Logf("%d parts and %d points read by both", both, points)
	assert.Greater(t, both, 20)
}

func lastDist(f *fitFacts) float64 { return f.samples[len(f.samples)-1].Dist }

func sameFacts(t *testing.T, name string, a, b *fitFacts) {
	t.Helper()
	sameSamples(t, name, a.samples, b.samples)
	a.samples, b.samples = nil, nil
	assert.Equal(t, a, b, name)
}

// sameSamples compares samples field by field; NaN equals NaN.
func sameSamples(t testing.TB, name string, a, b []Sample) {
	t.Helper()
	require.Len(t, b, len(a), name)
	for i := range a {
		require.Equal(t, a[i].T, b[i].T, "%s: sample %d", name, i)
		x, y := values(a[i]), values(b[i])
		for v := range x {
			require.True(t, x[v] == y[v] || math.IsNaN(x[v]) && math.IsNaN(y[v]),
				"%s: sample %d: value %d: %v and %v", name, i, v, x[v], y[v])
		}
	}
}

func values(s Sample) [7]float64 {
	return [7]float64{s.Lat, s.Lon, s.Alt, s.Dist, s.Speed, s.Cadence, s.Power}
}
