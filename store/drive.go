package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"

	"github.com/gofrs/flock"
)

// mountTable is where Linux says what is mounted; other systems have no such file.
const mountTable = "/proc/self/mountinfo"

// mount is one line of the mount table.
type mount struct {
	point, kind, source string
	options             []string // of the mount and of the file system
}

// mountOf finds the mount that a path without links lies on: the longest mount
// point that contains it, and of equals the last, which hides those before it.
// The form of the text is that of proc_pid_mountinfo(5): six fields, optional
// ones up to a dash, then type, source and the options of the file system.
// Lines of another form are passed over.
func mountOf(table, path string) (m mount, found bool) {
	var line []string
	longest := -1
	for text := range strings.Lines(table) {
		fields := strings.Fields(text)
		if len(fields) < 10 {
			continue
		}
		if point := unescape(fields[4]); len(point) >= longest && contains(point, path) {
			line, longest = fields, len(point)
		}
	}
	dash := slices.Index(line, "-")
	if dash < 6 || len(line) < dash+4 {
		return mount{}, false
	}
	return mount{
		point: unescape(line[4]), kind: unescape(line[dash+1]), source: unescape(line[dash+2]),
		options: strings.Split(line[5]+","+line[dash+3], ","),
	}, true
}

// contains reports whether path is folder or below it.
func contains(folder, path string) bool {
	rest, below := strings.CutPrefix(path, folder)
	return below && (rest == "" || rest[0] == '/' || folder == "/")
}

// unescape undoes the \ooo by which the mount table writes blanks and backslashes.
func unescape(s string) string {
	if !strings.Contains(s, `\`) {
		return s
	}
	var out strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] == '\\' && i+4 <= len(s) {
			if c, err := strconv.ParseUint(s[i+1:i+4], 8, 8); err == nil {
				out.WriteByte(byte(c))
				i += 3
				continue
			}
		}
		out.WriteByte(s[i])
	}
	return out.String()
}

// localLocks are the drives on which the system grants locks that no other
// machine learns of, each with the option that makes it so; "" = always. That
// two programs of one machine keep each other out there is not enough: the same
// book may be open elsewhere. No type is here that some virtual machine has for
// all its disks (9p, virtiofs), nor afs, which locks whole files.
var localLocks = []struct{ kind, option string }{
	// nfs(5): nolock makes the locks of versions 2 and 3 local; local_lock says
	// for which of the two kinds they are. bbolt and the gate use flock.
	{"nfs", "nolock"}, {"nfs", "local_lock=flock"}, {"nfs", "local_lock=all"},
	{"nfs4", "nolock"}, {"nfs4", "local_lock=flock"}, {"nfs4", "local_lock=all"},
	// mount.cifs(8), from memory: nobrl sends no byte range locks to the server.
	// Linux fs/cifs shows it under this name.
	{"cifs", "nobrl"}, {"smb3", "nobrl"},
	// Linux Documentation/filesystems/ocfs2.rst and the manual of GFS: the locks
	// of a file are left to the one machine.
	{"ocfs2", "localflocks"}, {"gfs2", "localflocks"},
	// libfuse, fuse_operations.flock, from memory: where a file system does not
	// implement it, the kernel locks locally. sshfs: pull request 55 (refused) and
	// issue 326 of libfuse/sshfs; rclone: issue 5483 of rclone/rclone; s3fs: issue
	// 2137 of s3fs-fuse/s3fs-fuse; the others from memory.
	{"fuse.sshfs", ""}, {"fuse.rclone", ""}, {"fuse.s3fs", ""}, {"fuse.curlftpfs", ""},
	{"fuse.gvfsd-fuse", ""}, {"fuse.davfs", ""}, {"davfs", ""},
}

// unsafe says why locks do not hold on a mount; "" = nothing is known against it.
func (m mount) unsafe() string {
	const local = " keeps them within this machine"
	for _, l := range localLocks {
		switch {
		case l.kind != m.kind:
		case l.option == "":
			return m.kind + local
		case slices.Contains(m.options, l.option):
			return m.kind + " with " + l.option + local
		}
	}
	// mount.davfs mounts as plain fuse, with the address as the source (from memory).
	if m.kind == "fuse" && (strings.HasPrefix(m.source, "https://") || strings.HasPrefix(m.source, "http://")) {
		return "a web folder" + local
	}
	return ""
}

// drive refuses a book on a drive of which the system says that its locks do not
// hold. What it cannot find out it leaves to the probe. Asked once.
func (b *Book) drive() error {
	if b.driveSeen.Load() {
		return nil
	}
	for _, m := range b.drives() {
		if why := m.unsafe(); why != "" {
			return &UnsafeDriveError{b.path, m.point, why}
		}
	}
	b.driveSeen.Store(true)
	return nil
}

// drives are the mounts of the locks, which lie beside the name that the book was
// given, and where that is a link, of the book.
func (b *Book) drives() []mount {
	table, err := os.ReadFile(b.mounts)
	if err != nil {
		return nil
	}
	paths := []string{b.path + ".lock"}
	if info, err := os.Lstat(b.path); err == nil && info.Mode()&fs.ModeSymlink != 0 {
		paths = append(paths, b.path)
	}
	var all []mount
	for _, path := range paths {
		path, err := resolved(path)
		if err != nil {
			continue // opening says why
		}
		if m, found := mountOf(string(table), path); found {
			all = append(all, m)
		}
	}
	return all
}

// resolved is a path without links, as far as it is there; a link to nothing is
// followed too.
func resolved(path string) (string, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	plain, err := filepath.EvalSymlinks(path)
	above := filepath.Dir(path)
	if !errors.Is(err, fs.ErrNotExist) || above == path {
		return plain, err
	}
	if plain, err = resolved(above); err != nil {
		return "", err
	}
	path = filepath.Join(plain, filepath.Base(path))
	if to, err := os.Readlink(path); err == nil {
		if !filepath.IsAbs(to) {
			to = filepath.Join(plain, to)
		}
		return resolved(to)
	}
	return path, nil
}

// probe tries the lock of a gate that was just entered a second time, by another
// opening of the same file: that must be refused, also beside a shared lock. As
// this program has the lock, the try takes it from nobody and makes nobody wait,
// however many programs probe at once. Done once; a try that fails for another
// reason proves nothing and is repeated.
func (b *Book) probe(g gate) error {
	if b.probed.Load() {
		return nil
	}
	granted, err := b.second(g.again)
	switch {
	case granted:
		return b.unsafe("two were granted at once")
	case noLocks(err):
		return b.unsafe(err.Error())
	}
	b.probed.Store(err == nil)
	return nil
}

// trySecond tries a lock and gives it back.
func trySecond(again *flock.Flock) (granted bool, err error) {
	defer again.Close()
	return again.TryLock()
}

// noLocks reports whether a file system has no locks (flock(2): ENOLCK; some say
// that the call is not supported).
func noLocks(err error) bool {
	return errors.Is(err, syscall.ENOLCK) || errors.Is(err, errors.ErrUnsupported)
}

// unsafe is the error of locks that were tried.
func (b *Book) unsafe(why string) error {
	err := &UnsafeDriveError{Path: b.path, Why: why}
	if drives := b.drives(); len(drives) > 0 {
		err.Drive = drives[0].point
	}
	return err
}
