package store

import (
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"os"
	"runtime"
	"runtime/debug"
	"strings"
)

// What bbolt's file looks like at its start: two meta pages of which the newer
// valid one counts. bbolt trusts them when it maps the file, and touching a page
// that was cut off ends the program, so they are checked first.
const (
	pageHeader  = 16
	metaLen     = 64
	metaMagic   = 0xED0CDAED
	metaPgid    = 40 // high water mark: pages in use
	metaTxid    = 48
	metaSum     = 56
	minPageSize = 1024
	maxPageSize = 1 << 24
)

// whole checks that the file has all the pages that its meta page speaks of.
func whole(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if info.IsDir() {
		return &DamagedError{Path: path, Why: "is a folder, not a book"}
	}
	size, used := newestMeta(f)
	switch {
	case used == 0:
		return &DamagedError{Path: path, Why: "not a book, or its beginning is garbled"}
	case used > uint64(info.Size())/size:
		return &DamagedError{Path: path, Why: fmt.Sprintf("cut off: %d bytes of %d are there", info.Size(), used*size)}
	}
	return nil
}

// newestMeta returns the page size and the pages in use of the newer valid meta page.
func newestMeta(f *os.File) (pageSize, used uint64) {
	var newest uint64
	consider := func(at uint64) {
		size, pages, txid := readMeta(f, at)
		if pages > 0 && (used == 0 || txid > newest) {
			pageSize, used, newest = size, pages, txid
		}
	}
	consider(0)
	if used > 0 {
		consider(pageSize)
		return pageSize, used
	}
	for at := uint64(minPageSize); at <= maxPageSize && used == 0; at *= 2 {
		consider(at)
	}
	return pageSize, used
}

// readMeta reads the meta page at an offset; zero pages where it is none.
func readMeta(f *os.File, at uint64) (pageSize, pages, txid uint64) {
	buf := make([]byte, metaLen)
	if _, err := f.ReadAt(buf, int64(at)+pageHeader); err != nil {
		return 0, 0, 0
	}
	sum := fnv.New64a()
	_, _ = sum.Write(buf[:metaSum])
	native := binary.NativeEndian
	if native.Uint32(buf) != metaMagic || native.Uint64(buf[metaSum:]) != sum.Sum64() {
		return 0, 0, 0
	}
	pageSize = uint64(native.Uint32(buf[8:]))
	if pageSize < minPageSize || pageSize > maxPageSize {
		return 0, 0, 0
	}
	return pageSize, native.Uint64(buf[metaPgid:]), native.Uint64(buf[metaTxid:])
}

// guarded runs fn and turns what bbolt does on a garbled page (a panic, a fault
// in the mapped file) into an error. Other panics pass.
func guarded(path string, fn func() error) (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		p := recover()
		if p == nil {
			return
		}
		if !fromBolt() && !isFault(p) {
			panic(p)
		}
		err = &DamagedError{Path: path, Why: fmt.Sprintf("garbled: %v", p)}
	}()
	return fn()
}

// isFault reports whether the panic is a touch of memory that is not there.
func isFault(p any) bool {
	_, ok := p.(interface{ Addr() uintptr })
	return ok
}

// fromBolt reports whether the panic began in bbolt. To be called by the
// function that recovers.
func fromBolt() bool {
	pcs := make([]uintptr, 32)
	frames := runtime.CallersFrames(pcs[:runtime.Callers(3, pcs)])
	for {
		f, more := frames.Next()
		if !strings.HasPrefix(f.Function, "runtime.") {
			return strings.HasPrefix(f.Function, "go.etcd.io/bbolt")
		}
		if !more {
			return false
		}
	}
}
