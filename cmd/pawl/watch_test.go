package main

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/desk"
	"pawl/store"
)

// watchedYard is an empty folder to watch and where a book is to be.
func watchedYard(t testing.TB) (dir, book string) {
	t.Helper()
	top := t.TempDir()
	dir = filepath.Join(top, "rides")
	require.NoError(t, os.Mkdir(dir, 0o755))
	return dir, filepath.Join(top, "the.book")
}

// A folder that goes and comes back is told of once each, another one is watched
// meanwhile, and every ride of before, meanwhile and after counts once.
func TestWatchWaitsForAFolder(t *testing.T) {
	dir, book := watchedYard(t)
	other := t.TempDir()
	said, _ := watchHastily(t, book, dir, other)
	putFile(t, filepath.Join(dir, "a.fit"), shortRide(0))
	waitForRides(t, book, said, shortRide(0))

	away := dir + ".away"
	require.NoError(t, os.Rename(dir, away))
	said.says(t, "level=WARN", "no such folder", "hint=")
	putFile(t, filepath.Join(other, "b.fit"), shortRide(1))
	putFile(t, filepath.Join(away, "c.fit"), shortRide(2)) // nobody watches it there
	waitForRides(t, book, said, shortRide(0), shortRide(1))

	require.NoError(t, os.Mkdir(dir, 0o755))
	said.says(t, "level=INFO", "back")
	putFile(t, filepath.Join(dir, "d.fit"), shortRide(3))
	waitForRides(t, book, said, shortRide(0), shortRide(1), shortRide(3))

	require.NoError(t, os.RemoveAll(dir))
	require.NoError(t, os.Rename(away, dir))
	putFile(t, filepath.Join(dir, "e.fit"), shortRide(4))
	waitForRides(t, book, said, shortRide(0), shortRide(1), shortRide(2), shortRide(3), shortRide(4))
	assert.LessOrEqual(t, said.lines("no such folder"), 2)
	assert.LessOrEqual(t, said.lines("back"), 2)
}

// A file that may not be read is noted, and taken once it may be.
func TestWatchTakesAFileThatMayBeRead(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("root may read every file")
	}
	dir, book := watchedYard(t)
	pawl(t, "--book", book, "bike", "add", "one")
	said, _ := watchHastily(t, book, dir)
	path := filepath.Join(dir, "a.fit")
	shut := filepath.Join(dir, ".a.fit")
	require.NoError(t, os.WriteFile(shut, shortRide(0), 0o000))
	require.NoError(t, os.Rename(shut, path))
	said.says(t, "level=WARN", "refused", "a.fit", "hint=")
	require.Contains(t, pawl(t, "--book", book, "ride", "list", "--refused"), "a.fit")
	putFile(t, filepath.Join(dir, "b.fit"), shortRide(1))
	waitForRides(t, book, said, shortRide(1))

	require.NoError(t, os.Chmod(path, 0o600))
	waitForRides(t, book, said, shortRide(0), shortRide(1))
	assert.Contains(t, pawl(t, "--book", book, "ride", "list", "--refused"), "No file was refused")
}

// Where another book takes the place of the one that is written to, such as an
// older copy of it, all files of the folders go into that, and the one that was
// there stays as it is.
func TestWatchGoesOnWithAnotherBook(t *testing.T) {
	dir, book := watchedYard(t)
	pawl(t, "--book", book, "bike", "add", "one")
	older := filepath.Join(t.TempDir(), "older.book")
	copyBook(t, book, older)
	said, _ := watchHastily(t, book, dir)
	putFile(t, filepath.Join(dir, "a.fit"), shortRide(0))
	waitForRides(t, book, said, shortRide(0))

	aside := book + "-aside"
	moveBook(t, book, aside)
	moveBook(t, older, book)
	putFile(t, filepath.Join(dir, "b.fit"), shortRide(1))
	waitForRides(t, book, said, shortRide(0), shortRide(1))
	waitForRides(t, aside, said, shortRide(0))

	moveBook(t, book, book+"-gone") // and with none: it waits for it
	putFile(t, filepath.Join(dir, "c.fit"), shortRide(2))
	require.Eventually(t, func() bool { return said.lines("it is gone") > 0 }, time.Minute, 10*time.Millisecond)
	require.NoFileExists(t, book)
	moveBook(t, book+"-gone", book)
	waitForRides(t, book, said, shortRide(0), shortRide(1), shortRide(2))
}

func moveBook(t *testing.T, from, to string) {
	t.Helper()
	require.NoError(t, os.Rename(from, to))
	if _, err := os.Stat(from + ".originals"); err == nil {
		require.NoError(t, os.Rename(from+".originals", to+".originals"))
	}
}

func copyBook(t *testing.T, from, to string) {
	t.Helper()
	raw, err := os.ReadFile(from)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(to, raw, 0o600))
	if _, err := os.Stat(from + ".originals"); err == nil {
		require.NoError(t, os.CopyFS(to+".originals", os.DirFS(from+".originals")))
	}
}

// A book that lies in the watched folder is left alone, also where it is named by
// a link to that folder: its own files are never taken for rides, which would be
// written down, by which they would change again.
func TestWatchLeavesItsBookAlone(t *testing.T) {
	for _, tt := range []struct{ name, book, watched string }{ // of rides, and of link, which leads there
		{"plain", "rides/the.book", "rides"},
		{"book by a link", "link/the.book", "rides"},
		{"folder by a link", "rides/the.book", "link"},
		{"both by a link", "link/the.book", "link"},
		{"through another folder", "rides/week/../the.book", "rides"},
		{"itself a link", "linked.book", "rides"},
		{"a folder above", "rides/week/the.book", "."},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir, _ := watchedYard(t)
			top := filepath.Dir(dir)
			require.NoError(t, os.Mkdir(filepath.Join(dir, "week"), 0o755))
			require.NoError(t, os.Symlink(dir, filepath.Join(top, "link")))
			require.NoError(t, os.Symlink(filepath.Join(dir, "the.book"), filepath.Join(top, "linked.book")))
			putFile(t, filepath.Join(dir, "ride.fit"), shortRide(0))

			book, watched := top+"/"+tt.book, top+"/"+tt.watched
			pawl(t, "--book", book, "bike", "add", "one")
			passHastily(t, book, watched)
			said := passHastily(t, book, watched)
			assert.NotContains(t, said.String(), "book")
			waitForRides(t, book, said, shortRide(0))
		})
	}
}

// A watch that begins while another program holds the book waits for it.
func TestWatchWaitsForTheBook(t *testing.T) {
	dir, book := watchedYard(t)
	putFile(t, filepath.Join(dir, "a.fit"), shortRide(0))
	said := &logged{}
	req := hastyRequest(book, []string{dir}, said)
	impatient := store.Options{Patience: 20 * time.Millisecond, Now: func() time.Time { return scriptTime("") }}
	req.Fresh = func() *desk.Desk { return &desk.Desk{Book: store.At(book, impatient), Now: scriptTime("")} }
	pawl(t, "--book", book, "bike", "add", "one")
	held, free := make(chan struct{}), make(chan struct{})
	go func() {
		assert.NoError(t, store.At(book, store.Options{}).Update(context.Background(), func(*store.Tx) error {
			close(held)
			<-free
			return nil
		}))
	}()
	<-held
	end := watchBy(t, req, said)
	said.says(t, "level=WARN", "the.book", "hint=")
	close(free)
	waitForRides(t, book, said, shortRide(0))
	end()
}
