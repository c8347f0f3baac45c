//go:build unix

package store_test

import (
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
)

// TestFrozenFolder looks at a book in a folder that cannot be written, as a user
// whom the system does not let write.
func TestFrozenFolder(t *testing.T) {
	dir, err := os.MkdirTemp("", "frozen")
	require.NoError(t, err)
	t.Cleanup(func() {
		_ = os.Chmod(filepath.Join(dir, "in"), 0o755)
		_ = os.RemoveAll(dir)
	})
	require.NoError(t, os.Chmod(dir, 0o755))
	in := filepath.Join(dir, "in")
	require.NoError(t, os.Mkdir(in, 0o755))
	b := store.At(filepath.Join(in, "book"), store.Options{})
	withBike(t, b)
	for _, lock := range []string{".turn", ".lock"} {
		require.NoError(t, os.Remove(b.Path()+lock))
	}
	require.NoError(t, os.Chmod(b.Path(), 0o444))
	require.NoError(t, os.Chmod(in, 0o555))

	exe := filepath.Join(dir, "look")
	self, err := os.Executable()
	require.NoError(t, err)
	copyFile(t, self, exe, 0o755)
	cmd := exec.Command(exe)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), childEnv+"=frozen", bookEnv+"="+b.Path())
	if os.Geteuid() == 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	lines := strings.SplitN(string(out), "\n", 2)
	assert.Equal(t, "1", lines[0])
	assert.Contains(t, lines[1], "read-only")
}

func copyFile(t *testing.T, from, to string, mode os.FileMode) {
	t.Helper()
	src, err := os.Open(from)
	require.NoError(t, err)
	defer src.Close()
	dst, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, mode)
	require.NoError(t, err)
	_, err = io.Copy(dst, src)
	require.NoError(t, errors.Join(err, dst.Close()))
}
