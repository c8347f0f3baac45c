package store

import (
	"encoding/binary"
	"fmt"

	"github.com/fxamacker/cbor/v2"

	"pawl/wear"
)

// deviceID is the number of a sensor in the devices table, where it is put if
// it is new; 0 = none.
func (t *Tx) deviceID(s wear.Sensor) (uint32, error) {
	if s == (wear.Sensor{}) {
		return 0, nil
	}
	raw, err := codec.Marshal(s)
	if err != nil {
		return 0, err
	}
	return t.sharedID(bktDevices, bktDeviceKey, raw)
}

// wordID is the same for text.
func (t *Tx) wordID(text string) (uint32, error) {
	if text == "" {
		return 0, nil
	}
	return t.sharedID(bktWords, bktWordKey, []byte(text))
}

// maxKey keeps a shared row below the longest key that bbolt takes.
const maxKey = 32_000

func (t *Tx) sharedID(table, index, row []byte) (uint32, error) {
	if len(row) > maxKey {
		return 0, fmt.Errorf("%s: %d bytes are too long a text", table, len(row))
	}
	rows := t.table(table)
	if id, ok := rows.byKey[string(row)]; ok {
		return id, nil
	}
	id, err := t.findShared(table, index, row)
	if err == nil {
		rows.byKey[string(row)] = id
	}
	return id, err
}

func (t *Tx) findShared(table, index, row []byte) (uint32, error) {
	if v := t.bucket(index).Get(row); v != nil {
		return binary.BigEndian.Uint32(v), nil
	}
	seq, err := t.bucket(table).NextSequence()
	if err != nil {
		return 0, err
	}
	id := binary.BigEndian.AppendUint32(nil, uint32(seq))
	if err := t.bucket(table).Put(id, row); err != nil {
		return 0, err
	}
	return uint32(seq), t.bucket(index).Put(row, id)
}

func (t *Tx) table(name []byte) shared {
	rows, ok := t.shared[string(name)]
	if !ok {
		rows = shared{map[uint32]any{}, map[string]uint32{}}
		t.shared[string(name)] = rows
	}
	return rows
}

// lookup is the row of that number; none where it is 0.
func lookup[T any](t *Tx, table []byte, id uint32, decode func([]byte) (T, error)) (row T, err error) {
	if id == 0 {
		return row, nil
	}
	rows := t.table(table)
	if known, ok := rows.byID[id]; ok {
		return known.(T), nil
	}
	raw := t.bucket(table).Get(binary.BigEndian.AppendUint32(nil, id))
	if raw == nil {
		return row, fmt.Errorf("%s %d: missing", table, id)
	}
	if row, err = decode(raw); err != nil {
		return row, fmt.Errorf("%s %d: %w", table, id, err)
	}
	rows.byID[id] = row
	return row, nil
}

// device reads the sensor whose number comes next in a record.
func (t *Tx) device(r *reader) (s wear.Sensor) {
	if id := uint32(r.uvarint()); r.err == nil {
		s, r.err = lookup(t, bktDevices, id, func(raw []byte) (s wear.Sensor, err error) {
			err = cbor.Unmarshal(raw, &s)
			return s, err
		})
	}
	return s
}

// wordOf is the inverse of wordID.
func (t *Tx) wordOf(id uint32) (string, error) {
	return lookup(t, bktWords, id, func(raw []byte) (string, error) { return string(raw), nil })
}

// word reads the text whose number comes next in a record.
func (t *Tx) word(r *reader) (text string) {
	if id := uint32(r.uvarint()); r.err == nil {
		text, r.err = t.wordOf(id)
	}
	return text
}

// text reads what packText wrote.
func (t *Tx) text(r *reader) (text string) {
	n := r.uvarint()
	if n&1 == 1 {
		return string(r.bytes(n >> 1))
	}
	if r.err == nil {
		text, r.err = t.wordOf(uint32(n >> 1))
	}
	return text
}
