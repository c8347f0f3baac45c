package store

import (
	"encoding/binary"

	"pawl/wear"
)

// packGears packs both histograms: for each a count, then per gear the step
// from the bin before, turns and work. Nil where both are empty.
func packGears(g wear.Gears) []byte {
	if len(g.ByDevelopment)+len(g.ByNumber) == 0 {
		return nil
	}
	var b []byte
	for _, list := range [][]wear.Gear{g.ByDevelopment, g.ByNumber} {
		b = binary.AppendUvarint(b, uint64(len(list)))
		var bin int16
		for _, gear := range list {
			b = binary.AppendVarint(b, int64(gear.Bin)-int64(bin))
			b = binary.AppendVarint(b, gear.Turns)
			b = binary.AppendVarint(b, gear.Work)
			bin = gear.Bin
		}
	}
	return b
}

// unpackGears is the inverse of packGears.
func unpackGears(raw []byte) (g wear.Gears, err error) {
	if raw == nil {
		return g, nil
	}
	r := reader{buf: raw}
	for _, list := range []*[]wear.Gear{&g.ByDevelopment, &g.ByNumber} {
		var bin int64
		for n := r.count(); n > 0; n-- {
			bin += r.varint()
			*list = append(*list, wear.Gear{Bin: int16(bin), Turns: r.varint(), Work: r.varint()})
		}
	}
	return g, r.end()
}
