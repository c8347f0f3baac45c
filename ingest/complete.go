package ingest

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"regexp"
)

// How much of a file is looked at to tell what it is and whether it ends.
const (
	headBytes = 16 << 10 // up to the root element of an XML file
	tailBytes = 8 << 10  // its closing tag, and the zeros of a last block behind it
)

// complete reports whether the file at path is there to its end, as its content
// tells; its name tells nothing. Whether what it holds is any good is not asked
// here: a file that cannot be opened, or that is too large to be a ride, is
// complete, so that the import says what is wrong with it.
func complete(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return true
	}
	defer f.Close() // only read
	info, err := f.Stat()
	return err != nil || whole(f, info.Size())
}

// whole is complete for content of so many bytes.
func whole(r io.ReaderAt, size int64) bool {
	head := make([]byte, min(size, headBytes))
	if n, _ := r.ReadAt(head, 0); n < minFITHeader { // no format shows in less
		return false
	}
	all := io.NewSectionReader(r, 0, size)
	switch {
	case isZip(head[:4]):
		return wholeZip(r, size)
	case size > maxBytes:
		return true
	case isGzip(head):
		return wholeGzip(all, size)
	}
	p := shapeOf(head, size <= headBytes)
	if p.root != "" {
		_, _ = all.Seek(-min(size, tailBytes), io.SeekEnd) // within the file
	}
	return p.kind == stillIsWhole || p.kind != neverWhole && p.ends(all, size)
}

// wholeZip reports whether the directory can be read, which is at the end. One
// too large to be read is for the import to refuse.
func wholeZip(r io.ReaderAt, size int64) bool {
	_, err := zip.NewReader(&rationed{r: r, left: maxDirectory}, size)
	return err == nil || errors.Is(err, zip.ErrInsecurePath) || errors.Is(err, errDirectory)
}

// wholeGzip reports whether all can be unpacked, by the checksum too, and
// whether it is whole then. What grows beyond reason shows as cut.
func wholeGzip(r io.Reader, size int64) bool {
	z, err := gzip.NewReader(bufio.NewReader(r))
	if err != nil {
		return false
	}
	defer z.Close() // only read
	in := bufio.NewReaderSize(io.LimitReader(z, growthLimit(size)), headBytes)
	head, err := in.Peek(headBytes)
	p := shapeOf(head, err != nil)
	return p.kind != neverWhole && p.ends(in, maxBytes)
}

// How the end of what is not compressed can be told.
type ending uint8

const (
	stillIsWhole ending = iota // tables, pictures: nothing tells
	neverWhole                 // it has hardly begun
	endsByLength               // FIT: by its headers and checksums
	endsByTag                  // GPX and TCX: by the closing tag of the root
)

// shape is what the first bytes tell of content.
type shape struct {
	kind ending
	root string // of GPX and TCX, in lower case; else ""
}

// shapeOf tells by the first bytes; all says that there are no others.
func shapeOf(head []byte, all bool) shape {
	if isFIT(head) {
		return shape{kind: endsByLength}
	}
	// UTF-16 without its zeros, which is plain text as far as tags go.
	text := bytes.ReplaceAll(head, []byte{0}, nil)
	for _, mark := range [][]byte{bomUTF8, bomLE, bomBE} {
		text = bytes.TrimPrefix(text, mark)
	}
	text = bytes.TrimSpace(text)
	if !bytes.HasPrefix(text, []byte("<")) {
		if len(text) == 0 { // room that was set aside, to be filled in
			return shape{kind: neverWhole}
		}
		return shape{}
	}
	root := rootName(text)
	// A name at the very end may go on.
	if all && (root == "" || bytes.LastIndexByte(text, '<') > bytes.LastIndexByte(text, '>')) {
		return shape{kind: neverWhole}
	}
	if closing[root] != nil {
		return shape{endsByTag, root}
	}
	return shape{}
}

// ends reads to the end, which comes after size bytes or before, and reports
// whether it is one. Of what ends by its tag r may be the last bytes alone.
func (p shape) ends(r io.Reader, size int64) bool {
	switch p.kind {
	case endsByLength:
		return wholeFIT(r, size)
	case endsByTag:
		last, err := lastBytes(r)
		return err == nil && closing[p.root]().Match(bytes.ReplaceAll(last, []byte{0}, nil))
	}
	_, err := io.Copy(io.Discard, r)
	return err == nil
}

// closing finds the closing tag of a root element, whatever its prefix.
var closing = map[string]func() *regexp.Regexp{
	"gpx":                    closingTag("gpx"),
	"trainingcenterdatabase": closingTag("trainingcenterdatabase"),
}

func closingTag(root string) func() *regexp.Regexp {
	return onUse(`(?i)</(?:[^\s<>/:]+:)?` + root + `\s*>`)
}

// lastBytes reads all and keeps the last tailBytes, or a little more.
func lastBytes(r io.Reader) ([]byte, error) {
	buf := make([]byte, 4*tailBytes)
	n := 0
	for {
		if n == len(buf) {
			n = copy(buf, buf[n-tailBytes:])
		}
		m, err := r.Read(buf[n:])
		n += m
		if err == io.EOF {
			return buf[:n], nil
		}
		if err != nil {
			return nil, err
		}
	}
}

// wholeFIT reports whether r is FIT files, one behind the other, each as long as
// its header says and with the right checksum, and nothing else. They cannot
// hold more than left bytes.
func wholeFIT(r io.Reader, left int64) bool {
	in := bufio.NewReaderSize(r, 64<<10)
	for parts := 0; ; parts++ {
		head, err := in.Peek(minFITHeader)
		if err == io.EOF && len(head) == 0 {
			return parts > 0
		}
		data := int64(0)
		if isFIT(head) {
			data = int64(binary.LittleEndian.Uint32(head[4:]))
		}
		if data == 0 { // or never finished
			return false
		}
		size := int64(head[0]) + data + fitChecksumSize
		if left -= size; left < 0 { // nothing needs to be read to know
			return false
		}
		var sum checksum
		if n, err := io.CopyN(&sum, in, size); n < size || err != nil || sum != 0 {
			return false
		}
	}
}

// checksum is fitCRC of what is written to it.
type checksum uint16

// Write implements io.Writer.
func (c *checksum) Write(p []byte) (int, error) {
	sum := uint16(*c)
	for _, b := range p {
		sum = sum>>8 ^ crcTable[byte(sum)^b]
	}
	*c = checksum(sum)
	return len(p), nil
}
