package store

import (
	"cmp"
	"crypto/sha256"
	"errors"
	"slices"

	"pawl/wear"
)

// Refusal is a note on a file that was refused. It is no fact: no entry lists
// it, undo leaves it, and nothing is derived from it.
type Refusal struct {
	Path    string       `cbor:"1,keyasint"` // in full
	Format  wear.Format  `cbor:"2,keyasint,omitempty"`
	Why     string       `cbor:"3,keyasint"`
	Hint    string       `cbor:"4,keyasint,omitempty"` // what to do next; "" = nothing helps
	Size    int64        `cbor:"5,keyasint,omitempty"` // bytes
	Hash    wear.Hash    `cbor:"6,keyasint"`
	At      wear.Instant `cbor:"7,keyasint,omitempty"` // when it was first noted with this reason and these bytes
	Foreign bool         `cbor:"8,keyasint,omitempty"` // not in a format of rides: noted only so that it is told once
}

// refusalKey is where the note on the file at a path is.
func refusalKey(path string) []byte {
	sum := sha256.Sum256([]byte(path))
	return sum[:12]
}

// NoteRefusal notes why the file at a path was refused, in place of what was
// noted of that path before. Where that was the same of the same bytes nothing
// is written, and it stays dated as it was. At 0 is now. It needs no Begin.
func (t *Tx) NoteRefusal(r Refusal) (changed bool, err error) {
	if r.Path == "" {
		return false, errors.New("refusal: has no path")
	}
	key := refusalKey(r.Path)
	old, found, err := get[Refusal](t, bktRefusals, key)
	if err != nil {
		return false, err
	}
	if found && old.Path == r.Path && old.Hash == r.Hash && old.Why == r.Why && old.Hint == r.Hint {
		return false, nil
	}
	if r.At == 0 {
		r.At = wear.At(t.book.o.Now())
	}
	raw, err := codec.Marshal(r)
	if err != nil {
		return false, err
	}
	return true, t.keep(bktRefusals, key, raw)
}

// DropRefusal takes away the note on the file at a path, if there is one.
func (t *Tx) DropRefusal(path string) error {
	key := refusalKey(path)
	if t.bucket(bktRefusals).Get(key) == nil {
		return nil
	}
	return t.keep(bktRefusals, key, nil)
}

// Refusals are the notes on files that were refused, by path.
func (t *Tx) Refusals() ([]Refusal, error) {
	all, err := list[Refusal](t, bktRefusals, nil)
	slices.SortFunc(all, func(a, b Refusal) int { return cmp.Compare(a.Path, b.Path) })
	return all, err
}
