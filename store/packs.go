package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"syscall"

	"go.etcd.io/bbolt"

	"pawl/wear"
)

// packSize is where a pack ends: a new one begins when the next record would pass it.
const packSize = 64 << 20

// place is where an original lies.
type place struct {
	_      struct{} `cbor:",toarray"`
	Pack   uint32   // 0 = nowhere
	Offset uint64   // of the record
	Length uint64   // of the whole record
}

// packs are the originals beside the book: what the book says is there, and
// what this transaction adds.
type packs struct {
	dir   string
	limit uint64
	pack  uint32 // the last one; 0 = none yet
	size  uint64 // of it, as far as the book knows or this transaction wrote
	file  *os.File
	fresh bool    // a file was made: its folder must be synced
	moved bool    // the book must be told
	began []place // where this transaction began to write, in each pack
}

// OriginalsDir is the folder of originals that belongs to a book.
func OriginalsDir(book string) string { return book + ".originals" }

// openPacks reads the end of the packs from the book; it opens no file.
func openPacks(b *Book, meta []byte) (*packs, error) {
	p := &packs{dir: OriginalsDir(b.path), limit: b.packLimit}
	if meta == nil {
		return p, nil
	}
	if len(meta) != 12 {
		return nil, &DamagedError{Path: b.path, Why: "says wrongly where the originals end"}
	}
	p.pack, p.size = binary.BigEndian.Uint32(meta), binary.BigEndian.Uint64(meta[4:])
	return p, nil
}

func (p *packs) path(pack uint32) string {
	return filepath.Join(p.dir, fmt.Sprintf("%06d.pack", pack))
}

// append writes a record at the end of the packs, not yet synced.
func (p *packs) append(h wear.Hash, name string, raw []byte) (place, error) {
	record := makeRecord(h, name, raw)
	if err := p.ready(uint64(len(record))); err != nil {
		return place{}, err
	}
	if _, err := p.file.WriteAt(record, int64(p.size)); err != nil {
		return place{}, err
	}
	at := place{Pack: p.pack, Offset: p.size, Length: uint64(len(record))}
	if n := len(p.began); n == 0 || p.began[n-1].Pack != p.pack {
		p.began = append(p.began, at)
	}
	p.size += at.Length
	p.moved = true
	return at, nil
}

// ready opens the pack that the next n bytes go to.
func (p *packs) ready(n uint64) error {
	if p.file == nil && p.pack > 0 {
		if err := p.reopen(); err != nil {
			return err
		}
	}
	if p.file != nil && (p.size == 0 || p.size+n <= p.limit) {
		return nil
	}
	if err := p.sync(); err != nil {
		return err
	}
	p.close()
	return p.begin()
}

// reopen opens the last pack. A torn record beyond what the book knows is cut
// off. Whole ones there are originals that another copy of the book knows: they
// are left alone, as is a pack that is missing or too short, for the audit to
// report; a new pack begins.
func (p *packs) reopen() error {
	f, err := os.OpenFile(p.path(p.pack), os.O_RDWR, 0)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	free, err := cutTail(f, p.size)
	if err != nil || !free {
		return errors.Join(err, f.Close())
	}
	p.file = f
	return nil
}

// begin makes the next pack, in place of one that holds nothing whole.
func (p *packs) begin() error {
	if err := os.MkdirAll(p.dir, 0o700); err != nil {
		return err
	}
	for next := p.pack + 1; ; next++ {
		f, err := os.OpenFile(p.path(next), os.O_RDWR|os.O_CREATE, 0o600)
		if err != nil {
			return err
		}
		free, err := cutTail(f, 0)
		if err == nil && free {
			p.file, p.pack, p.size, p.fresh = f, next, 0, true
			return nil
		}
		if err = errors.Join(err, f.Close()); err != nil {
			return err
		}
	}
}

// takeBack removes what this transaction wrote, when it has failed before the
// book could speak of it. What stays after all only takes room.
func (p *packs) takeBack() {
	p.close()
	for _, b := range p.began {
		if b.Offset > 0 {
			_ = os.Truncate(p.path(b.Pack), int64(b.Offset))
		} else {
			_ = os.Remove(p.path(b.Pack))
		}
	}
}

func (p *packs) sync() error {
	if p.file == nil {
		return nil
	}
	return p.file.Sync()
}

// seal makes sure that what was appended stays, before the book speaks of it.
func (p *packs) seal(meta *bbolt.Bucket) error {
	if !p.moved {
		return nil
	}
	if err := p.sync(); err != nil {
		return err
	}
	if p.fresh {
		for _, dir := range []string{p.dir, filepath.Dir(p.dir)} {
			if err := syncDir(dir); err != nil {
				return err
			}
		}
	}
	v := binary.BigEndian.AppendUint32(nil, p.pack)
	return meta.Put(keyPack, binary.BigEndian.AppendUint64(v, p.size))
}

// syncDir makes sure that the names in a folder stay.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = d.Sync()
	_ = d.Close()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) || runtime.GOOS == "windows" {
		return nil // some file systems cannot
	}
	return err
}

func (p *packs) close() {
	if p.file != nil {
		_ = p.file.Close()
		p.file = nil
	}
}

// read returns the bytes of a record, checked.
func (p *packs) read(h wear.Hash, at place) ([]byte, error) {
	f, err := os.Open(p.path(at.Pack))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if end := at.Offset + at.Length; end < at.Length || end > uint64(info.Size()) || at.Length < uint64(packHeader) {
		return nil, fmt.Errorf("pack %q: cut off", f.Name())
	}
	record := make([]byte, at.Length)
	if _, err := f.ReadAt(record, int64(at.Offset)); err != nil {
		return nil, err
	}
	raw, err := openRecord(h, record)
	if err != nil {
		err = fmt.Errorf("pack %q at %d: %w", f.Name(), at.Offset, err)
	}
	return raw, err
}
