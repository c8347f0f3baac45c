package main

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// The model of a power cut. What POSIX promises is less than what most disks do,
// so this is harder than any one file system (the approach of Pillai et al., "All
// File Systems Are Not Created Equal", OSDI 2014: replay the system calls and
// keep any subset of what was not synced; from memory):
//
//   - what was written to a file before its last fsync or fdatasync is there;
//   - of each write and change of length after it, any may be there or not,
//     whatever came after, and a write may be torn between sectors;
//   - a name that was made, changed or removed is so for sure only once its
//     folder was synced: fsync(2) on the file "does not necessarily ensure that
//     the entry in the directory containing the file has also reached disk";
//   - a rename is there wholly or not at all.

const sector = 512

type opKind int

const (
	opCreate opKind = iota
	opWrite
	opLength
	opSync
	opFolder // made
	opRename
	opRemove
	opSaid // the program told its user that it is done
)

// op is one system call. Paths are relative to the folder of the book, "." itself.
type op struct {
	kind   opKind
	path   string // before a rename: the old one
	to     string // after a rename
	at     int64  // of a write; the new length
	data   []byte
	folder bool // a sync of a folder

	file int // that it changes, whatever it is called by then: see bind
}

// change reports whether the op changes a file or a name, and so can be lost.
func (o op) change() bool { return o.kind != opSync && o.kind != opSaid }

// naming reports whether the op changes a folder.
func (o op) naming() bool {
	return o.kind == opCreate || o.kind == opFolder || o.kind == opRename || o.kind == opRemove
}

// bind numbers the files, so that ops on one stay together when names go.
func bind(ops []op) []op {
	ops = slices.Clone(ops)
	names := map[string]int{}
	for i := range ops {
		o := &ops[i]
		if o.kind == opCreate {
			names[o.path] = i
		}
		o.file = names[o.path]
		switch o.kind {
		case opRename:
			names[o.to] = o.file
			delete(names, o.path)
		case opRemove:
			delete(names, o.path)
		}
	}
	return ops
}

// lasts reports for each of the ops whether it has reached the disk for sure.
func lasts(ops []op) []bool {
	sure := make([]bool, len(ops))
	files, folders := map[int]bool{}, map[string]bool{}
	for i, o := range slices.Backward(ops) {
		switch {
		case o.kind == opSync && o.folder:
			folders[o.path] = true
		case o.kind == opSync:
			files[o.file] = true
		case o.naming():
			sure[i] = folders[filepath.Dir(o.path)]
		default:
			sure[i] = files[o.file]
		}
	}
	return sure
}

// loss is what a power cut took: ops that are gone, and for a torn write the
// bytes of it that are there.
type loss struct {
	gone map[int]bool
	torn map[int][2]int
}

// lots is how many losses by lot are tried after each op.
const lots = 12

// losses are the subsets of what is not sure that are tried: all gone, none,
// each one gone, all but the last gone, the last torn where nothing else is gone,
// and some by lot, with torn writes.
func losses(ops []op, rng *rand.Rand) []loss {
	var open []int
	for i, sure := range lasts(ops) {
		if !sure && ops[i].change() {
			open = append(open, i)
		}
	}
	all := []loss{{}, without(open...)}
	for i, n := range open {
		all = append(all, without(n))
		if i == len(open)-1 && i > 0 {
			all = append(all, without(open[:i]...))
		}
	}
	if len(open) == 0 {
		return all
	}
	last := open[len(open)-1]
	if end := len(ops[last].data); end > sector {
		for _, part := range [][2]int{{0, sector}, {0, end - sector}, {sector, end}} {
			all = append(all, loss{torn: map[int][2]int{last: part}})
		}
	}
	for range lots {
		all = append(all, byLot(ops, open, rng))
	}
	return all
}

func without(ops ...int) loss {
	l := loss{gone: map[int]bool{}}
	for _, i := range ops {
		l.gone[i] = true
	}
	return l
}

// byLot loses each op with even odds and tears one write that stays.
func byLot(ops []op, open []int, rng *rand.Rand) loss {
	l := without()
	l.torn = map[int][2]int{}
	for _, i := range open {
		sectors := len(ops[i].data) / sector
		switch {
		case rng.IntN(2) == 0:
			l.gone[i] = true
		case len(l.torn) == 0 && ops[i].kind == opWrite && sectors > 1:
			cut := (1 + rng.IntN(sectors-1)) * sector
			l.torn[i] = [2]int{0, cut}
			if rng.IntN(2) == 0 {
				l.torn[i] = [2]int{cut, len(ops[i].data)}
			}
		}
	}
	return l
}

// image is what is on a disk: files by path.
type image map[string][]byte

// replay is what the ops leave, less what was lost.
func replay(ops []op, l loss) image {
	files, names, folders := map[int][]byte{}, map[string]int{}, map[string]bool{".": true}
	for i, o := range ops {
		if l.gone[i] {
			continue
		}
		switch o.kind {
		case opCreate:
			names[o.path] = o.file
		case opFolder:
			folders[o.path] = true
		case opRename:
			names[o.to] = o.file
			delete(names, o.path)
		case opRemove:
			delete(names, o.path)
		case opLength:
			files[o.file] = resized(files[o.file], o.at)
		case opWrite:
			from, to := 0, len(o.data)
			if t, torn := l.torn[i]; torn {
				from, to = t[0], t[1]
			}
			end := o.at + int64(to)
			files[o.file] = resized(files[o.file], max(end, int64(len(files[o.file]))))
			copy(files[o.file][o.at+int64(from):end], o.data[from:to])
		}
	}
	out := image{}
	for path, file := range names {
		if folders[filepath.Dir(path)] {
			out[path] = files[file]
		}
	}
	return out
}

// resized is a file of another length, zeros at its new end.
func resized(file []byte, n int64) []byte {
	if n <= int64(len(file)) {
		return file[:n:n]
	}
	return append(file[:len(file):len(file)], make([]byte, n-int64(len(file)))...)
}

// sum tells images apart.
func (m image) sum() [sha256.Size]byte {
	h := sha256.New()
	for _, path := range slices.Sorted(maps.Keys(m)) {
		fmt.Fprintf(h, "%q %d\n", path, len(m[path]))
		h.Write(m[path])
	}
	return [sha256.Size]byte(h.Sum(nil))
}

// write makes the files in a folder that is emptied first.
func (m image) write(t testing.TB, dir string) {
	t.Helper()
	require.NoError(t, os.RemoveAll(dir))
	require.NoError(t, os.MkdirAll(dir, 0o700))
	for path, data := range m {
		path = filepath.Join(dir, path)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
		require.NoError(t, os.WriteFile(path, data, 0o600))
	}
}

// readImage is what lies in a folder, as far as a power cut matters.
func readImage(t testing.TB, dir string) image {
	t.Helper()
	m := image{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, path)
		if err == nil && recorded(rel) {
			m[rel], err = os.ReadFile(path)
		}
		return err
	}))
	return m
}
