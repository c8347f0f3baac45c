package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"iter"
	"slices"
	"strings"

	"pawl/wear"
)

// Entry is one line of the book's history: a command, or a batch of an import.
type Entry struct {
	Seq    uint64       `cbor:"-"`
	At     wear.Instant `cbor:"1,keyasint"`
	Who    string       `cbor:"2,keyasint,omitempty"` // a person's id, never a name
	Verb   string       `cbor:"3,keyasint"`
	Target string       `cbor:"4,keyasint,omitempty"`
	Undoes uint64       `cbor:"5,keyasint,omitempty"` // the entry that this one takes back
	Undone uint64       `cbor:"6,keyasint,omitempty"` // the entry that took this one back
	Erased bool         `cbor:"7,keyasint,omitempty"` // what was before it named a person who was forgotten: it stays
}

// ErrNothingToUndo is returned when no entry is left to take back.
var ErrNothingToUndo = errors.New("nothing left to undo")

// draft is the entry being written.
type draft struct {
	Entry
	before []byte // packed, see remember
	writes int
}

// Begin names the entry that the writes after it belong to: one for each
// command or batch of an import. An entry without writes leaves no trace.
func (t *Tx) Begin(verb, target, who string) {
	t.failed = t.begun(Entry{Who: who, Verb: verb, Target: target})
}

// begun closes the entry before and opens e; the first write reports its error.
func (t *Tx) begun(e Entry) error {
	if err := t.closeEntry(); err != nil {
		return err
	}
	seq, err := t.bucket(bktEntries).NextSequence()
	if err != nil {
		return err
	}
	e.Seq, e.At = seq, wear.At(t.book.o.Now())
	t.entry = &draft{Entry: e}
	return nil
}

// closeEntry writes the entry down.
// Wrote is the entry that this transaction's writes belong to so far; ok is false
// where nothing was written under one.
func (t *Tx) Wrote() (e Entry, ok bool) {
	if t.entry == nil || t.entry.writes == 0 {
		return Entry{}, false
	}
	return t.entry.Entry, true
}

func (t *Tx) closeEntry() error {
	d := t.entry
	t.entry = nil
	if d == nil || d.writes == 0 {
		return nil
	}
	if err := t.bucket(bktBefore).Put(be64(nil, d.Seq), d.before); err != nil {
		return err
	}
	return t.putEntry(d.Entry)
}

// Try runs fn. Where it fails, what it wrote to the entry at hand is taken back,
// as if it had never been; all that comes before and after it stays.
func (t *Tx) Try(fn func() error) error {
	d := t.entry
	if d == nil {
		return errors.New("a try before Begin")
	}
	from, writes := len(d.before), d.writes
	failed := fn()
	if failed == nil || t.entry != d {
		return failed
	}
	tried, err := images(d.before[from:])
	if err == nil {
		err = t.restore(tried)
	}
	d.before, d.writes = d.before[:from], writes
	if err != nil {
		return errors.Join(failed, err)
	}
	return failed
}

// restore writes back what was before the writes, the last first.
func (t *Tx) restore(writes []image) error {
	for _, w := range slices.Backward(writes) {
		if err := t.write(w.bucket, w.key, w.before); err != nil {
			return err
		}
	}
	return nil
}

func (t *Tx) putEntry(e Entry) error {
	t.wrote = true
	raw, err := codec.Marshal(e)
	if err != nil {
		return err
	}
	return t.bucket(bktEntries).Put(be64(nil, e.Seq), raw)
}

// remember appends what was there before a write: bucket, key, and 0 for
// nothing or 1 + length and the bytes.
func (d *draft) remember(bucket, key, before []byte) {
	d.writes++
	for i, name := range factBuckets {
		if bytes.Equal(name, bucket) {
			d.before = append(d.before, byte(i))
		}
	}
	d.before = binary.AppendUvarint(d.before, uint64(len(key)))
	d.before = append(d.before, key...)
	if before == nil {
		d.before = append(d.before, 0)
		return
	}
	d.before = binary.AppendUvarint(d.before, 1+uint64(len(before)))
	d.before = append(d.before, before...)
}

// image is one remembered write.
type image struct{ bucket, key, before []byte }

// images unpacks what remember packed.
func images(raw []byte) ([]image, error) {
	var all []image
	r := reader{buf: raw}
	for len(r.buf) > 0 && r.err == nil {
		i := int(r.byte())
		key := r.bytes(r.uvarint())
		var before []byte
		if n := r.uvarint(); n > 0 {
			before = r.bytes(n - 1)
		}
		if r.err == nil && i < len(factBuckets) {
			all = append(all, image{factBuckets[i], clone(key), clone(before)})
		}
	}
	return all, r.err
}

// Entries are the book's history, oldest or newest first.
func (t *Tx) Entries(newestFirst bool) iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		c := t.bucket(bktEntries).Cursor()
		start, step := c.First, c.Next
		if newestFirst {
			start, step = c.Last, c.Prev
		}
		for k, v := start(); k != nil; k, v = step() {
			e, err := decode[Entry](t, bktEntries, k, v)
			e.Seq = binary.BigEndian.Uint64(k)
			if !yield(e, err) || err != nil {
				return
			}
		}
	}
}

// Undo takes back the newest entry not taken back, as an entry of its own that
// cannot itself be taken back, and returns the entry that it took back. What is
// derived follows; files' originals stay in their pack. An erased entry cannot be
// taken back, nor can what is older: what came after it would not fit.
func (t *Tx) Undo() (Entry, error) {
	who := ""
	if t.entry != nil {
		who = t.entry.Who
	}
	if err := t.closeEntry(); err != nil {
		return Entry{}, err
	}
	for e, err := range t.Entries(true) {
		if err != nil {
			return e, err
		}
		if e.Undoes == 0 && e.Undone == 0 {
			return t.takeBack(e, who)
		}
	}
	return Entry{}, ErrNothingToUndo
}

func (t *Tx) takeBack(e Entry, who string) (Entry, error) {
	if e.Erased {
		return e, &ConflictError{"entry", strings.TrimSpace(e.Verb + " " + e.Target),
			"cannot be taken back, nor can what is older: what was before it went with a person who was forgotten", "enter what is right instead"}
	}
	key := be64(nil, e.Seq)
	writes, err := images(t.bucket(bktBefore).Get(key))
	if err != nil {
		return e, t.corrupt("before", key, err)
	}
	if err := t.restore(writes); err != nil {
		return e, err
	}
	undo := Entry{Verb: "undo", Target: strings.TrimSpace(e.Verb + " " + e.Target), Who: who, Undoes: e.Seq}
	if err := t.begun(undo); err != nil {
		return e, err
	}
	undo, t.entry = t.entry.Entry, nil
	e.Undone = undo.Seq
	if err := t.putEntry(undo); err != nil {
		return e, err
	}
	return e, t.putEntry(e)
}
