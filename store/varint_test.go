package store

import (
	"encoding/binary"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The standard library is the reference: whatever the bytes, both read the same.
func TestVarintsAsTheStandardLibraryReadsThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := rapid.SliceOfN(rapid.Byte(), 0, 12).Draw(t, "raw")
		switch rapid.IntRange(0, 2).Draw(t, "sort") {
		case 0:
			raw = binary.AppendUvarint(nil, rapid.Uint64().Draw(t, "number"))
		case 1:
			raw = binary.AppendVarint(nil, rapid.Int64().Draw(t, "signed"))
		}
		want, n := binary.Uvarint(raw)
		r := reader{buf: raw}
		have := r.uvarint()
		require.Equal(t, n <= 0, r.err != nil)
		if n > 0 {
			require.Equal(t, want, have)
			require.Equal(t, raw[n:], r.buf)
			signed, _ := binary.Varint(raw)
			s := reader{buf: raw}
			require.Equal(t, signed, s.varint())
		}
	})
}
