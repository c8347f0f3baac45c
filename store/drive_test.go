package store_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
)

// table has lines in the form of proc_pid_mountinfo(5), one of each kind.
const table = `26 1 254:0 / / rw,relatime - ext4 /dev/vda rw,discard
21 26 0:20 / /proc rw,relatime - proc proc rw
40 26 0:40 / /nfs/good rw,relatime shared:20 - nfs 192.0.2.1:/srv rw,vers=3,rsize=524288,hard,proto=tcp,sec=sys,local_lock=none,addr=192.0.2.1
41 26 0:41 / /nfs/nolock rw,relatime shared:21 - nfs 192.0.2.1:/srv rw,vers=3,hard,nolock,proto=tcp,local_lock=all,addr=192.0.2.1
42 26 0:42 / /nfs/flock rw,relatime shared:22 master:3 - nfs 192.0.2.1:/srv rw,vers=3,hard,local_lock=flock,addr=192.0.2.1
43 26 0:43 / /nfs/posix rw,relatime - nfs 192.0.2.1:/srv rw,vers=3,hard,local_lock=posix,addr=192.0.2.1
44 26 0:44 / /nfs/four rw,relatime - nfs4 192.0.2.1:/srv rw,vers=4.2,hard,local_lock=none,addr=192.0.2.1
45 26 0:45 / /nfs/four/all rw,relatime - nfs4 192.0.2.1:/all rw,vers=4.2,hard,local_lock=all,addr=192.0.2.1
50 26 0:50 / /smb/good rw,relatime - cifs //192.0.2.2/rides rw,vers=3.1.1,cache=strict,soft,nounix,serverino
51 26 0:51 / /smb/nobrl rw,relatime - cifs //192.0.2.2/rides rw,vers=3.1.1,cache=strict,nobrl,serverino
52 26 0:52 / /smb/three rw,relatime - smb3 //192.0.2.2/rides rw,vers=3.1.1,nobrl
60 26 0:60 / /fuse/sshfs rw,nosuid,nodev - fuse.sshfs me@192.0.2.3: rw,user_id=1000,group_id=1000
61 26 0:61 / /fuse/rclone rw,nosuid,nodev - fuse.rclone far: rw,user_id=1000
62 26 0:62 / /fuse/s3 rw,nosuid,nodev - fuse.s3fs s3fs rw,user_id=1000
63 26 0:63 / /fuse/ftp rw,nosuid,nodev - fuse.curlftpfs curlftpfs#ftp://192.0.2.4/ rw
64 26 0:64 / /run/user/1000/gvfs rw,nosuid,nodev - fuse.gvfsd-fuse gvfsd-fuse rw,user_id=1000
65 26 0:65 / /fuse/dav rw,nosuid,nodev - fuse https://dav.example/rides rw,user_id=1000
66 26 8:66 / /fuse/disk rw,nosuid,nodev - fuseblk /dev/sdb1 rw,user_id=0,allow_other
70 26 8:70 / /cluster/local rw,relatime - ocfs2 /dev/sdc rw,localflocks,coherency=full
71 26 8:71 / /cluster/good rw,relatime - ocfs2 /dev/sdc rw,coherency=full
72 26 8:72 / /cluster/gfs rw,relatime - gfs2 /dev/sdd rw,localflocks
80 26 0:80 / /guest rw,relatime - 9p host rw,access=client,trans=virtio
90 26 0:90 / /with\040blank\134and\011more rw - fuse.sshfs me@192.0.2.3: rw
91 26 0:91 / /over rw - fuse.sshfs me@192.0.2.3: rw
92 91 8:92 / /over rw - ext4 /dev/sde rw
93 26 8:93 / /under rw - ext4 /dev/sdf rw
94 93 0:94 / /under rw - fuse.sshfs me@192.0.2.3: rw
this line is torn
95 26 0:95 / /torn rw shared:1 shared:2 shared:3 shared:4 shared:5
`

func TestDrives(t *testing.T) {
	for path, want := range map[string]struct{ point, why string }{
		"/home/me/the.book":                  {"/", ""},
		"/":                                  {"/", ""},
		"/nfs/good/the.book":                 {"/nfs/good", ""},
		"/nfs/goodish/the.book":              {"/", ""},
		"/nfs/nolock/deep/the.book":          {"/nfs/nolock", "nfs with nolock keeps them within this machine"},
		"/nfs/flock/the.book":                {"/nfs/flock", "nfs with local_lock=flock keeps them within this machine"},
		"/nfs/posix/the.book":                {"/nfs/posix", ""},
		"/nfs/four/the.book":                 {"/nfs/four", ""},
		"/nfs/four/all/the.book":             {"/nfs/four/all", "nfs4 with local_lock=all keeps them within this machine"},
		"/smb/good/the.book":                 {"/smb/good", ""},
		"/smb/nobrl/the.book":                {"/smb/nobrl", "cifs with nobrl keeps them within this machine"},
		"/smb/three/the.book":                {"/smb/three", "smb3 with nobrl keeps them within this machine"},
		"/fuse/sshfs/the.book":               {"/fuse/sshfs", "fuse.sshfs keeps them within this machine"},
		"/fuse/rclone/the.book":              {"/fuse/rclone", "fuse.rclone keeps them within this machine"},
		"/fuse/s3/the.book":                  {"/fuse/s3", "fuse.s3fs keeps them within this machine"},
		"/fuse/ftp/the.book":                 {"/fuse/ftp", "fuse.curlftpfs keeps them within this machine"},
		"/run/user/1000/gvfs/share/the.book": {"/run/user/1000/gvfs", "fuse.gvfsd-fuse keeps them within this machine"},
		"/fuse/dav/the.book":                 {"/fuse/dav", "a web folder keeps them within this machine"},
		"/fuse/disk/the.book":                {"/fuse/disk", ""},
		"/cluster/local/the.book":            {"/cluster/local", "ocfs2 with localflocks keeps them within this machine"},
		"/cluster/good/the.book":             {"/cluster/good", ""},
		"/cluster/gfs/the.book":              {"/cluster/gfs", "gfs2 with localflocks keeps them within this machine"},
		"/guest/the.book":                    {"/guest", ""},
		"/with blank\\and\tmore/the.book":    {"/with blank\\and\tmore", "fuse.sshfs keeps them within this machine"},
		"/over/the.book":                     {"/over", ""},
		"/under/the.book":                    {"/under", "fuse.sshfs keeps them within this machine"},
		"/torn/the.book":                     {"", ""}, // a line without a dash tells nothing
	} {
		point, _, why := store.DriveOf(table, path)
		assert.Equal(t, want.point, point, path)
		assert.Equal(t, want.why, why, path)
	}
	point, kind, why := store.DriveOf("", "/home/me/the.book")
	assert.Empty(t, point+kind+why)
}

// mounted writes a mount table in which dir is a drive, given as type, source
// and options.
func mounted(t *testing.T, dir, drive string) string {
	t.Helper()
	dir, err := filepath.EvalSymlinks(dir)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "mountinfo")
	point := strings.ReplaceAll(dir, " ", `\040`)
	text := "26 1 254:0 / / rw,relatime - ext4 /dev/vda rw\n" + "40 26 0:40 / " + point + " rw,relatime shared:1 - " + drive + "\n"
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// TestUnsafeDrive: neither looking at such a book nor writing it is done, and
// nothing is made on the drive, not even through a link.
func TestUnsafeDrive(t *testing.T) {
	dir := t.TempDir()
	share := filepath.Join(dir, "the share")
	require.NoError(t, os.Mkdir(share, 0o700))
	link := filepath.Join(dir, "link")
	require.NoError(t, os.Symlink(share, link))
	for _, path := range []string{filepath.Join(share, "the.book"), filepath.Join(link, "not", "yet", "the.book")} {
		b := store.At(path, store.Options{})
		store.SetMounts(b, mounted(t, share, "nfs 192.0.2.1:/srv rw,nolock,local_lock=all"))
		err := b.Update(context.Background(), nothing)
		var unsafe *store.UnsafeDriveError
		require.ErrorAs(t, err, &unsafe)
		assert.Equal(t, "the share", filepath.Base(unsafe.Drive))
		entries, err := os.ReadDir(share)
		require.NoError(t, err)
		assert.Empty(t, entries)
	}
	b := store.At(filepath.Join(share, "the.book"), store.Options{})
	withBike(t, b)
	looks := store.At(b.Path(), store.Options{})
	store.SetMounts(looks, mounted(t, share, "fuse.sshfs me@192.0.2.3: rw"))
	assert.ErrorContains(t, looks.View(context.Background(), nothing), "locks do not hold")
	fine := store.At(b.Path(), store.Options{})
	store.SetMounts(fine, mounted(t, share, "nfs4 192.0.2.1:/srv rw,local_lock=none"))
	assert.NoError(t, fine.View(context.Background(), nothing))
	unknown := store.At(b.Path(), store.Options{})
	store.SetMounts(unknown, filepath.Join(dir, "no such table"))
	assert.NoError(t, unknown.View(context.Background(), nothing))
}

// A link to a book on another drive: its locks lie beside the link, but bbolt's
// own is on the book, and both drives count.
func TestUnsafeDriveBehindLink(t *testing.T) {
	dir := t.TempDir()
	share := filepath.Join(dir, "share")
	require.NoError(t, os.Mkdir(share, 0o700))
	withBike(t, store.At(filepath.Join(share, "the.book"), store.Options{}))
	link := filepath.Join(dir, "the.book")
	require.NoError(t, os.Symlink(filepath.Join(share, "the.book"), link))
	b := store.At(link, store.Options{})
	store.SetMounts(b, mounted(t, share, "cifs //192.0.2.2/rides rw,nobrl"))
	assert.ErrorContains(t, b.View(context.Background(), nothing), "cifs with nobrl")
}

func TestUnsafeDriveSays(t *testing.T) {
	err := &store.UnsafeDriveError{Path: "/mnt/nas/the.book", Drive: "/mnt/nas", Why: "nfs with nolock keeps them within this machine"}
	assert.EqualError(t, err, `book "/mnt/nas/the.book": locks do not hold on its drive "/mnt/nas": nfs with nolock keeps them within this machine`)
	assert.Equal(t, "keep the book on a disk of this machine and name it with --book; folders of rides may be anywhere", err.Hint())
	err = &store.UnsafeDriveError{Path: "x.book", Why: "two were granted at once"}
	assert.EqualError(t, err, `book "x.book": locks do not hold on its drive: two were granted at once`)
}

// TestProbe: locks that do not hold are found out, by looking and by writing,
// and nothing is written then.
func TestProbe(t *testing.T) {
	for name, c := range map[string]struct {
		granted bool
		err     error
		want    string // "" = goes on
		probed  bool
	}{
		"refused":       {probed: true},
		"granted":       {granted: true, want: "two were granted at once"},
		"none":          {err: syscall.ENOLCK, want: "no locks available"},
		"not supported": {err: syscall.EOPNOTSUPP, want: "operation not supported"},
		"another error": {err: errors.New("too many open files")},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "the.book")
			withBike(t, store.At(path, store.Options{}))
			before, err := os.ReadFile(path)
			require.NoError(t, err)
			for _, write := range []bool{false, true} {
				b := store.At(path, store.Options{})
				store.SetSecondLock(b, func() (bool, error) { return c.granted, c.err })
				ran, op := false, b.View
				if write {
					op = b.Update
				}
				err := op(context.Background(), func(*store.Tx) error { ran = true; return nil })
				assert.Equal(t, c.want == "", ran)
				assert.Equal(t, c.probed, store.Probed(b))
				if c.want == "" {
					require.NoError(t, err)
					continue
				}
				var unsafe *store.UnsafeDriveError
				require.ErrorAs(t, err, &unsafe)
				assert.Contains(t, err.Error(), c.want)
			}
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, before, after)
			require.NoError(t, store.At(path, store.Options{}).Update(context.Background(), nothing), "the lock was given back")
		})
	}
}

// TestProbeHere: the real probe finds that locks hold in a temporary folder, by
// looking, by writing, and by many books at once.
func TestProbeHere(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	withBike(t, b)
	assert.True(t, store.Probed(b))
	var wg sync.WaitGroup
	for i := range 16 {
		wg.Go(func() {
			other := store.At(b.Path(), store.Options{})
			op := other.View
			if i%2 == 0 {
				op = other.Update
			}
			assert.NoError(t, op(context.Background(), nothing))
			assert.True(t, store.Probed(other))
		})
	}
	wg.Wait()
}

func TestNoLocks(t *testing.T) {
	for _, err := range []error{syscall.ENOLCK, syscall.ENOSYS, syscall.EOPNOTSUPP, fmt.Errorf("lock: %w", syscall.ENOLCK)} {
		assert.True(t, store.NoLocks(err), err)
	}
	for _, err := range []error{nil, syscall.EACCES, syscall.EROFS, syscall.EINTR, context.Canceled} {
		assert.False(t, store.NoLocks(err), err)
	}
}

// BenchmarkFirstView is the first look of a process, with all that is asked of
// the drive, BenchmarkNextView every later one.
func BenchmarkFirstView(b *testing.B) {
	path := filepath.Join(b.TempDir(), "the.book")
	withBike(b, store.At(path, store.Options{}))
	for b.Loop() {
		if err := store.At(path, store.Options{}).View(context.Background(), nothing); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNextView(b *testing.B) {
	book := store.At(filepath.Join(b.TempDir(), "the.book"), store.Options{})
	withBike(b, book)
	for b.Loop() {
		if err := book.View(context.Background(), nothing); err != nil {
			b.Fatal(err)
		}
	}
}
