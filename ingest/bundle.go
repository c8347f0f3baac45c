package ingest

import (
	"archive/zip"
	"bufio"
	"compress/flate"
	"errors"
	"hash/crc32"
	"io"
	"os"
	"sync/atomic"
)

// Limits of a bundle. They are judged by its directory before anything is
// expanded; no entry can give more than its directory says.
const (
	maxDirectory = 4 << 20  // bytes of the directory: it is kept while the bundle is read
	maxEntries   = 20_000   // a club's ten years
	maxExpanded  = 16 << 30 // bytes of all entries together
)

const (
	unpackFirst = "unpack it first, then import the folder"
	unpackHere  = "unpack the archive and import the folder instead"
)

// errDirectory is returned when a bundle's directory is larger than maxDirectory.
var errDirectory = errors.New("directory too large")

// bundle is a zip archive whose files are read like any others. It is closed
// when the last one who holds it lets go.
type bundle struct {
	path    string
	file    fileAt
	holders atomic.Int32
	entries []*bundled
}

// fileAt is what a bundle is read from.
type fileAt interface {
	io.ReaderAt
	io.Closer
}

// bundled is one file in a bundle.
type bundled struct {
	of    *bundle
	label string
	zip   *zip.File
	err   error // why it is not even opened; nil where nothing speaks against it
}

// isZip reports a zip archive: a file's header, or the end of an empty one.
func isZip(head []byte) bool {
	return string(head) == "PK\x03\x04" || string(head) == "PK\x05\x06"
}

// openBundle opens the file at path where it is a zip archive; else it returns
// nil, also where it cannot be read: that is for the one who reads it.
func openBundle(path string) (*bundle, error) {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return nil, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, nil
	}
	head := make([]byte, 4)
	if _, err := io.ReadFull(f, head); err != nil || !isZip(head) {
		_ = f.Close() // only read
		return nil, nil
	}
	b := &bundle{path: path, file: f}
	b.holders.Store(1)
	if err := b.list(info.Size()); err != nil {
		b.release()
		return nil, err
	}
	return b, nil
}

func (b *bundle) hold() { b.holders.Add(1) }

func (b *bundle) release() {
	if b.holders.Add(-1) == 0 {
		_ = b.file.Close() // only read
	}
}

// list reads the directory and judges the bundle and each of its files.
func (b *bundle) list(size int64) error {
	ration := &rationed{r: b.file, left: maxDirectory}
	z, err := zip.NewReader(ration, size)
	ration.left = -1
	switch {
	case errors.Is(err, errDirectory):
		return refused(unpackHere, "a zip archive with a directory of more than %d MB", maxDirectory>>20)
	case errors.Is(err, zip.ErrFormat), errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return refused("fetch the archive again", "a damaged zip archive: its directory is missing or cut, so nothing in it can be found")
	case err != nil && !errors.Is(err, zip.ErrInsecurePath): // names are labels only
		return refused("fetch the archive again", "a damaged zip archive: %v", err)
	case len(z.File) > maxEntries:
		return refused(unpackHere, "a zip archive of %d files, more than %d", len(z.File), maxEntries)
	case isDocument(z):
		return &NotRideError{"a document or spreadsheet, not a ride file", "export a table as CSV"}
	}
	b.choose(z)
	if err := b.plausible(z, size); err != nil {
		return err
	}
	if len(b.entries) == 0 {
		return notRide("a zip archive without files in it")
	}
	return nil
}

// isDocument reports an office document, which is a zip archive too.
func isDocument(z *zip.Reader) bool {
	for _, f := range z.File {
		if f.Name == "[Content_Types].xml" {
			return true
		}
	}
	return len(z.File) > 0 && z.File[0].Name == "mimetype"
}

// choose takes the plain files that are not hidden, in the order of the bundle.
func (b *bundle) choose(z *zip.Reader) {
	seen := map[string]int{}
	for _, f := range z.File {
		if hiddenEntry(f.Name) || !f.Mode().IsRegular() {
			continue
		}
		label := labelOf(f)
		seen[label]++
		if n := seen[label]; n > 1 {
			label = again(label, n)
		}
		b.entries = append(b.entries, &bundled{of: b, label: label, zip: f, err: refuseEntry(f)})
	}
}

// plausible refuses a bundle whose directory says what cannot be, or what is
// made to fill the disk.
func (b *bundle) plausible(z *zip.Reader, size int64) error {
	var packed, expanded int64
	for _, f := range z.File {
		if f.CompressedSize64 > uint64(size) {
			continue // it is refused by itself when it is read
		}
		if packed += int64(f.CompressedSize64); packed > size {
			return refused(bombHint, "a zip archive whose files overlap, as none does that was not made to harm")
		}
	}
	for _, e := range b.entries {
		if e.err == nil {
			expanded += int64(e.zip.UncompressedSize64) // no more than maxBytes each
		}
	}
	switch {
	case expanded > maxGrowth*size+maxBytes:
		return refused(bombHint, "a zip archive that grows more than %d-fold when it is unpacked", maxGrowth)
	case expanded > maxExpanded:
		return refused("unpack it in parts and import those", "a zip archive of more than %d GB when unpacked", maxExpanded>>30)
	}
	return nil
}

// refuseEntry says why a file in a bundle is not opened.
func refuseEntry(f *zip.File) error {
	const encrypted = 0x1
	packed, size := f.CompressedSize64, f.UncompressedSize64
	switch {
	case f.Flags&encrypted != 0:
		return refused("unpack the archive with its password, then import the folder", "encrypted in the zip archive")
	case f.Method != zip.Store && f.Method != zip.Deflate:
		return refused(unpackHere, "packed in the zip archive by %s, which pawl does not read", methodName(f.Method))
	case size > maxBytes:
		return refused(splitFile, "%d MB in the zip archive, more than the %d MB that a ride file may hold", size>>20, maxBytes>>20)
	case packed <= maxBytes && int64(size) > maxGrowth*int64(packed)+freeGrowth:
		return refused(bombHint, "grows more than %d-fold when it is unpacked, which no ride file does", maxGrowth)
	}
	return nil
}

// weight is the room that the file needs.
func (e *bundled) weight() int64 {
	if e.err != nil {
		return 1
	}
	return min(max(int64(e.zip.UncompressedSize64), 1), windowBytes)
}

// read unpacks the file. With a flaw it is damaged, and raw is what could be
// unpacked. Its directory entry bounds what it can grow to.
func (e *bundled) read() (raw []byte, flaw *RefusedError, err error) {
	if e.err != nil {
		return nil, nil, e.err
	}
	raw, why := e.unpack()
	if why != "" {
		flaw = &RefusedError{Why: "damaged in the zip archive: " + why, Hint: "fetch the archive again"}
	}
	switch {
	case isZip(raw[:min(len(raw), 4)]):
		return raw, nil, refused(unpackFirst, "a zip archive within a zip archive")
	case flaw != nil && len(raw) == 0:
		return nil, nil, flaw
	}
	return raw, flaw, nil
}

// unpack returns what can be unpacked, and what is wrong with it. The library
// keeps nothing of what comes before damage, so this reads its raw bytes.
func (e *bundled) unpack() (data []byte, why string) {
	packed, err := e.zip.OpenRaw()
	if err != nil {
		return nil, "its header is missing or makes no sense"
	}
	size := e.zip.UncompressedSize64
	r := packed
	if e.zip.Method == zip.Deflate {
		z := flate.NewReader(bufio.NewReader(packed))
		defer z.Close() // nothing was written
		r = z
	}
	data, err = drain(r, int64(size))
	long := uint64(len(data)) > size
	if long {
		data = data[:size]
	}
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF), err == nil && uint64(len(data)) < size:
		return data, "it is cut short"
	case err != nil:
		return data, err.Error()
	case long:
		return data, "it is longer than the directory says"
	case crc32.ChecksumIEEE(data) != e.zip.CRC32:
		return data, "its checksum is wrong"
	}
	return data, ""
}

// rationed lets no more be read than is left; below 0, anything.
type rationed struct {
	r    io.ReaderAt
	left int64
}

// ReadAt implements io.ReaderAt.
func (q *rationed) ReadAt(p []byte, off int64) (int, error) {
	if q.left >= 0 {
		if q.left -= int64(len(p)); q.left < 0 {
			q.left = 0
			return 0, errDirectory
		}
	}
	return q.r.ReadAt(p, off)
}
