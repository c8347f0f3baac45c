package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
)

// A watch that is killed at any moment while files arrive loses nothing and
// doubles nothing. Two watches are killed at 100 moments each, while the same 300
// files arrive for both, by every manner in which files do; one has a bike in its
// book, the other has to make its book. What a watch said that it took is in the
// book after every kill, no ride that was in it goes, and after a last pass of the
// real program every ride is there once, with its original.
func TestWatchSurvivesKills(t *testing.T) {
	files, kills := 300, 100
	if testing.Short() || raced {
		files, kills = 60, 15
		t.Logf("short or with the race detector: %d files and %d kills a watch instead of 300 and 100", files, kills)
	}
	rides := make([][]byte, files)
	for i := range rides {
		rides[i] = shortRide(i)
	}
	for seed, bike := range []string{"one", ""} {
		t.Run("bike "+bike, func(t *testing.T) {
			t.Parallel()
			c := newCourse(t, uint64(seed)+1, rides)
			if bike != "" {
				pawl(t, "--book", c.book, "bike", "add", bike)
			}
			c.run(t, kills)
			c.finish(t)
		})
	}
}

// course is one watch, killed again and again, and what arrives for it.
type course struct {
	exe, book, dir string
	rides          [][]byte
	rng            *rand.Rand
	told           map[string]bool // rides that a watch said it took
	in             int             // rides in the book
	silent         int             // kills before a watch said anything
	writing        int             // kills of one that had the book for writing
	gained         int             // kills of one that had taken a ride
}

func newCourse(t *testing.T, seed uint64, rides [][]byte) *course {
	dir := t.TempDir()
	c := &course{
		exe: hastyLink(t), book: filepath.Join(dir, "the.book"), dir: filepath.Join(dir, "rides"),
		rides: rides, rng: rand.New(rand.NewPCG(seed, 1)), told: map[string]bool{},
	}
	require.NoError(t, os.Mkdir(c.dir, 0o755))
	return c
}

// run kills a watch so often while the rides arrive, spread over the kills. The
// time within which to kill follows what the watch gets done, so that on a busy
// machine, too, about half of the kills come before it has taken a ride.
func (c *course) run(t *testing.T, kills int) {
	plan := c.plan()
	feed, fed := make(chan arrival, len(plan)), make(chan struct{})
	go func() {
		defer close(fed)
		for a := range feed {
			assert.NoError(t, a.come(c.dir))
		}
	}()
	for k, next, span := 0, 0, c.span(t); k < kills; k++ {
		for ; next < len(plan)*(k+1)/kills; next++ {
			feed <- plan[next]
		}
		if c.kill(t, time.Duration(c.rng.Float64()*float64(span))) {
			span = span * 10 / 13
		} else {
			span = span * 13 / 10
		}
	}
	close(feed)
	<-fed
	t.Logf("%d arrivals, %d kills: %d before a word, %d while writing, %d after taking a ride; %d rides were in",
		len(plan), kills, c.silent, c.writing, c.gained, c.in)
	assert.Positive(t, c.gained)
}

// span is the time within which to kill: three times what a watch takes here to
// start and take a ride.
func (c *course) span(t *testing.T) time.Duration {
	dir := t.TempDir()
	putFile(t, filepath.Join(dir, "a.fit"), c.rides[0])
	said := &logged{}
	cmd := exec.Command(c.exe, filepath.Join(t.TempDir(), "other.book"), dir)
	cmd.Stderr = said
	start := time.Now()
	require.NoError(t, cmd.Start())
	said.says(t, "ride ", "a.fit")
	took := time.Since(start)
	require.NoError(t, cmd.Process.Kill())
	_ = cmd.Wait() // it was killed
	return 3 * took
}

var tookLine = regexp.MustCompile(`(?m)msg="ride ([0-9a-f]{8})[ :].*\n`)

// kill lets a watch run for a while, kills it and looks at what it left. It reports
// whether it got anything done.
func (c *course) kill(t *testing.T, after time.Duration) bool {
	said := &logged{}
	cmd := exec.Command(c.exe, c.book, c.dir)
	cmd.Stderr = said
	require.NoError(t, cmd.Start())
	time.Sleep(after)
	require.NoError(t, cmd.Process.Kill(), "it ended by itself: %s", said)
	_ = cmd.Wait() // it was killed
	require.NotContains(t, said.String(), "level=ERROR")
	if said.String() == "" {
		c.silent++
	}
	if holder, err := os.Stat(c.book + ".lock"); err == nil && holder.Size() > 0 {
		c.writing++
		require.NoError(t, os.Truncate(c.book+".lock", 0)) // so that each is counted once
	}
	for _, m := range tookLine.FindAllStringSubmatch(said.String(), -1) {
		c.told[m[1]] = true
	}
	before := c.in
	c.look(t)
	if c.in > before {
		c.gained++
	}
	return c.in > before
}

// look finds in the book all that was said to be, and no less than before.
func (c *course) look(t *testing.T) {
	have := map[string]bool{}
	err := store.At(c.book, store.Options{}).View(context.Background(), func(tx *store.Tx) error {
		for r, err := range tx.Rides(store.RideFilter{}) {
			if err != nil {
				return err
			}
			have[r.ID.String()[:8]] = true
		}
		return nil
	})
	if len(c.told) > 0 || c.in > 0 {
		require.NoError(t, err)
	}
	for id := range c.told {
		require.True(t, have[id], "ride %s was said to be taken", id)
	}
	require.GreaterOrEqual(t, len(have), c.in)
	c.in = len(have)
}

// finish makes a last pass with the real program and finds every ride once.
func (c *course) finish(t *testing.T) {
	out, err := exec.Command(pawlProgram(t), "--book", c.book, "watch", "--once", c.dir).CombinedOutput()
	require.NoError(t, err, string(out))
	n := len(c.rides)
	assert.Contains(t, string(out), "0 not a ride, 0 refused")
	audit := pawl(t, "--book", c.book, "audit")
	assert.Contains(t, audit, fmt.Sprintf(" %d rides, %d files, %d originals", n, n, n))
	assert.Contains(t, audit, "every sum agrees with the facts")
	want := map[string]int{}
	for _, ride := range c.rides {
		want[string(ride)] = 1
	}
	assert.True(t, sameCounts(want, originalsIn(t, c.book)), "every ride once, with its own original")
	assert.True(t, sameCounts(want, filesIn(t, c.dir)), "the files are left as they are")
	assert.Len(t, filesInBook(t, c.book), n)
}

// filesIn are the bytes of the files in a folder, and how often each is there.
func filesIn(t *testing.T, dir string) map[string]int {
	t.Helper()
	found := map[string]int{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		raw, err := os.ReadFile(path)
		found[string(raw)]++
		return err
	}))
	return found
}

// arrival is some files that come together, and the manner in which they do.
type arrival struct {
	name   string
	files  [][]byte
	manner func(dir string, a arrival) error
	pauses []time.Duration
}

func (a arrival) come(dir string) error { return a.manner(dir, a) }

// plan deals out the rides to arrivals: most come alone, some in bursts of more
// than a dozen.
func (c *course) plan() (plan []arrival) {
	manners := []struct {
		most int
		come func(string, arrival) error
	}{{1, slowly}, {1, renamedIn}, {2, inNewFolder}, {4, asWholeFolder}, {16, atOnce}}
	for left := c.rides; len(left) > 0; {
		m := manners[c.rng.IntN(len(manners))]
		n := min(1+c.rng.IntN(m.most), len(left))
		a := arrival{name: fmt.Sprintf("%03d", len(c.rides)-len(left)), files: left[:n], manner: m.come}
		for range 6 {
			a.pauses = append(a.pauses, time.Duration(c.rng.IntN(40))*time.Millisecond)
		}
		plan, left = append(plan, a), left[n:]
	}
	return plan
}

// slowly writes a file in pieces with pauses between them.
func slowly(dir string, a arrival) error {
	f, err := os.Create(filepath.Join(dir, a.name+".fit"))
	if err != nil {
		return err
	}
	defer f.Close()
	data := a.files[0]
	for i, pause := range a.pauses {
		n := len(a.pauses)
		if _, err := f.Write(data[len(data)*i/n : len(data)*(i+1)/n]); err != nil {
			return err
		}
		time.Sleep(pause)
	}
	return f.Close()
}

// renamedIn writes a file under another name and gives it its own.
func renamedIn(dir string, a arrival) error {
	part := filepath.Join(dir, a.name+".fit.part")
	if err := os.WriteFile(part, a.files[0], 0o644); err != nil {
		return err
	}
	time.Sleep(a.pauses[0])
	return os.Rename(part, filepath.Join(dir, a.name+".fit"))
}

// inNewFolder makes a folder in a folder and puts the files there.
func inNewFolder(dir string, a arrival) error {
	folder := filepath.Join(dir, "week", a.name)
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	for i, data := range a.files {
		time.Sleep(a.pauses[i])
		if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("%d.fit", i)), data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// asWholeFolder moves a folder in that holds the files already.
func asWholeFolder(dir string, a arrival) error {
	outside := filepath.Join(filepath.Dir(dir), "stick-"+a.name)
	if err := inNewFolder(outside, a); err != nil {
		return err
	}
	return os.Rename(outside, filepath.Join(dir, "stick-"+a.name))
}

// atOnce writes the files one after the other without a pause.
func atOnce(dir string, a arrival) error {
	for i, data := range a.files {
		path := filepath.Join(dir, fmt.Sprintf("%s-%02d.fit", a.name, i))
		if err := os.WriteFile(path, data, 0o644); err != nil {
			return err
		}
	}
	return nil
}
