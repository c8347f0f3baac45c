package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// tidy runs the tests and removes what they shared.
type tidy struct{ *testing.M }

// Run implements testscript.TestingM.
func (t tidy) Run() int {
	defer func() {
		if shared.made {
			_ = os.RemoveAll(shared.dir)
		}
	}()
	return t.M.Run()
}

// shared is the folder of what several tests only read.
var shared struct {
	once sync.Once
	made bool
	dir  string
	err  error
}

func sharedDir(t testing.TB) string {
	t.Helper()
	shared.once.Do(func() {
		shared.dir, shared.err = os.MkdirTemp("", "pawl-test-")
		shared.made = shared.err == nil
	})
	require.NoError(t, shared.err)
	return shared.dir
}

var madeDemo sync.Once

// demoBook is the book of the demo, made once: a test that writes takes a copy.
func demoBook(t testing.TB) (book string) {
	t.Helper()
	dir := filepath.Join(sharedDir(t), "demo")
	madeDemo.Do(func() { pawl(t, "demo", "--dir", dir) })
	book = filepath.Join(dir, "demo.book")
	require.FileExists(t, book, "an earlier test could not make the demo")
	return book
}

// packageDir is where the tests began: some go elsewhere.
var packageDir, _ = os.Getwd()

// plainTests is this test binary without the race detector, which watches one
// process only and would have the others take ten times as long.
var plainTests struct {
	once sync.Once
	exe  string
	err  error
}

// testProgram is a test binary that is pawl, or another program of these tests,
// when it runs under its name.
func testProgram(t testing.TB) string {
	t.Helper()
	if !raced {
		exe, err := os.Executable()
		require.NoError(t, err)
		return exe
	}
	dir := sharedDir(t)
	plainTests.once.Do(func() {
		plainTests.exe = filepath.Join(dir, "plain.test")
		cmd := exec.Command("go", "test", "-c", "-o", plainTests.exe, ".")
		cmd.Dir = packageDir
		if out, err := cmd.CombinedOutput(); err != nil {
			plainTests.err = fmt.Errorf("%w: %s", err, out)
		}
	})
	require.NoError(t, plainTests.err)
	return plainTests.exe
}
