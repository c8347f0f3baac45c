//go:build linux || darwin

package desk

import "syscall"

// pagesFromDisk counts the pages that this process has had to wait for.
func pagesFromDisk() int64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return int64(u.Majflt)
}
