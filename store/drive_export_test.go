package store

import "github.com/gofrs/flock"

// DriveOf finds the mount of a path in a mount table, and what is known against it.
func DriveOf(table, path string) (point, kind, why string) {
	m, _ := mountOf(table, path)
	return m.point, m.kind, m.unsafe()
}

// SetMounts gives a book another mount table.
func SetMounts(b *Book, path string) { b.mounts = path }

// SetSecondLock gives a book another way to try its lock a second time.
func SetSecondLock(b *Book, try func() (bool, error)) {
	b.second = func(*flock.Flock) (bool, error) { return try() }
}

// Probed reports whether the locks of a book were tried and hold.
func Probed(b *Book) bool { return b.probed.Load() }

// NoLocks reports whether an error says that a file system has no locks.
var NoLocks = noLocks
