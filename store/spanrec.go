package store

import (
	"encoding/binary"
	"fmt"

	"pawl/wear"
)

// spanVersion is the first byte of a packed span: then its onset, then its
// packed sums. In a book of a format before onsetFormat a span is its sums alone.
const spanVersion = 2

// onsetFormat is the format from which spans have an onset.
const onsetFormat = 3

// spanRow is what a row of spans holds.
type spanRow struct {
	sums wear.Sums
	wear.Onset
	early bool // of an older book: it does not tell the onset
}

func packSpan(s spanRow) []byte {
	if s.early {
		return packSums(s.sums)
	}
	b := binary.AppendUvarint([]byte{spanVersion}, uint64(s.First))
	b = binary.AppendUvarint(b, uint64(s.ToLong))
	return append(b, packSums(s.sums)...)
}

func unpackSpan(raw []byte) (s spanRow, err error) {
	s.early, err = unpackSpanTo(raw, &s.sums, &s.Onset)
	return s, err
}

// unpackSpanTo unpacks a span into what is there, and empty; early is one of an
// older book, which does not tell its onset.
func unpackSpanTo(raw []byte, sums *wear.Sums, o *wear.Onset) (early bool, err error) {
	r := reader{buf: raw}
	switch v := r.byte(); {
	case v == sumsVersion && r.err == nil:
		return true, unpackSumsTo(raw, sums)
	case v != spanVersion && r.err == nil:
		return false, fmt.Errorf("span of version %d", v)
	}
	o.First, o.ToLong = int64(r.uvarint()), int64(r.uvarint())
	if r.err != nil {
		return false, r.err
	}
	return false, unpackSumsTo(r.buf, sums)
}

// onset reads how the span of a bike in [from, to) begins: its first rides, no
// further than it takes to tell.
func (t *Tx) onset(bike wear.ID, from, to wear.Instant) (o wear.Onset, err error) {
	o = wear.OnsetOf(func(yield func(wear.Ride) bool) {
		c := t.bucket(bktRides).Cursor()
		for k, v := c.Seek(idAt(bike, from)); within(k, bike) && instant(k[8:]) < to; k, v = c.Next() {
			ride, r := rideFigures(v)
			if r.err != nil {
				err = t.corrupt("ride", k, r.err)
				return
			}
			if !yield(ride) {
				return
			}
		}
	})
	return o, err
}

// adjustSpan rewrites the sums of a span; settle tells its onset anew.
func (t *Tx) adjustSpan(key []byte, fn func(wear.Sums) wear.Sums) error {
	var s spanRow
	if raw := t.bucket(bktSpans).Get(key); raw != nil {
		var err error
		if s, err = unpackSpan(raw); err != nil {
			return t.corrupt("spans", key, err)
		}
	}
	s.sums = fn(s.sums)
	t.onsetsDue[string(key)] = struct{}{}
	return t.bucket(bktSpans).Put(key, packSpan(s))
}

// settleOnsets writes down how the spans begin whose rides or ends changed.
func (t *Tx) settleOnsets() error {
	for k := range t.onsetsDue {
		delete(t.onsetsDue, k)
		if raw := t.bucket(bktSpans).Get([]byte(k)); raw != nil {
			if err := t.tellOnset([]byte(k), raw); err != nil {
				return err
			}
		}
	}
	return nil
}

// tellOnset writes the onset into the row of a span.
func (t *Tx) tellOnset(key, raw []byte) error {
	s, err := unpackSpan(raw)
	if err != nil {
		return t.corrupt("spans", key, err)
	}
	bike, end := idOf(key), wear.Never
	c := t.bucket(bktSpans).Cursor()
	c.Seek(key)
	if next, _ := c.Next(); within(next, bike) {
		end = instant(next[8:])
	}
	if s.Onset, err = t.onset(bike, instant(key[8:]), end); err != nil {
		return err
	}
	s.early = false
	return t.bucket(bktSpans).Put(key, packSpan(s))
}
