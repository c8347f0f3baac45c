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

func (r *reader) uvarint() uint64 {
	v, n := binary.Uvarint(r.buf)
	if n <= 0 {
		r.fail(errShort)
		return 0
	}
	r.buf = r.buf[n:]
	return v
}

func (r *reader) varint() int64 {
	v, n := binary.Varint(r.buf)
	if n <= 0 {
		r.fail(errShort)
		return 0
	}
	r.buf = r.buf[n:]
	return v
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
