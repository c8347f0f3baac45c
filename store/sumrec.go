package store

import (
	"encoding/binary"
	"fmt"

	"pawl/wear"
)

// sumsVersion is the first byte of packed sums: then for each ground that was
// ridden in its number, rides, long rides, recorded and estimated load, and the
// rides that lack a quantity.
const sumsVersion = 1

func packSums(sums wear.Sums) []byte {
	b := []byte{sumsVersion}
	for g, s := range sums {
		if s == (wear.Sum{}) {
			continue
		}
		b = append(b, byte(g))
		b = binary.AppendUvarint(b, uint64(s.Rides))
		b = binary.AppendUvarint(b, uint64(s.Long))
		b = packLoad(packLoad(b, s.Recorded), s.Estimated)
		b = packLoad(b, wear.Load(s.Lacking))
	}
	return b
}

func unpackSums(raw []byte) (sums wear.Sums, err error) {
	err = unpackSumsTo(raw, &sums)
	return sums, err
}

// unpackSumsTo unpacks into sums that are there, and empty: they are large.
func unpackSumsTo(raw []byte, sums *wear.Sums) error {
	r := reader{buf: raw}
	if v := r.byte(); v != sumsVersion {
		return fmt.Errorf("sums of version %d", v)
	}
	for len(r.buf) > 0 && r.err == nil {
		g := r.byte()
		if int(g) >= len(sums) {
			return fmt.Errorf("ground %d: not known", g)
		}
		s := &sums[g]
		s.Rides, s.Long = int64(r.uvarint()), int64(r.uvarint())
		r.load(&s.Recorded)
		r.load(&s.Estimated)
		r.load((*wear.Load)(&s.Lacking))
	}
	return r.end()
}
