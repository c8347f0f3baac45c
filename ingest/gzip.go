package ingest

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// Ride files shrink to a tenth at best. What grows more than maxGrowth-fold was
// made to harm; the first freeGrowth bytes are not asked about.
const (
	maxGrowth  = 100
	freeGrowth = 1 << 20
)

const bombHint = "no ride file is like that: find out where it came from"

// growthLimit is the most that so many bytes may grow to. Both are in memory, so
// both count.
func growthLimit(packed int64) int64 {
	return min(maxGrowth*packed+freeGrowth, maxBytes-packed)
}

// overgrown refuses what grows beyond the limit of its packed bytes.
func overgrown(packed int64) error {
	if growthLimit(packed) == maxBytes-packed {
		return refused(splitFile, "more than %d MB, compressed and decompressed together, which no ride is", maxBytes>>20)
	}
	return refused(bombHint, "grows more than %d-fold when it is decompressed, which no ride does", maxGrowth)
}

// unzipped undoes gzip, once; what is not compressed comes back as it is. With
// a flaw the gzip file is damaged, and data is what came out of it before that.
func unzipped(raw []byte) (data []byte, flaw *RefusedError, err error) {
	if len(raw) > maxBytes {
		return nil, nil, tooLarge(int64(len(raw)))
	}
	if !isGzip(raw) {
		return raw, nil, nil
	}
	data, err = gunzip(raw)
	switch {
	case int64(len(data)) > growthLimit(int64(len(raw))):
		return nil, nil, overgrown(int64(len(raw)))
	case isGzip(data):
		return nil, nil, refused("decompress it once by hand, then import the result", "a gzip file within a gzip file")
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		flaw = &RefusedError{Why: "the gzip file is cut short", Hint: copyAgain}
	case err != nil:
		flaw = &RefusedError{Why: fmt.Sprintf("a damaged gzip file: %v", err), Hint: copyAgain}
	}
	if flaw != nil && len(data) == 0 {
		return nil, nil, flaw
	}
	return data, flaw, nil
}

func isGzip(data []byte) bool { return bytes.HasPrefix(data, []byte("\x1f\x8b\x08")) }

// gunzip returns at most one byte more than the bytes may grow to, and what it
// had before an error. It takes memory for the content once, not for a buffer
// that grows: where the file does not say how much it holds, as several members
// in a row do not, it is counted first.
func gunzip(raw []byte) ([]byte, error) {
	limit := growthLimit(int64(len(raw)))
	size := min(gzipSize(raw), limit)
	data, err := inflate(raw, size)
	if int64(len(data)) <= size || size == limit {
		return data, err
	}
	z, err := gzip.NewReader(bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	size, _ = io.Copy(io.Discard, io.LimitReader(z, limit+1)) // the error comes again below
	return inflate(raw, min(size, limit))
}

// gzipSize is what a gzip file says that its last member holds.
func gzipSize(raw []byte) int64 {
	if len(raw) < 18 { // an empty one
		return 0
	}
	return int64(binary.LittleEndian.Uint32(raw[len(raw)-4:]))
}

// growth is the room that decompressing needs, as well as the bytes tell: a file
// that says too little is let in a little early.
func growth(raw []byte) int64 {
	if !isGzip(raw) {
		return 0
	}
	packed := int64(len(raw))
	return min(max(gzipSize(raw), 8*packed), growthLimit(packed))
}

// inflate decompresses at most one byte more than size.
func inflate(raw []byte, size int64) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	return drain(z, size)
}

// drain reads at most one byte more than size, and returns what it had before an
// error.
func drain(r io.Reader, size int64) (data []byte, err error) {
	data = make([]byte, size+1)
	n := 0
	for n < len(data) && err == nil {
		var m int
		m, err = r.Read(data[n:])
		n += m
	}
	if err == io.EOF {
		err = nil
	}
	return data[:n], err
}
