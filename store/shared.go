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

// lookup reads the row of the number that comes next in a record.
func lookup[T any](t *Tx, r *reader, table []byte, decode func([]byte) (T, error)) (row T) {
	id := uint32(r.uvarint())
	if id == 0 || r.err != nil {
		return row
	}
	rows := t.table(table)
	if known, ok := rows.byID[id]; ok {
		return known.(T)
	}
	raw := t.bucket(table).Get(binary.BigEndian.AppendUint32(nil, id))
	if raw == nil {
		r.err = fmt.Errorf("%s %d: missing", table, id)
		return row
	}
	row, err := decode(raw)
	if err != nil {
		r.err = fmt.Errorf("%s %d: %w", table, id, err)
	}
	rows.byID[id] = row
	return row
}

func (t *Tx) device(r *reader) wear.Sensor {
	return lookup(t, r, bktDevices, func(raw []byte) (s wear.Sensor, err error) {
		err = cbor.Unmarshal(raw, &s)
		return s, err
	})
}

func (t *Tx) text(r *reader) string {
	n := r.uvarint()
	if n&1 == 1 {
		return string(r.bytes(n >> 1))
	}
	word := reader{buf: binary.AppendUvarint(nil, n>>1), err: r.err}
	text := lookup(t, &word, bktWords, func(raw []byte) (string, error) { return string(raw), nil })
	r.err = word.err
	return text
}
