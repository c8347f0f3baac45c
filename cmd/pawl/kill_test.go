package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
)

// pawlProgram is a test binary under the name by which it runs pawl.
func pawlProgram(t testing.TB) string {
	t.Helper()
	link := filepath.Join(t.TempDir(), "pawl")
	require.NoError(t, os.Symlink(testProgram(t), link))
	return link
}

// An import that is killed at any moment loses nothing and doubles nothing: 50
// imports of 250 files (two batches or more) are killed at random moments; the
// audit is clean each time, and after a last whole import every ride is there
// once, with its original.
func TestImportSurvivesKills(t *testing.T) {
	if testing.Short() {
		t.Skip("kills 50 processes")
	}
	const files, kills = 250, 50
	dir := t.TempDir()
	for i := range files {
		spec := rig.Spec{Seed: uint64(i) + 1, Minutes: 4, Start: time.Date(2026, 1, 1+i, 8, 0, 0, 0, time.UTC), Cadence: true, Odometer: true}
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%03d.fit", i)), rig.Make(spec).FIT(), 0o600))
	}
	exe := pawlProgram(t)
	whole := timeOf(t, exe, filepath.Join(t.TempDir(), "whole.book"), dir)
	rng := rand.New(rand.NewPCG(1, 2))
	midway := 0
	for range kills / 5 {
		book := filepath.Join(t.TempDir(), "the.book")
		pawl(t, "--book", book, "bike", "add", "one")
		for range 5 {
			killImport(t, exe, book, dir, time.Duration(rng.Float64()*float64(whole)))
			assert.Contains(t, pawl(t, "--book", book, "audit"), "every sum agrees with the facts")
		}
		if n := ridesIn(t, book); n > 0 && n < files {
			midway++
		}
		first := importJSON(t, "--book", book, "import", "--json", dir)
		assert.Equal(t, files, first.Taken+first.Known)
		assert.Equal(t, files, ridesIn(t, book))
		assert.Contains(t, pawl(t, "--book", book, "audit"), fmt.Sprintf("%d rides, %d files, %d originals", files, files, files))
	}
	t.Logf("%d of %d books were left half filled", midway, kills/5)
}

// timeOf is how long a whole import takes here, to aim the kills.
func timeOf(t *testing.T, exe, book, dir string) time.Duration {
	t.Helper()
	start := time.Now()
	out, err := exec.Command(exe, "--book", book, "import", dir).CombinedOutput()
	require.NoError(t, err, string(out))
	return time.Since(start)
}

func killImport(t *testing.T, exe, book, dir string, after time.Duration) {
	t.Helper()
	cmd := exec.Command(exe, "--book", book, "import", dir)
	cmd.Stdout, cmd.Stderr = new(bytes.Buffer), new(bytes.Buffer)
	require.NoError(t, cmd.Start())
	time.Sleep(after)
	_ = cmd.Process.Kill() // it may have ended by itself
	_ = cmd.Wait()
}

func ridesIn(t *testing.T, book string) int {
	t.Helper()
	var list struct{ Rides []json.RawMessage }
	require.NoError(t, json.Unmarshal([]byte(pawl(t, "--book", book, "ride", "list", "--json")), &list))
	return len(list.Rides)
}
