//go:build unix

package config

import (
	"os"
	"syscall"
)

// mine reports whether a file belongs to the user who runs the program.
func mine(info os.FileInfo) bool {
	stat, ok := info.Sys().(*syscall.Stat_t)
	return ok && int64(stat.Uid) == int64(os.Geteuid())
}

// exposed reports whether others may read or change a file.
func exposed(info os.FileInfo) bool { return info.Mode().Perm()&0o077 != 0 }
