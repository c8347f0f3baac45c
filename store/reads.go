package store

import (
	"bytes"
	"iter"
	"slices"

	"go.etcd.io/bbolt"

	"pawl/wear"
)

// reads is what a transaction that only reads remembers, so that a walk over a
// fleet does not look up the same again and again. Nothing of it can go stale.
type reads struct {
	buckets map[string]*bbolt.Bucket
	hands   map[string]*hand
	texts   map[string]string
	stays   map[wear.ID][]wear.Stay   // of parts, as entered
	hosted  map[stayName]wear.Stay    // on the bikes and wheels looked at last
	bikes   map[wear.ID]bool          // whether an ID is a bike's
	wide    map[string][]wear.Setting // settings of kinds, models and the book
	weeks   map[uint16]wear.Instant   // when they begin
	room    map[string]any            // by bucket, where lists of its facts grow
	lender  lender                    // see CaseToAssess
}

// stayName is what tells a stay from all others.
type stayName struct {
	part, host wear.ID
	from       wear.Instant
}

// readsKept is how much of a sort is remembered: what belongs to one bike is asked
// for again soon or never.
const readsKept = 4096

func newReads() *reads {
	return &reads{
		buckets: map[string]*bbolt.Bucket{}, hands: map[string]*hand{}, texts: map[string]string{},
		stays: map[wear.ID][]wear.Stay{}, hosted: map[stayName]wear.Stay{}, bikes: map[wear.ID]bool{}, wide: map[string][]wear.Setting{},
		weeks: map[uint16]wear.Instant{}, room: map[string]any{},
	}
}

// remembered is what a map holds for a key, or else what find finds.
func remembered[K comparable, V any](known map[K]V, key K, find func() (V, error)) (V, error) {
	if v, ok := known[key]; ok {
		return v, nil
	}
	v, err := find()
	if err != nil {
		return v, err
	}
	if len(known) >= readsKept {
		clear(known)
	}
	known[key] = v
	return v, nil
}

// roomFor is where a list of a bucket's facts can grow, and what makes it one of its
// own in the end: one allocation, of the right size. A long one grows as any does.
func roomFor[T any](t *Tx, bucket []byte) (room []T, give func([]T) []T) {
	if t.reads == nil {
		return nil, func(all []T) []T { return all }
	}
	kept, _ := t.reads.room[string(bucket)].(*[]T)
	if kept == nil {
		kept = new([]T)
	}
	delete(t.reads.room, string(bucket)) // it is lent
	return (*kept)[:0], func(all []T) []T {
		if len(all) > readsKept {
			return all // too much to keep: it is given away
		}
		*kept = all
		t.reads.room[string(bucket)] = kept
		if len(all) == 0 {
			return nil
		}
		return slices.Clone(all)
	}
}

// bucket is the bucket of a name, nil where an older book does not have it. bbolt
// remembers those of a transaction that writes.
func (t *Tx) bucket(name []byte) *bbolt.Bucket {
	if t.reads == nil {
		return t.bolt.Bucket(name)
	}
	b, known := t.reads.buckets[string(name)]
	if !known {
		b = t.bolt.Bucket(name)
		t.reads.buckets[string(name)] = b
	}
	return b
}

// hand is a cursor that stands where the last search left it: often that is where
// the next one would lead, because the parts of a bike have neighbouring numbers.
type hand struct {
	c      *bbolt.Cursor
	before []byte // no row lies between this key, or what was sought, and k
	passed bool   // before is a row's own key
	sought []byte
	k, v   []byte // where it stands; k = nil: behind the last row
	out    bool   // somebody is using it
}

// seek goes to the first row at or behind a key.
func (h *hand) seek(key []byte) {
	if h.before != nil {
		since := bytes.Compare(h.before, key)
		if since < 0 || since == 0 && !h.passed {
			if h.reached(key) {
				return
			}
			if h.next(); h.reached(key) { // a step costs a tenth of a search
				return
			}
		}
	}
	h.k, h.v = h.c.Seek(key)
	h.sought = append(h.sought[:0], key...)
	h.before, h.passed = h.sought, false
}

// reached reports whether the hand stands at or behind a key.
func (h *hand) reached(key []byte) bool { return h.k == nil || bytes.Compare(key, h.k) <= 0 }

func (h *hand) next() {
	h.before, h.passed = h.k, true
	h.k, h.v = h.c.Next()
}

// hand lends the cursor of a bucket, or a new one where it is in use or the
// transaction writes; nil where there is no such bucket.
func (t *Tx) hand(bucket []byte) *hand {
	if t.reads != nil {
		if h := t.reads.hands[string(bucket)]; h != nil && !h.out {
			return h
		}
	}
	b := t.bucket(bucket)
	if b == nil {
		return nil
	}
	h := &hand{c: b.Cursor()}
	if t.reads != nil && t.reads.hands[string(bucket)] == nil {
		t.reads.hands[string(bucket)] = h
	}
	return h
}

// row is what is kept under a key; nil = nothing. A bucket that an older book does
// not have yet is empty.
func (t *Tx) row(bucket, key []byte) []byte {
	if t.reads == nil {
		if b := t.bucket(bucket); b != nil {
			return b.Get(key)
		}
		return nil
	}
	h := t.hand(bucket)
	if h == nil {
		return nil
	}
	if h.seek(key); !bytes.Equal(h.k, key) {
		return nil
	}
	return h.v
}

// under goes through the rows whose key begins with prefix, in order of key. A
// bucket that an older book does not have yet is empty.
func (t *Tx) under(bucket, prefix []byte) iter.Seq2[[]byte, []byte] {
	return t.from(bucket, prefix, len(prefix))
}

// from goes through the rows from a key on that agree with it in their first bytes.
func (t *Tx) from(bucket, key []byte, agree int) iter.Seq2[[]byte, []byte] {
	return func(yield func(k, v []byte) bool) {
		h := t.hand(bucket)
		if h == nil {
			return
		}
		h.out = true
		defer func() { h.out = false }()
		for h.seek(key); h.k != nil && bytes.HasPrefix(h.k, key[:agree]) && yield(h.k, h.v); h.next() {
		}
	}
}
