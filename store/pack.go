package store

import (
	"encoding/binary"
	"errors"
)

// reader takes packed records apart; the first error sticks.
type reader struct {
	buf []byte
	err error
}

var errShort = errors.New("record ends too soon")

// fail stops the reading, because of the first error.
func (r *reader) fail(err error) {
	if r.err == nil {
		r.err = err
	}
	r.buf = nil
}

func (r *reader) byte() byte {
	if len(r.buf) == 0 {
		r.fail(errShort)
		return 0
	}
	b := r.buf[0]
	r.buf = r.buf[1:]
	return b
}

// uvarint reads a number as binary.AppendUvarint writes it; a walk over a fleet
// reads ten million of them.
func (r *reader) uvarint() uint64 {
	var v uint64
	for i, b := range r.buf[:min(len(r.buf), binary.MaxVarintLen64)] {
		if b >= 0x80 {
			v |= uint64(b&0x7f) << (7 * i)
			continue
		}
		if i == binary.MaxVarintLen64-1 && b > 1 {
			break // more than 64 bits
		}
		r.buf = r.buf[i+1:]
		return v | uint64(b)<<(7*i)
	}
	r.fail(errShort)
	return 0
}

// varint reads one as binary.AppendVarint does.
func (r *reader) varint() int64 {
	v := r.uvarint()
	return int64(v>>1) ^ -int64(v&1)
}

// bytes returns the next n bytes, which belong to the record.
func (r *reader) bytes(n uint64) []byte {
	if n > uint64(len(r.buf)) {
		r.fail(errShort)
		return nil
	}
	b := r.buf[:n]
	r.buf = r.buf[n:]
	return b
}

// end is the error of a record that should now be used up.
func (r *reader) end() error {
	if r.err == nil && len(r.buf) > 0 {
		return errors.New("record is longer than it should be")
	}
	return r.err
}
