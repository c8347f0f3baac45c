package store

import (
	"fmt"

	"pawl/wear"
)

// FileFact is what the book knows of a file that was offered to it.
type FileFact struct {
	Hash    wear.Hash     `cbor:"-"`
	Name    string        `cbor:"1,keyasint,omitempty"` // as it was called, without the folder
	Size    int64         `cbor:"2,keyasint,omitempty"` // bytes as received
	Format  wear.Format   `cbor:"3,keyasint,omitempty"`
	Outcome string        `cbor:"4,keyasint"` // taken, twin, partial, not_ride, refused
	Why     string        `cbor:"5,keyasint,omitempty"`
	Rides   []wear.RideID `cbor:"6,keyasint,omitempty"`
	Entry   uint64        `cbor:"7,keyasint,omitempty"`
	Folder  string        `cbor:"-"` // in which it lay, in full, with slashes; "" = not known
}

// fileRow is a file fact as it is kept: with where its original is (pack 0 = not
// kept), and with its folder as the number of a shared word.
type fileRow struct {
	FileFact
	Place place  `cbor:"8,keyasint"`
	LayIn uint32 `cbor:"9,keyasint,omitempty"`
}

// AddFile adds what is known of a file, or replaces it, and keeps its bytes as
// they were received; nil = not kept (an original that is there already stays).
func (t *Tx) AddFile(f FileFact, raw []byte) error {
	if f.Hash == (wear.Hash{}) {
		return fmt.Errorf("file %q: has no hash", f.Name)
	}
	old, _, err := get[fileRow](t, bktFiles, f.Hash[:])
	if err != nil {
		return err
	}
	row := fileRow{FileFact: f, Place: old.Place}
	if row.LayIn, err = t.wordID(f.Folder); err != nil {
		return fmt.Errorf("file %q: folder: %w", f.Name, err)
	}
	if row.Entry == 0 && t.entry != nil {
		row.Entry = t.entry.Seq
	}
	if row.Place.Pack == 0 && raw != nil {
		if row.Place, err = t.packs.append(f.Hash, f.Name, raw); err != nil {
			return fmt.Errorf("file %q: %w", f.Name, err)
		}
	}
	return t.put(bktFiles, f.Hash[:], row)
}

// File returns what is known of a file.
func (t *Tx) File(h wear.Hash) (FileFact, bool, error) {
	row, found, err := get[fileRow](t, bktFiles, h[:])
	if err != nil {
		return row.FileFact, found, err
	}
	row.Hash = h
	if row.Folder, err = t.wordOf(row.LayIn); err != nil {
		err = t.corrupt("files", h[:], err)
	}
	return row.FileFact, found, err
}

// FileHashes are the hashes of all files that the book knows.
func (t *Tx) FileHashes() (map[wear.Hash]bool, error) {
	hashes := map[wear.Hash]bool{}
	err := t.bucket(bktFiles).ForEach(func(k, _ []byte) error {
		hashes[wear.Hash(k)] = true
		return nil
	})
	return hashes, err
}

// Original returns a file's bytes as they were received, also those that this
// operation added.
func (t *Tx) Original(h wear.Hash) ([]byte, error) {
	row, found, err := get[fileRow](t, bktFiles, h[:])
	if err != nil {
		return nil, err
	}
	if !found || row.Place.Pack == 0 {
		return nil, &UnknownError{Noun: "original", Name: h.String()}
	}
	raw, err := t.packs.read(h, row.Place)
	if err != nil {
		return nil, fmt.Errorf("original %q: %w", row.Name, err)
	}
	return raw, nil
}
