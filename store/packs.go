package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"syscall"

	"go.etcd.io/bbolt"

	"pawl/wear"
)

// A record of a pack, so that originals can be got back without the book:
//
//	"pawl" 1 | hash 12 | name length 2 | bytes length 8 | crc32c 4 | name | bytes
//
// The hash is of the decompressed bytes, the checksum of name and bytes as kept.
const (
	packMagic  = "pawl\x01"
	packHeader = len(packMagic) + 12 + 2 + 8 + 4
	packSize   = 64 << 20 // a new pack begins when the next record would pass this
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

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
	fresh bool // a file was made: its folder must be synced
	moved bool // the book must be told
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
		return nil, &DamagedError{b.path, "says wrongly where the originals end"}
	}
	p.pack, p.size = binary.BigEndian.Uint32(meta), binary.BigEndian.Uint64(meta[4:])
	return p, nil
}

func (p *packs) path(pack uint32) string {
	return filepath.Join(p.dir, fmt.Sprintf("%06d.pack", pack))
}

// append writes a record at the end of the packs, not yet synced.
func (p *packs) append(h wear.Hash, name string, raw []byte) (place, error) {
	name = name[:min(len(name), 1<<16-1)]
	record := make([]byte, 0, packHeader+len(name)+len(raw))
	record = append(append(record, packMagic...), h[:]...)
	record = binary.BigEndian.AppendUint16(record, uint16(len(name)))
	record = binary.BigEndian.AppendUint64(record, uint64(len(raw)))
	sum := crc32.Update(crc32.Checksum([]byte(name), castagnoli), castagnoli, raw)
	record = binary.BigEndian.AppendUint32(record, sum)
	record = append(append(record, name...), raw...)
	if err := p.ready(uint64(len(record))); err != nil {
		return place{}, err
	}
	if _, err := p.file.WriteAt(record, int64(p.size)); err != nil {
		return place{}, err
	}
	at := place{Pack: p.pack, Offset: p.size, Length: uint64(len(record))}
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

// reopen opens the last pack and cuts off what no commit spoke of. A pack that
// is missing or too short is left alone for the audit to report.
func (p *packs) reopen() error {
	f, err := os.OpenFile(p.path(p.pack), os.O_RDWR, 0)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	info, err := f.Stat()
	switch {
	case err != nil:
		return errors.Join(err, f.Close())
	case uint64(info.Size()) < p.size:
		return f.Close()
	case uint64(info.Size()) > p.size:
		if err := f.Truncate(int64(p.size)); err != nil {
			return errors.Join(err, f.Close())
		}
	}
	p.file = f
	return nil
}

// begin makes the next pack, in place of one that no commit spoke of.
func (p *packs) begin() error {
	if err := os.MkdirAll(p.dir, 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(p.path(p.pack+1), os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	p.file, p.pack, p.size, p.fresh = f, p.pack+1, 0, true
	return nil
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

// openRecord takes a record apart and checks it.
func openRecord(h wear.Hash, record []byte) ([]byte, error) {
	rest := record[len(packMagic):]
	name := uint64(binary.BigEndian.Uint16(rest[12:]))
	size := binary.BigEndian.Uint64(rest[14:])
	sum := binary.BigEndian.Uint32(rest[22:])
	body := record[packHeader:]
	switch {
	case string(record[:len(packMagic)]) != packMagic || wear.Hash(rest[:12]) != h:
		return nil, errors.New("another record is there")
	case name > uint64(len(body)) || size != uint64(len(body))-name:
		return nil, errors.New("lengths do not agree")
	case crc32.Checksum(body, castagnoli) != sum:
		return nil, errors.New("checksum does not agree")
	}
	return body[name:], nil
}
