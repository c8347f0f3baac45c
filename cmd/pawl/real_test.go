package main

import (
	"encoding/json"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// realFolders are the ride files that the pinned modules ship with themselves.
func realFolders(t *testing.T) []string {
	t.Helper()
	var dirs []string
	for _, m := range [][2]string{
		{"github.com/tormoder/fit", "testdata"},
		{"github.com/muktihari/fit", "testdata"},
		{"github.com/tkrajina/gpxgo", "test_files"},
	} {
		out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", m[0]).Output()
		require.NoError(t, err, m[0])
		dir := strings.TrimSpace(string(out))
		require.NotEmpty(t, dir, "%s is not in the module cache: go mod download", m[0])
		dirs = append(dirs, filepath.Join(dir, m[1]))
	}
	return dirs
}

type importAnswer struct {
	Taken, Known, Refused int
	NotRides              int `json:"not_rides"`
	Files                 []struct {
		File, Outcome, Why string
		Rides              []string
	}
}

func importJSON(t *testing.T, words ...string) (a importAnswer) {
	t.Helper()
	require.NoError(t, json.Unmarshal([]byte(pawl(t, words...)), &a))
	return a
}

// Every file that the pinned modules ship is taken, or is refused or no ride
// with a reason; the second time none is taken, and nothing was lost.
func TestRealFilesAreTakenOrExplained(t *testing.T) {
	book := filepath.Join(t.TempDir(), "real.book")
	words := append([]string{"--book", book, "import", "--json"}, realFolders(t)...)
	pawl(t, "--book", book, "bike", "add", "any")
	first := importJSON(t, words...)
	t.Logf("%d taken, %d known, %d no rides, %d refused", first.Taken, first.Known, first.NotRides, first.Refused)
	assert.Equal(t, len(first.Files), first.Taken+first.Known+first.NotRides+first.Refused)
	assert.Greater(t, first.Taken, 15)
	rides := map[string]bool{}
	for _, f := range first.Files {
		switch f.Outcome {
		case "taken", "known", "twin":
			assert.NotEmpty(t, f.Rides, f.File)
			for _, id := range f.Rides {
				rides[id] = true
			}
		case "not_ride", "refused":
			assert.NotEmpty(t, f.Why, f.File)
		default:
			assert.Fail(t, "outcome", "%s: %q", f.File, f.Outcome)
		}
	}
	second := importJSON(t, words...)
	assert.Zero(t, second.Taken)
	assert.Equal(t, first.Taken+first.Known, second.Known)
	var list struct{ Rides []struct{ ID string } }
	require.NoError(t, json.Unmarshal([]byte(pawl(t, "--book", book, "ride", "list", "--json")), &list))
	assert.Len(t, list.Rides, len(rides))
	assert.Contains(t, pawl(t, "--book", book, "audit"), "every sum agrees with the facts")
}
