package store

import (
	"encoding/binary"

	"pawl/wear"
)

// packGears packs the histograms: for each a count, then per gear the step from
// the bin before, turns and work; the last is left out where it is empty, as in
// books of before. Nil where all are empty.
func packGears(g wear.Gears) []byte {
	lists := [][]wear.Gear{g.ByDevelopment, g.ByNumber, g.Teeth}
	if len(g.Teeth) == 0 {
		lists = lists[:2]
	}
	if len(g.ByDevelopment)+len(g.ByNumber)+len(g.Teeth) == 0 {
		return nil
	}
	var b []byte
	for _, list := range lists {
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
func unpackGears(raw []byte) (wear.Gears, error) {
	return unpackGearsInto(raw, func(n int) []wear.Gear { return make([]wear.Gear, n) })
}

// unpackGearsInto unpacks into lists of the length that room is asked for.
func unpackGearsInto(raw []byte, room func(n int) []wear.Gear) (g wear.Gears, err error) {
	if raw == nil {
		return g, nil
	}
	r := reader{buf: raw}
	for i, list := range []*[]wear.Gear{&g.ByDevelopment, &g.ByNumber, &g.Teeth} {
		if i == 2 && len(r.buf) == 0 {
			break
		}
		n := r.count()
		if n > 0 {
			*list = room(int(n))
		}
		var bin int64
		for i := range *list {
			bin += r.varint()
			(*list)[i] = wear.Gear{Bin: int16(bin), Turns: r.varint(), Work: r.varint()}
		}
	}
	return g, r.end()
}
