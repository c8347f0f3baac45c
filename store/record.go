package store

import (
	"encoding/binary"
	"errors"
	"hash/crc32"
	"io"
	"os"
	"sync"

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
)

// castagnoli is made when it is first used: a start needs it only with an original.
var castagnoli = sync.OnceValue(func() *crc32.Table { return crc32.MakeTable(crc32.Castagnoli) })

func makeRecord(h wear.Hash, name string, raw []byte) []byte {
	name = name[:min(len(name), 1<<16-1)]
	record := make([]byte, 0, packHeader+len(name)+len(raw))
	record = append(append(record, packMagic...), h[:]...)
	record = binary.BigEndian.AppendUint16(record, uint16(len(name)))
	record = binary.BigEndian.AppendUint64(record, uint64(len(raw)))
	sum := crc32.Update(crc32.Checksum([]byte(name), castagnoli()), castagnoli(), raw)
	record = binary.BigEndian.AppendUint32(record, sum)
	return append(append(record, name...), raw...)
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
	case crc32.Checksum(body, castagnoli()) != sum:
		return nil, errors.New("checksum does not agree")
	}
	return body[name:], nil
}

// cutTail cuts a pack off at size, where the next record is to go. It is not
// free where there is less than that, or where a whole record comes next.
func cutTail(f *os.File, size uint64) (free bool, err error) {
	info, err := f.Stat()
	if err != nil || uint64(info.Size()) <= size {
		return err == nil && uint64(info.Size()) == size, err
	}
	whole, err := wholeRecord(io.NewSectionReader(f, int64(size), info.Size()-int64(size)))
	if err != nil || whole {
		return false, err
	}
	return true, f.Truncate(int64(size))
}

// wholeRecord reports whether a tail of a pack begins with a whole record.
func wholeRecord(tail *io.SectionReader) (bool, error) {
	head := make([]byte, packHeader)
	switch _, err := io.ReadFull(tail, head); {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return false, nil
	case err != nil:
		return false, err
	}
	rest := head[len(packMagic)+12:]
	name, size := uint64(binary.BigEndian.Uint16(rest)), binary.BigEndian.Uint64(rest[2:])
	room := uint64(tail.Size()) - uint64(packHeader)
	if string(head[:len(packMagic)]) != packMagic || size > room || name > room-size {
		return false, nil
	}
	sum := crc32.New(castagnoli())
	_, err := io.CopyN(sum, tail, int64(name+size))
	return err == nil && sum.Sum32() == binary.BigEndian.Uint32(rest[10:]), err
}
