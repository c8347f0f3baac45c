package main

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/desk/fleetrig"
	"pawl/ingest/rig"
)

// fleetAsks are whole commands on the book of a fleet.
var fleetAsks = []struct {
	name string
	args []string
}{
	{"due", []string{"due", "--json"}},
	{"stop-due", []string{"due", "--json", "--verdicts", "stop,due"}},
	{"one", []string{"due", "hire 00101", "--check"}},
	{"fleet", []string{"fleet", "--json"}},
	{"plan", []string{"fleet", "plan", "--json"}},
	{"orders", []string{"orders", "--json"}},
	{"costs", []string{"costs", "--json"}},
}

// The commands of a fleet as whole processes on a book of the size that
// fleetrig.Wanted says: milliseconds of each (medians) and of a start alone, one more
// ride typed and one more file imported, each with its syncs, bytes a ride of the whole
// file and after a backup. Beside them "due" of the same bikes with about a hundredth of
// the rides: "due-ratio" where they tell the same riding, so that as much is due, and
// "due-ratio-fresh" where the bikes were hardly ridden and little is.
func BenchmarkFleetProcess(b *testing.B) {
	exe := filepath.Join(b.TempDir(), "pawl")
	out, err := exec.Command("go", "build", "-o", exe, ".").CombinedOutput()
	require.NoError(b, err, string(out))
	size := fleetrig.Wanted()
	many, err := fleetrig.Cached(b.Context(), size)
	require.NoError(b, err)
	fewer := map[string]string{}
	for name, size := range map[string]fleetrig.Size{
		"due-few":   {Bikes: size.Bikes, Rides: size.Rides, Summed: true},
		"due-fresh": {Bikes: size.Bikes, Rides: max(size.Rides/100, size.Bikes*3)},
	} {
		fewer[name], err = fleetrig.Cached(b.Context(), size)
		require.NoError(b, err)
	}
	own := filepath.Join(b.TempDir(), "own.book")
	require.NoError(b, copyFleet(many, own))
	took := map[string][]time.Duration{}
	rides := 0
	ran(b, exe, own, "import", "-b", "hire 00101", rideFile(b, 0)) // so that its sensors tell the bike of those that come
	for b.Loop() {
		for _, ask := range fleetAsks {
			took[ask.name] = append(took[ask.name], ran(b, exe, many, append(ask.args, "--today", "2027-11-29")...))
		}
		for name, book := range fewer {
			took[name] = append(took[name], ran(b, exe, book, "due", "--json", "--today", "2027-11-29"))
		}
		for range 5 {
			rides++
			day := time.Date(2025, 12, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rides).Format(time.DateOnly)
			took["ride"] = append(took["ride"], ran(b, exe, own, "ride", "add", "hire 00101", "--on", day, "--km", "12", "--hours", "1", "--climb", "200"))
			took["start"] = append(took["start"], ran(b, exe, own, "version"))
			took["import"] = append(took["import"], ran(b, exe, own, "import", rideFile(b, rides)))
		}
	}
	for name, d := range took {
		b.ReportMetric(middle(d).Seconds()*1e3, "ms-"+name)
	}
	b.ReportMetric(middle(took["due"]).Seconds()/middle(took["due-few"]).Seconds(), "due-ratio")
	b.ReportMetric(middle(took["due"]).Seconds()/middle(took["due-fresh"]).Seconds(), "due-ratio-fresh")
	b.ReportMetric(bytesEach(b, many, size.Rides), "B/ride")
	backup := filepath.Join(b.TempDir(), "backup.book")
	ran(b, exe, many, "backup", backup)
	b.ReportMetric(bytesEach(b, backup, size.Rides), "B/ride-backup")
	b.ReportMetric(0, "ns/op")
}

// ran is how long a command took; that something is due, or a stop, is no failure.
func ran(b *testing.B, exe, book string, args ...string) time.Duration {
	b.Helper()
	cmd := exec.Command(exe, append([]string{"--book", book}, args...)...)
	cmd.Env = append(os.Environ(), "NO_COLOR=1")
	cmd.Stdout = io.Discard
	start := time.Now()
	err := cmd.Run()
	took := time.Since(start)
	if code := cmd.ProcessState.ExitCode(); code != exitDue && code != exitStop {
		require.NoError(b, err, args)
	}
	return took
}

// rideFile is the i-th FIT file of one bike: an hour and 50 minutes, 200 kB.
func rideFile(b *testing.B, i int) string {
	b.Helper()
	s := rig.Bench(i)
	s.Sensors = rig.Sensors(7)
	path := filepath.Join(b.TempDir(), "ride.fit")
	require.NoError(b, os.WriteFile(path, rig.Make(s).FIT(), 0o600))
	return path
}

func bytesEach(b *testing.B, path string, rides int) float64 {
	info, err := os.Stat(path)
	require.NoError(b, err)
	return float64(info.Size()) / float64(rides)
}

func copyFleet(from, to string) error {
	src, err := os.Open(from)
	if err != nil {
		return err
	}
	defer src.Close()
	dst, err := os.Create(to)
	if err != nil {
		return err
	}
	if _, err := io.Copy(dst, src); err != nil {
		return err
	}
	return dst.Close()
}
