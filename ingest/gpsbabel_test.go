package ingest

import (
	"encoding/xml"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// needs looks a program up; without it the test is skipped, but never where
// the checks of the project run.
func needs(t *testing.T, program string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is not installed", program)
		}
		t.Skipf("%s is not installed", program)
	}
	return path
}

// gpsbabelMetres is the distance that gpsbabel gives a GPX: the sum of the laps
// of its TCX writer (great circles on a sphere).
func gpsbabelMetres(t *testing.T, program, path string) float64 {
	t.Helper()
	out, err := exec.Command(program, "-t", "-i", "gpx", "-f", path, "-o", "gtrnctr", "-F", "-").Output()
	require.NoError(t, err)
	var courses struct {
		Laps []struct {
			DistanceMeters float64
		} `xml:"Courses>Course>Lap"`
	}
	require.NoError(t, xml.Unmarshal(out, &courses))
	require.NotEmpty(t, courses.Laps)
	sum := 0.0
	for _, lap := range courses.Laps {
		sum += lap.DistanceMeters
	}
	return sum
}

// Distances from positions against another program's, within 0.6 %: the sphere
// alone is off by up to 0.5 % on the ellipsoid.
func TestDistanceAgreesWithGpsbabel(t *testing.T) {
	program := needs(t, "gpsbabel")
	dir := moduleDir(t, "github.com/tkrajina/gpxgo")
	made := filepath.Join(t.TempDir(), "made.gpx")
	ride := rig.Make(rig.Spec{Seed: 11, Km: 12, Quiet: true})
	require.NoError(t, os.WriteFile(made, ride.GPX(), 0o600))
	for name, path := range map[string]string{
		"a real ride": filepath.Join(dir, "test_files", "visnjan.gpx"),
		"a made ride": made,
	} {
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		tracks, _, _, err := Read(raw, Options{})
		require.NoError(t, err, name)
		require.Len(t, tracks, 1, name)
		load := Reduce(tracks[0], Model{IgnoreTotals: true}).Recorded
		want := gpsbabelMetres(t, program, path)
		assert.InEpsilon(t, want, load.SI(wear.Distance), 0.006, name)
		t.Logf("%s: %.0f m, gpsbabel %.0f m", name, load.SI(wear.Distance), want)
	}
}
