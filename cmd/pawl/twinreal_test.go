package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// needs looks a program up; without it the test is skipped, but never where the
// checks of the project run.
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

// listedRide is a ride as ride list --json has it.
type listedRide struct {
	ID, Format, State, File string
	Bike                    *string
	Load                    struct{ Turns, Distance float64 }
	Estimated               []string
}

func listRides(t *testing.T, book string) []listedRide {
	t.Helper()
	var list struct{ Rides []listedRide }
	require.NoError(t, json.Unmarshal([]byte(pawl(t, "--book", book, "ride", "list", "--json")), &list))
	return list.Rides
}

// A real ride as FIT, and as GPX and TCX that another program made of it, counts
// once in whatever order the files come, with one bike and while none of two can
// be told; and it is what the FIT recorded that counts. The turns are the totals
// that the devices give.
func TestRealRideInThreeFormats(t *testing.T) {
	gpsbabel := needs(t, "gpsbabel")
	for name, turns := range map[string]float64{
		"bpg/garmin.fit": 8420,
		"dcrainmaker/Edge810-Vector-2013-08-16-15-35-10.fit": 6751,
	} {
		dir := t.TempDir()
		raw, err := os.ReadFile(filepath.Join(realFolders(t)[0], name))
		require.NoError(t, err)
		files := map[string]string{"fit": filepath.Join(dir, "ride.fit"), "gpx": filepath.Join(dir, "ride.gpx"), "tcx": filepath.Join(dir, "ride.tcx")}
		require.NoError(t, os.WriteFile(files["fit"], raw, 0o600))
		convert(t, gpsbabel, files["fit"], "gpx,garminextensions=1", files["gpx"])
		convert(t, gpsbabel, files["fit"], "gtrnctr,course=0,sport=Biking", files["tcx"])
		for _, bikes := range [][]string{{"one"}, {"one", "two"}} {
			for _, order := range []string{"fit gpx", "gpx fit", "fit tcx", "tcx fit", "gpx tcx fit", "fit tcx gpx"} {
				t.Run(filepath.Base(name)+" "+strings.Join(bikes, "+")+" "+order, func(t *testing.T) {
					t.Parallel()
					countsOnce(t, bikes, files, strings.Fields(order), turns)
				})
			}
		}
	}
}

func convert(t *testing.T, gpsbabel, from, format, to string) {
	t.Helper()
	out, err := exec.Command(gpsbabel, "-t", "-i", "garmin_fit", "-f", from, "-o", format, "-F", to).CombinedOutput()
	require.NoError(t, err, string(out))
}

// countsOnce watches the files come one after the other.
func countsOnce(t *testing.T, bikes []string, files map[string]string, order []string, turns float64) {
	dir, book := watchedYard(t)
	for _, bike := range bikes {
		pawl(t, "--book", book, "bike", "add", bike)
	}
	for _, format := range order {
		raw, err := os.ReadFile(files[format])
		require.NoError(t, err)
		putFile(t, filepath.Join(dir, "ride."+format), raw)
		passHastily(t, book, dir)
	}
	list := listRides(t, book)
	require.Len(t, list, len(order))
	for _, r := range list {
		if r.Format != "fit" {
			assert.Equal(t, "twin", r.State, r.Format)
			continue
		}
		assert.Equal(t, "counted", r.State)
		assert.InEpsilon(t, turns, r.Load.Turns, 0.001)
		assert.NotContains(t, r.Estimated, "turns")
		assert.Equal(t, len(bikes) == 1, r.Bike != nil)
	}
	assert.Contains(t, pawl(t, "--book", book, "audit"), "every sum agrees with the facts")
}
