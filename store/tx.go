package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"github.com/fxamacker/cbor/v2"
	"go.etcd.io/bbolt"

	"pawl/wear"
)

// Tx is one operation on the book. It must not be used after the function that
// it was given to has returned, nor by two goroutines at once.
type Tx struct {
	book      *Book
	bolt      *bbolt.Tx
	zone      *time.Location
	number    uint32 // of the book: the upper half of every id
	packs     *packs
	entry     *draft               // what the writes belong to; nil before Begin
	failed    error                // of Begin, reported by the first write
	wrote     bool                 // something is to be committed
	touched   map[wear.ID]struct{} // bikes whose spans may have to be cut anew
	parts     map[wear.ID]wear.Part
	numbered  map[string]int       // by kind, the number that was given last
	gearsDue  map[string]gearSum   // of bikes and spans, see followGears
	onsetsDue map[string]struct{}  // keys of spans, see adjustSpan
	newestDue map[wear.ID]struct{} // parts whose facts changed, see settleNewest
	shared    map[string]shared

	reads    *reads                  // what makes reading cheaper; nil where the transaction writes
	lastOn   recent                  // see piecesOn
	lastOf   recent                  // see piecesOf
	deriving map[wear.ID][]wear.Stay // of wheels; nil unless everything is derived anew
}

// shared remembers the rows of a table that rides refer to by number.
type shared struct {
	byID  map[uint32]any
	byKey map[string]uint32
}

// appendFill is how full pages are left in buckets that mostly grow at the end of
// a bike or of time: with bbolt's half a ride took 1.7 times the room.
const appendFill = 0.9

// codec writes records the same way every time: the audit compares bytes.
var codec = func() cbor.EncMode {
	mode, err := cbor.CoreDetEncOptions().EncMode()
	if err != nil {
		panic(err) // the options are constant
	}
	return mode
}()

// decoder takes text as it is: a name that a file system has need not be UTF-8.
var decoder = func() cbor.DecMode {
	mode, err := cbor.DecOptions{UTF8: cbor.UTF8DecodeInvalid}.DecMode()
	if err != nil {
		panic(err) // the options are constant
	}
	return mode
}()

func (b *Book) begin(bolt *bbolt.Tx) (*Tx, error) {
	meta := bolt.Bucket(bktMeta)
	id := meta.Get(keyID)
	zone, err := time.LoadLocation(string(meta.Get(keyZone)))
	if err != nil || len(id) != 4 {
		return nil, &DamagedError{Path: b.path, Why: "says no number or no time zone"}
	}
	b.zone.Store(zone)
	t := &Tx{
		book: b, bolt: bolt, zone: zone,
		number:    binary.BigEndian.Uint32(id),
		touched:   map[wear.ID]struct{}{},
		parts:     map[wear.ID]wear.Part{},
		numbered:  map[string]int{},
		gearsDue:  map[string]gearSum{},
		onsetsDue: map[string]struct{}{},
		newestDue: map[wear.ID]struct{}{},
		shared:    map[string]shared{},
	}
	if !bolt.Writable() {
		t.reads = newReads()
	} else {
		for _, name := range [][]byte{bktRides, bktGears, bktRideTimes, bktBefore, bktEntries} {
			bolt.Bucket(name).FillPercent = appendFill
		}
	}
	t.packs, err = openPacks(b, meta.Get(keyPack))
	return t, err
}

// commit settles what is derived, syncs the originals and then commits. Where
// nothing was written it spares the disk.
func (t *Tx) commit() error {
	if !t.wrote {
		return nil
	}
	if err := t.finish(); err != nil {
		return err
	}
	if err := t.bolt.Commit(); err != nil {
		return fmt.Errorf("book %q: %w", t.book.path, err)
	}
	return nil
}

// finish does all that comes before the commit.
func (t *Tx) finish() error {
	if err := t.settle(); err != nil {
		return err
	}
	if err := t.closeEntry(); err != nil {
		return err
	}
	return t.packs.seal(t.bolt.Bucket(bktMeta))
}

// Zone is the book's time zone: what a bare date and a week mean.
func (t *Tx) Zone() *time.Location { return t.zone }

// newID numbers a bike, a part or a dated fact.
func (t *Tx) newID() (wear.ID, error) {
	seq, err := t.bucket(bktMeta).NextSequence()
	if err != nil {
		return 0, err
	}
	if seq > 1<<32-1 {
		return 0, errors.New("the book has given all its numbers")
	}
	return wear.ID(uint64(t.number)<<32 | seq), nil
}

// set writes a fact, or deletes it where value is nil, remembers for undo what
// was there, and lets everything derived follow.
func (t *Tx) set(bucket, key, value []byte) error {
	if t.failed != nil {
		return t.failed
	}
	if t.entry == nil {
		return errors.New("a write before Begin")
	}
	before := t.bucket(bucket).Get(key)
	if bytes.Equal(before, value) && (before == nil) == (value == nil) {
		return nil
	}
	t.entry.remember(bucket, key, before)
	return t.write(bucket, key, value)
}

// keep writes what no entry remembers, or deletes it where value is nil: it needs
// no Begin.
func (t *Tx) keep(bucket, key, value []byte) error {
	if t.failed != nil {
		return t.failed
	}
	return t.write(bucket, key, value)
}

// write is set without memory.
func (t *Tx) write(bucket, key, value []byte) error {
	t.wrote = true
	b := t.bucket(bucket)
	before := clone(b.Get(key))
	if err := putOrDelete(b, key, value); err != nil {
		return err
	}
	if err := t.follow(string(bucket), key, change{before, value}); err != nil {
		return fmt.Errorf("%s: %w", bucket, err)
	}
	return nil
}

func putOrDelete(b *bbolt.Bucket, key, value []byte) error {
	if value == nil {
		return b.Delete(key)
	}
	return b.Put(key, value)
}

// put encodes a fact and sets it.
func (t *Tx) put(bucket, key []byte, fact any) error {
	value, err := codec.Marshal(fact)
	if err != nil {
		return err
	}
	return t.set(bucket, key, value)
}

// get decodes a fact; found is false where there is none.
func get[T any](t *Tx, bucket, key []byte) (fact T, found bool, err error) {
	raw := t.row(bucket, key)
	if raw == nil {
		return fact, false, nil
	}
	fact, err = decode[T](t, bucket, key, raw)
	return fact, true, err
}

func decode[T any](t *Tx, bucket, key, raw []byte) (fact T, err error) {
	err = decodeTo(t, bucket, key, raw, &fact)
	return fact, err
}

// decodeTo decodes into a fact that is there, and empty.
func decodeTo[T any](t *Tx, bucket, key, raw []byte, fact *T) error {
	if t.quick(raw, fact) {
		return nil
	}
	var whole T // what the quick reader left half done is not used
	if err := decoder.Unmarshal(raw, &whole); err != nil {
		return t.corrupt(string(bucket), key, err)
	}
	*fact = whole
	return nil
}

// list decodes all facts whose key begins with prefix, in order of key.
func list[T any](t *Tx, bucket, prefix []byte) ([]T, error) {
	all, give := roomFor[T](t, bucket)
	for k, v := range t.under(bucket, prefix) {
		all = append(all, *new(T))
		if err := decodeTo(t, bucket, k, v, &all[len(all)-1]); err != nil {
			return nil, err
		}
	}
	return give(all), nil
}
