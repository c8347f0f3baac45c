package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A watch whose book and originals cannot grow any more says so, keeps what is in,
// and takes the rest once there is room; nothing is lost and nothing is there
// twice. The limit is that of the process for any one file (setrlimit(2)), which
// fails with EFBIG where a full disk fails with ENOSPC.
func TestWatchWaitsForRoom(t *testing.T) {
	prlimit := needs(t, "prlimit")
	for _, room := range []int{0, 1, 40, 80} {
		t.Run(fmt.Sprintf("%d kB", room), func(t *testing.T) {
			t.Parallel()
			dir, book := watchedYard(t)
			pawl(t, "--book", book, "bike", "add", "one")
			info, err := os.Stat(book)
			require.NoError(t, err)
			said := &logged{}
			cmd := exec.Command("sh", "-c", `ulimit -S -f "$0" && exec "$@"`, strconv.FormatInt((info.Size()+int64(room)<<10)/512, 10), hastyLink(t), book, dir)
			cmd.Stderr = said
			require.NoError(t, cmd.Start())
			t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })

			rides := putRides(t, dir, 30)
			said.says(t, "level=WARN", syscall.EFBIG.Error())
			assert.Less(t, len(originalsIn(t, book)), len(rides))
			assert.Contains(t, pawl(t, "--book", book, "audit"), "every sum agrees with the facts")

			out, err := exec.Command(prlimit, "--pid", fmt.Sprint(cmd.Process.Pid), "--fsize=unlimited").CombinedOutput()
			require.NoError(t, err, string(out))
			waitForRides(t, book, said, rides...)
			toldOnce(t, said, len(rides))
			t.Logf("%d lines of trouble", said.lines(syscall.EFBIG.Error()))
		})
	}
}

// The same on a disk that is full, where one can be made.
func TestWatchWaitsForAFullDisk(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=2m"); err != nil {
		t.Skipf("no disk can be mounted: %v", err)
	}
	t.Cleanup(func() { require.NoError(t, syscall.Unmount(disk, 0)) })
	dir, book := t.TempDir(), filepath.Join(disk, "the.book")
	pawl(t, "--book", book, "bike", "add", "one")
	useUp(t, filepath.Join(disk, "ballast"))
	said, end := watchHastily(t, book, dir)
	rides := putRides(t, dir, 30)
	said.says(t, "level=WARN", syscall.ENOSPC.Error(), "hint=")
	assert.Empty(t, originalsIn(t, book))

	require.NoError(t, os.Remove(filepath.Join(disk, "ballast")))
	waitForRides(t, book, said, rides...)
	toldOnce(t, said, len(rides))
	end()
}

// toldOnce waits until so many rides were told of, and then finds no more.
func toldOnce(t *testing.T, said *logged, n int) {
	t.Helper()
	const ride = `msg="ride `
	require.Eventually(t, func() bool { return said.lines(ride) >= n }, longEnough, 5*time.Millisecond, said)
	time.Sleep(5 * hastySettle)
	assert.Equal(t, n, said.lines(ride), "each is told once: %s", said)
}

// useUp writes until there is no room.
func useUp(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	require.NoError(t, err)
	defer f.Close()
	block := make([]byte, 4096)
	for err == nil {
		_, err = f.Write(block)
	}
	require.ErrorIs(t, err, syscall.ENOSPC)
}
