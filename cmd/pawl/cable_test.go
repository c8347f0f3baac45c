package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/store"
	"pawl/wear"
)

const (
	cableBook    = "the.book"
	cableFiles   = 12
	cableBatches = 3
)

// A power cut at any moment of three imports loses nothing that was acknowledged
// and spoils nothing. Ending a process does not show that: the system still
// writes what it was given. So the system calls of real runs are recorded, and
// for every moment the disks are made that the cut could have left (the model is
// told in cablemodel_test.go), and the book on each is opened and audited.
func TestPulledCable(t *testing.T) {
	c := recordCable(t)
	faults, images := c.try(t, c.ops, false)
	assert.Empty(t, faults)
	t.Logf("%d system calls, %d disks, %d of them imported to again", len(c.ops), images, c.again)
	assert.Greater(t, images, 200)
	assert.Positive(t, c.again)

	// The same recording with its order spoilt: each must be found out.
	for name, spoil := range map[string]func([]op) []op{
		"originals synced after the commit":   originalsLate,
		"pages not synced before the meta":    pagesUnsynced,
		"folder of the book not synced":       folderUnsynced,
		"said before it was done":             saidEarly,
		"the book made in place, not renamed": inPlace,
	} {
		t.Run(name, func(t *testing.T) {
			spoilt := spoil(c.ops)
			require.NotEqual(t, c.ops, spoilt)
			faults, images := c.try(t, bind(spoilt), true)
			require.NotEmpty(t, faults)
			t.Logf("after %d disks: %s", images, faults[0])
		})
	}
}

// cable is a recording and what its images have to hold.
type cable struct {
	ops   []op
	rides string         // folder of the ride files
	file  map[string]int // number of a ride file by its bytes
	seen  map[[sha256.Size]byte]found
	again int // images that were imported to again
}

// recordCable records how a book is made and the files imported, batch by batch.
func recordCable(t *testing.T) *cable {
	strace, exe := tracer(t), pawlProgram(t)
	c := &cable{rides: t.TempDir(), file: map[string]int{}, seen: map[[sha256.Size]byte]found{}}
	var paths []string
	for i := range cableFiles {
		spec := rig.Spec{Seed: uint64(i) + 1, Minutes: 4, Start: time.Date(2026, 1, 1+i, 8, 0, 0, 0, time.UTC), Cadence: true, Odometer: true}
		raw := rig.Make(spec).FIT()
		path := filepath.Join(c.rides, fmt.Sprintf("%02d.fit", i))
		require.NoError(t, os.WriteFile(path, raw, 0o600))
		paths, c.file[string(raw)] = append(paths, path), i
	}
	dir, err := filepath.EvalSymlinks(t.TempDir())
	require.NoError(t, err)
	book := filepath.Join(dir, cableBook)
	tr := &trace{dir: dir, known: map[string]bool{}}
	tr.run(t, strace, exe, "--book", book, "bike", "add", "one")
	for batch := range slices.Chunk(paths, cableFiles/cableBatches) {
		tr.run(t, strace, append([]string{exe, "--book", book, "import"}, batch...)...)
	}
	c.ops = bind(tr.ops)
	// The recording misses nothing: played to its end, it gives the files as they are.
	whole := replay(c.ops, loss{})
	require.Equal(t, readImage(t, dir), whole)
	require.Contains(t, whole, cableBook)
	require.Contains(t, whole, cableBook+".originals/000001.pack")
	said := 0
	for _, o := range c.ops {
		if o.kind == opSaid {
			said++
		}
	}
	require.Equal(t, 1+cableBatches, said)
	return c
}

// settled is how many runs a cut after n ops must leave whole: those that said
// so, and those whose last sync was done, with no change after it.
func settled(ops []op, n int) int {
	runs, last := 0, -1
	for i, o := range ops {
		switch {
		case o.change():
			last = -1
		case o.kind == opSync:
			last = i
		case o.kind == opSaid:
			if i < n || last >= 0 && last < n {
				runs++
			}
			last = -1
		}
	}
	return runs
}

// try cuts the power after each op and returns what is wrong with what is left,
// and how many different disks there were.
func (c *cable) try(t *testing.T, ops []op, first bool) (faults []string, images int) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "disk")
	tried := map[[sha256.Size]byte]bool{}
	for n := range len(ops) + 1 {
		rng := rand.New(rand.NewPCG(1, uint64(n)))
		for _, l := range losses(ops[:n], rng) {
			m := replay(ops[:n], l)
			sum := m.sum()
			tried[sum] = true
			is, known := c.seen[sum]
			if !known {
				is = c.look(t, m, dir)
				c.seen[sum] = is
			}
			if fault := is.lacks(settled(ops, n)); fault != "" {
				faults = append(faults, fmt.Sprintf("after %d ops, without %v of them, torn %v: %s", n, l.gone, l.torn, fault))
			}
			if len(faults) > 0 && first || len(faults) >= 200 {
				return faults, len(tried)
			}
		}
	}
	return faults, len(tried)
}

// found is what a disk holds.
type found struct {
	fault string // that is one whatever was done before
	book  bool
	rides [cableFiles]bool
}

// lacks says what is wrong where so many runs, the first of which makes the
// book, must be whole.
func (f found) lacks(runs int) string {
	switch {
	case f.fault != "":
		return f.fault
	case runs > 0 && !f.book:
		return "the book is lost"
	}
	for i := range max(runs-1, 0) * cableFiles / cableBatches {
		if !f.rides[i] {
			return fmt.Sprintf("ride %d is lost, of %d runs that were done", i, runs)
		}
	}
	return ""
}

// look opens the book of an image. Every tenth is also imported to again.
func (c *cable) look(t *testing.T, m image, dir string) found {
	t.Helper()
	m.write(t, dir)
	path := filepath.Join(dir, cableBook)
	f := c.holds(path)
	if f.fault == "" && len(c.seen)%10 == 0 {
		c.again++
		pawl(t, "--book", path, "import", c.rides)
		switch g := c.holds(path); {
		case g.fault != "":
			f.fault = "imported again: " + g.fault
		case g.rides != everyRide():
			f.fault = fmt.Sprintf("imported again: rides %v", g.rides)
		}
	}
	return f
}

func everyRide() (all [cableFiles]bool) {
	for i := range all {
		all[i] = true
	}
	return all
}

// holds audits a book and finds which rides are in it, each once, with the file
// that it came from.
func (c *cable) holds(path string) (f found) {
	b := store.At(path, store.Options{})
	report, err := b.Audit(context.Background())
	switch {
	case errors.Is(err, store.ErrNoBook):
		return f
	case err != nil:
		f.fault = err.Error()
		return f
	case !report.Clean():
		f.fault = fmt.Sprintf("audit: %q", report.Problems)
		return f
	}
	f.book = true
	err = b.View(context.Background(), func(tx *store.Tx) error {
		for r, err := range tx.Rides(store.RideFilter{}) {
			if err == nil {
				err = c.ride(tx, r, &f)
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		f.fault = err.Error()
	}
	return f
}

func (c *cable) ride(tx *store.Tx, r wear.Ride, f *found) error {
	raw, err := tx.Original(r.File)
	if err != nil {
		return err
	}
	i, known := c.file[string(raw)]
	if !known || f.rides[i] {
		return fmt.Errorf("ride %s: its original is none of the files, or it is there twice", r.ID)
	}
	f.rides[i] = true
	return nil
}
