package store

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"pawl/wear"
)

// bias makes instants before 1970 sort below later ones; 48 bits of
// milliseconds reach 4,460 years either way.
const bias = 1 << 47

// first and last bound the instants that a fact may have: 1900 to 2200.
const (
	first wear.Instant = -2_208_988_800_000
	last  wear.Instant = 7_258_118_400_000
)

// dateable refuses instants that no ride or repair can have.
func dateable(noun string, at wear.Instant) error {
	if at >= first && at < last {
		return nil
	}
	return &ConflictError{noun, fmt.Sprint(int64(at)), "dated before 1900 or after 2199", "check the date"}
}

func be64(k []byte, v uint64) []byte { return binary.BigEndian.AppendUint64(k, v) }

func id8(id wear.ID) []byte { return be64(make([]byte, 0, 8), uint64(id)) }

// be48 appends an instant in 6 bytes that sort.
func be48(k []byte, at wear.Instant) []byte {
	v := uint64(at + bias)
	switch {
	case at <= -bias:
		v = 0
	case at >= bias-1:
		v = 1<<48 - 1
	}
	return append(k, byte(v>>40), byte(v>>32), byte(v>>24), byte(v>>16), byte(v>>8), byte(v))
}

// instant is the inverse of be48.
func instant(b []byte) wear.Instant {
	v := uint64(b[0])<<40 | uint64(b[1])<<32 | uint64(b[2])<<24 | uint64(b[3])<<16 | uint64(b[4])<<8 | uint64(b[5])
	switch v {
	case 0:
		return wear.Ever
	case 1<<48 - 1:
		return wear.Never
	}
	return wear.Instant(v) - bias
}

func idOf(b []byte) wear.ID { return wear.ID(binary.BigEndian.Uint64(b)) }

// idAt is the key of a span, a stay of a part, or the start of a range.
func idAt(id wear.ID, at wear.Instant) []byte {
	return be48(be64(make([]byte, 0, 22), uint64(id)), at)
}

func stayKey(s wear.Stay) []byte { return be64(idAt(s.Host, s.From), uint64(s.Part)) }

func rideKey(bike wear.ID, start wear.Instant, id wear.RideID) []byte {
	return append(idAt(bike, start), id[:6]...)
}

func datedKey(part wear.ID, at wear.Instant, id uint64) []byte { return be64(idAt(part, at), id) }

func weekKey(bike wear.ID, week uint16) []byte {
	return binary.BigEndian.AppendUint16(be64(make([]byte, 0, 10), uint64(bike)), week)
}

// within reports whether k begins with the id.
func within(k []byte, id wear.ID) bool { return len(k) >= 8 && idOf(k) == id }

func clone(b []byte) []byte { return bytes.Clone(b) }
