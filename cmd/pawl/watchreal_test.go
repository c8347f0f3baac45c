package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/kit/hash/crc16"
	"github.com/muktihari/fit/profile/filedef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tkrajina/gpxgo/gpx"

	"pawl/store"
	"pawl/wear"
)

// A watch over every file that the pinned modules ship takes each intact ride of a
// bike, once, and says of all others why it did not; a second pass changes not a
// byte of the book. What is intact and of a bike is told by the libraries alone.
func TestWatchTakesRealFiles(t *testing.T) {
	tree, book := watchedYard(t)
	copyRealFiles(t, tree)
	pawl(t, "--book", book, "bike", "add", "any")
	said := passHastily(t, book, tree)

	paths := allFiles(t, tree)
	taken, refused := filesInBook(t, book), refusedIn(t, book)
	rides := 0
	for _, path := range paths {
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		why := said.lines("msg=", "file="+path+"\n") + said.lines("msg=", "file="+path+" ") + said.lines("msg=", "file="+strconv.Quote(path))
		_, in := taken[hashOf(raw)]
		switch is := isRide(raw); {
		case is:
			rides++
			assert.True(t, in, "%s: a library reads it as a ride of a bike\n%s", path, refused[path])
		case !in:
			assert.True(t, why > 0 || refused[path] != "", "%s: no reason is given", path)
		}
	}
	t.Logf("%d files, %d of them intact rides of a bike by a library, %d taken, %d noted as refused", len(paths), rides, len(taken), len(refused))
	assert.Greater(t, rides, 10)
	countedOnce(t, book)

	history, bytes := pawl(t, "--book", book, "history", "--entries", "1000"), bookBytes(t, book)
	passHastily(t, book, tree)
	assert.Equal(t, history, pawl(t, "--book", book, "history", "--entries", "1000"))
	assert.Equal(t, bytes, bookBytes(t, book))
	assert.Contains(t, pawl(t, "--book", book, "audit"), "every sum agrees with the facts")
}

// copyRealFiles copies them to a folder, those of each module in one of their own.
func copyRealFiles(t *testing.T, tree string) {
	t.Helper()
	for i, from := range realFolders(t) {
		require.NoError(t, os.CopyFS(filepath.Join(tree, fmt.Sprint(i)), os.DirFS(from)))
	}
}

func allFiles(t *testing.T, tree string) (paths []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(tree, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			paths = append(paths, path)
		}
		return err
	}))
	require.Greater(t, len(paths), 100)
	return paths
}

// filesInBook are where the files lay whose rides are in the book.
func filesInBook(t *testing.T, book string) map[wear.Hash]string {
	t.Helper()
	paths := map[wear.Hash]string{}
	require.NoError(t, store.At(book, store.Options{}).View(context.Background(), func(tx *store.Tx) error {
		for r, err := range tx.Rides(store.RideFilter{}) {
			if err != nil {
				return err
			}
			f, _, err := tx.File(r.File)
			if err != nil {
				return err
			}
			paths[r.File] = f.Folder + "/" + f.Name
		}
		return nil
	}))
	return paths
}

// refusedIn are the reasons of the files that the book has noted as refused.
func refusedIn(t *testing.T, book string) map[string]string {
	t.Helper()
	var list struct{ Refused []struct{ File, Why string } }
	require.NoError(t, json.Unmarshal([]byte(pawl(t, "--book", book, "ride", "list", "--refused", "--json")), &list))
	reasons := map[string]string{}
	for _, f := range list.Refused {
		assert.NotEmpty(t, f.Why, f.File)
		reasons[f.File] = f.Why
	}
	return reasons
}

func bookBytes(t *testing.T, book string) string {
	t.Helper()
	raw, err := os.ReadFile(book)
	require.NoError(t, err)
	return string(raw)
}

// isRide reports whether a library reads the file without an error as rides of a
// bike, with their times.
func isRide(raw []byte) bool {
	if len(raw) > 12 && string(raw[8:12]) == ".FIT" {
		return isFITRide(raw)
	}
	g, err := gpx.ParseBytes(raw)
	if err != nil || len(g.Tracks) == 0 {
		return false
	}
	for _, track := range g.Tracks {
		if !timedTrack(track) || !slices.Contains([]string{"", "cycling"}, strings.ToLower(track.Type)) {
			return false
		}
	}
	return true
}

func timedTrack(track gpx.GPXTrack) bool {
	n, last := 0, int64(0)
	for _, s := range track.Segments {
		for _, p := range s.Points {
			if p.Timestamp.Year() < 1990 || p.Timestamp.Unix() < last {
				return false
			}
			n, last = n+1, p.Timestamp.Unix()
		}
	}
	return n > 1
}

// isFITRide reads all parts of a file. The library takes a header's checksum of 0
// for a wrong one, so the checksums, which run over all of a part, are made here.
func isFITRide(raw []byte) bool {
	cycled := false
	for len(raw) > 0 {
		size := math.MaxInt
		if len(raw) > 12 {
			size = int(raw[0]) + int(binary.LittleEndian.Uint32(raw[4:])) + 2
		}
		if size > len(raw) || checksum(raw[:size]) != 0 {
			return false
		}
		fit, err := decoder.New(bytes.NewReader(raw[:size]), decoder.WithIgnoreChecksum()).Decode()
		if err != nil {
			return false
		}
		a := filedef.NewActivity(fit.Messages...)
		for _, s := range a.Sessions {
			cycled = cycled || s.Sport == typedef.SportCycling && len(a.Records) > 1 && a.FileId.Type == typedef.FileActivity
		}
		raw = raw[size:]
	}
	return cycled
}

func checksum(raw []byte) uint16 {
	sum := crc16.New()
	_, _ = sum.Write(raw) // it cannot fail
	return sum.Sum16()
}

// countedOnce finds no two counted rides of one bike that are one outing by their
// times and distances: this is not asked of the program.
func countedOnce(t *testing.T, book string) {
	t.Helper()
	var counted []wear.Ride
	twins := 0
	require.NoError(t, store.At(book, store.Options{}).View(context.Background(), func(tx *store.Tx) error {
		for r, err := range tx.Rides(store.RideFilter{}) {
			switch {
			case err != nil:
				return err
			case r.State == wear.Counted:
				counted = append(counted, r)
			case r.State == wear.Twin:
				twins++
			}
		}
		return nil
	}))
	for i, a := range counted {
		for _, b := range counted[:i] {
			assert.False(t, a.Bike == b.Bike && oneOuting(a, b), "rides %s and %s both count", a.ID, b.ID)
		}
	}
	t.Logf("%d rides count, %d are twins", len(counted), twins)
}

func oneOuting(a, b wear.Ride) bool {
	common := min(a.Start+wear.Instant(a.Elapsed), b.Start+wear.Instant(b.Elapsed)) - max(a.Start, b.Start)
	far := func(r wear.Ride) float64 {
		return float64(r.Recorded[wear.Distance] + r.Estimated[wear.Distance])
	}
	return float64(common) > 0.8*float64(min(a.Elapsed, b.Elapsed)) &&
		math.Abs(far(a)-far(b)) <= 0.1*max(far(a), far(b))
}
