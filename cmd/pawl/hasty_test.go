package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/desk"
	"pawl/ingest/rig"
	"pawl/store"
	"pawl/wear"
)

// hastyProgram is the name by which this test binary is a watch that waits for
// files less long than the real one: hasty BOOK DIR...
const hastyProgram = "hasty"

const (
	hastySettle = 20 * time.Millisecond
	longEnough  = 60 * time.Second // no test waits so long where all is well
)

// hastyRequest is a watch that logs to out, at the scripts' time.
func hastyRequest(book string, dirs []string, out io.Writer) desk.WatchRequest {
	return desk.WatchRequest{
		Dirs: dirs, Settle: hastySettle, Log: slog.New(slog.NewTextHandler(out, nil)),
		Fresh: func() *desk.Desk { return desk.Open(book, "UTC", hastyProgram, scriptTime("")) },
	}
}

// hasty is the program.
func hasty() {
	ctx, cancel := interruptible()
	defer cancel()
	_, err := desk.WatchFolders(ctx, hastyRequest(os.Args[1], os.Args[2:], os.Stderr))
	os.Exit(exitCode(err, os.Stderr))
}

// hastyLink is a test binary under that name.
func hastyLink(t testing.TB) string {
	t.Helper()
	link := filepath.Join(t.TempDir(), hastyProgram)
	require.NoError(t, os.Symlink(pawlProgram(t), link))
	return link
}

// logged is what a watch said so far.
type logged struct {
	mu   sync.Mutex
	text bytes.Buffer
}

// Write implements io.Writer.
func (l *logged) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

// String is all of it.
func (l *logged) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// says waits until a line holds all the words.
func (l *logged) says(t testing.TB, words ...string) {
	t.Helper()
	require.Eventually(t, func() bool { return l.lines(words...) > 0 }, longEnough, 5*time.Millisecond, "%q in\n%s", words, l)
}

// lines is how many lines hold all the words.
func (l *logged) lines(words ...string) (n int) {
	for line := range strings.Lines(l.String()) {
		if holdsAll(line, words) {
			n++
		}
	}
	return n
}

func holdsAll(line string, words []string) bool {
	for _, word := range words {
		if !strings.Contains(line, word) {
			return false
		}
	}
	return true
}

// watchHastily watches in this process until the test ends, or until end is called.
func watchHastily(t testing.TB, book string, dirs ...string) (said *logged, end func()) {
	t.Helper()
	said = &logged{}
	return said, watchBy(t, hastyRequest(book, dirs, said), said)
}

// watchBy is watchHastily for a request of one's own.
func watchBy(t testing.TB, req desk.WatchRequest, said *logged) (end func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() {
		_, err := desk.WatchFolders(ctx, req)
		ended <- err
	}()
	end = sync.OnceFunc(func() {
		cancel()
		require.NoError(t, <-ended, said)
	})
	t.Cleanup(end)
	return end
}

// passHastily makes one pass and returns what it said.
func passHastily(t testing.TB, book string, dirs ...string) *logged {
	t.Helper()
	said := &logged{}
	req := hastyRequest(book, dirs, said)
	req.Once = true
	_, err := desk.WatchFolders(context.Background(), req)
	require.NoError(t, err, said)
	return said
}

// shortRide is the i-th of 300 short rides, each of a day of its own.
func shortRide(i int) []byte {
	return rigShort(uint64(i)+1, time.Date(2026, 1, 1+i, 8, 0, 0, 0, time.UTC))
}

// rigShort is a ride of four minutes.
func rigShort(seed uint64, start time.Time) []byte {
	return rig.Make(rig.Spec{Seed: seed, Minutes: 4, Start: start, Cadence: true, Odometer: true}).FIT()
}

// putFile writes a file under a hidden name and gives it its own: it is there
// whole or not at all.
func putFile(t testing.TB, path string, data []byte) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
	part := filepath.Join(filepath.Dir(path), ".part-"+filepath.Base(path))
	require.NoError(t, os.WriteFile(part, data, 0o644))
	require.NoError(t, os.Rename(part, path))
}

// putRides puts the first n short rides into a folder.
func putRides(t testing.TB, dir string, n int) (rides [][]byte) {
	t.Helper()
	for i := range n {
		rides = append(rides, shortRide(i))
		putFile(t, filepath.Join(dir, fmt.Sprintf("%03d.fit", i)), rides[i])
	}
	return rides
}

// originalsIn are the bytes of the files whose rides count in a book, and how
// many rides each brought; no book has none.
func originalsIn(t testing.TB, book string) map[string]int {
	t.Helper()
	found := map[string]int{}
	err := store.At(book, store.Options{}).View(context.Background(), func(tx *store.Tx) error {
		for r, err := range tx.Rides(store.RideFilter{States: []wear.State{wear.Counted}}) {
			if err != nil {
				return err
			}
			raw, err := tx.Original(r.File)
			if err == nil && hashOf(raw) != r.File {
				err = fmt.Errorf("its original has the hash %s", hashOf(raw))
			}
			if err != nil {
				return fmt.Errorf("ride %s: %w", r.ID, err)
			}
			found[string(raw)]++
		}
		return nil
	})
	if !errors.Is(err, store.ErrNoBook) {
		require.NoError(t, err)
	}
	return found
}

// waitForRides waits until each of the files counts in the book, once, and none else.
func waitForRides(t testing.TB, book string, said fmt.Stringer, files ...[]byte) {
	t.Helper()
	want := map[string]int{}
	for _, f := range files {
		want[string(f)] = 1
	}
	require.Eventually(t, func() bool { return len(originalsIn(t, book)) >= len(want) }, longEnough, 20*time.Millisecond, said)
	require.True(t, sameCounts(want, originalsIn(t, book)), "%s", said)
	require.Contains(t, pawl(t, "--book", book, "audit"), "every sum agrees with the facts")
}

// hashOf is the name of a file in the book, made anew.
func hashOf(raw []byte) wear.Hash {
	sum := sha256.Sum256(raw)
	return wear.Hash(sum[:len(wear.Hash{})])
}

func sameCounts(want, have map[string]int) bool {
	for file, n := range want {
		if have[file] != n {
			return false
		}
	}
	return len(want) == len(have)
}
