package ingest

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"io"
	"time"

	"pawl/wear"
)

// maxBytes is the most that a ride file may hold, as received and as
// decompressed. A day at ten points a second, in the wordiest of formats, is half of it.
const maxBytes = 64 << 20

// clockHint is what to do about a ride whose date cannot be right.
const clockHint = "set the device's clock, then log this ride by hand: pawl ride add BIKE --on DATE --km KM"

// Read turns the bytes of a ride file, which may be compressed by gzip, into
// its rides. The format is told by the bytes. The hash is that of the
// decompressed bytes (of the bytes as given where they cannot be decompressed)
// and is there with an error too. The error is nil, a [*NotRideError] or a
// [*RefusedError]. raw is not changed.
func Read(raw []byte, o Options) (tracks []*Track, hash wear.Hash, format wear.Format, err error) {
	tracks, sum, format, err := read(raw, o)
	return tracks, wear.Hash(sum[:len(hash)]), format, err
}

// read is Read with the whole hash.
func read(raw []byte, o Options) (tracks []*Track, sum [sha256.Size]byte, format wear.Format, err error) {
	data, err := unzipped(raw)
	if err != nil {
		return nil, sha256.Sum256(raw), wear.Typed, err
	}
	sum = sha256.Sum256(data)
	format, decode, err := sniff(data)
	if err != nil {
		return nil, sum, format, err
	}
	tracks, err = guarded(decode, data, o)
	if err != nil {
		return nil, sum, format, err
	}
	for _, t := range tracks {
		if err := o.checkStart(t.Start); err != nil {
			return nil, sum, format, err
		}
	}
	return tracks, sum, format, nil
}

// rideID names the ride of one leg: the same bytes give the same ID under
// whatever name and compression they come.
func rideID(sum [sha256.Size]byte, leg int) wear.RideID {
	id := sha256.Sum256(append(sum[:], byte(leg)))
	return wear.RideID(id[:len(wear.RideID{})])
}

// readFunc reads one format.
type readFunc func(data []byte, o Options) ([]*Track, error)

// guarded is the last line of defence: a decoder that panics costs its own
// file, not the import.
func guarded(decode readFunc, data []byte, o Options) (tracks []*Track, err error) {
	defer func() {
		if p := recover(); p != nil {
			tracks = nil
			err = refused("keep the file and report this", "the reader broke on this file: %v", p)
		}
	}()
	return decode(data, o)
}

// unzipped undoes gzip, once; what is not compressed comes back as it is.
func unzipped(raw []byte) ([]byte, error) {
	if len(raw) > maxBytes {
		return nil, tooLarge(int64(len(raw)))
	}
	if !isGzip(raw) {
		return raw, nil
	}
	data, err := gunzip(raw)
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return nil, refused(copyAgain, "the gzip file is cut short")
	case err != nil:
		return nil, refused(copyAgain, "a damaged gzip file: %v", err)
	case len(data) > maxBytes:
		return nil, refused(splitFile, "more than %d MB when decompressed, which no ride is", maxBytes>>20)
	case isGzip(data):
		return nil, refused("decompress it once by hand, then import the result", "a gzip file within a gzip file")
	}
	return data, nil
}

func isGzip(data []byte) bool { return bytes.HasPrefix(data, []byte("\x1f\x8b\x08")) }

// gunzip returns at most one byte more than maxBytes.
func gunzip(raw []byte) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.Grow(min(4*len(raw), maxBytes)) // track files shrink to a quarter or less
	_, err = io.Copy(&out, io.LimitReader(z, maxBytes+1))
	return out.Bytes(), err
}

func tooLarge(size int64) error {
	return refused(splitFile, "%d MB, more than the %d MB that a ride file may hold", size>>20, maxBytes>>20)
}

// checkStart refuses what begins before there were satellites or after the
// day of the import.
func (o Options) checkStart(t int64) error {
	day := time.UnixMilli(t).UTC().Format(time.DateOnly)
	switch {
	case t < year1990:
		return refused(clockHint, "it starts on %s: the device's clock was not set", day)
	case o.Now != 0 && t > int64(o.Now)+wear.Day:
		return refused(clockHint, "it starts on %s, in the future: the device's clock was wrong", day)
	}
	return nil
}
