package store

import (
	"encoding/binary"
	"fmt"
	"strings"

	"pawl/wear"
)

// rideVersion is the first byte of a packed ride. Another layout takes another
// number, and the earlier ones stay readable: version 1 had no marks, version 2
// no ride that counts in its place, no alone and no because.
//
//	version | marks: marked, uplift<<2, salvaged<<4, unlike<<5, of<<6 | of (12) where marked | n unlike, each (12), where marked
//	rule<<4 state | format<<4 ground | lacking
//	recorded: set, uvarint each | estimated: set, uvarint each
//	elapsed | offset | sums version | leg | entry | rest of the id (6)
//	1 file (12) or 0 | device | n sensors, each | profile | n notes, each | title | because
//
// Devices, profiles, reasons and notes without figures are numbers in shared
// tables: a season's rides name the same few.
const rideVersion = 3

// The marks above the first four bits.
const (
	markSalvaged = 1 << (4 + iota)
	markUnlike
	markOf
)

// knownMarks are the bits that the marks of each version may have.
var knownMarks = [rideVersion + 1]byte{2: markSalvaged<<1 - 1, 3: markOf<<1 - 1}

// packRide packs all but what the key holds: bike, start, first half of the id.
func (t *Tx) packRide(r wear.Ride) ([]byte, error) {
	b := make([]byte, 0, 128)
	b = append(b, rideVersion, packMarks(r))
	if r.Of != (wear.RideID{}) {
		b = append(b, r.Of[:]...)
	}
	b = packUnlike(b, r.Unlike)
	b = append(b, byte(r.Rule)<<4|byte(r.State), byte(r.Format)<<4|byte(r.Ground), byte(r.Lacking))
	b = packLoad(packLoad(b, r.Recorded), r.Estimated)
	b = binary.AppendVarint(b, r.Elapsed)
	b = binary.AppendVarint(b, int64(r.Offset))
	b = append(b, r.Version, r.Leg)
	b = binary.AppendUvarint(b, r.Entry)
	b = append(b, r.ID[6:]...)
	if r.File == (wear.Hash{}) {
		b = append(b, 0)
	} else {
		b = append(append(b, 1), r.File[:]...)
	}
	b, err := t.packSensors(b, r)
	if err != nil {
		return nil, err
	}
	return t.packTexts(b, r)
}

func packMarks(r wear.Ride) byte {
	marks := byte(r.Marked) | byte(r.Uplift)<<2
	if r.Salvaged {
		marks |= markSalvaged
	}
	if len(r.Unlike) > 0 {
		marks |= markUnlike
	}
	if r.Of != (wear.RideID{}) {
		marks |= markOf
	}
	return marks
}

func (t *Tx) packSensors(b []byte, r wear.Ride) ([]byte, error) {
	id, err := t.deviceID(r.Device)
	if err != nil {
		return nil, err
	}
	b = binary.AppendUvarint(b, uint64(id))
	b = binary.AppendUvarint(b, uint64(len(r.Sensors)))
	for _, s := range r.Sensors {
		if id, err = t.deviceID(s); err != nil {
			return nil, err
		}
		b = binary.AppendUvarint(b, uint64(id))
	}
	return b, nil
}

func (t *Tx) packTexts(b []byte, r wear.Ride) ([]byte, error) {
	b, err := t.packText(b, r.Profile)
	if err != nil {
		return nil, err
	}
	b = binary.AppendUvarint(b, uint64(len(r.Notes)))
	for _, note := range r.Notes {
		if b, err = t.packText(b, note); err != nil {
			return nil, err
		}
	}
	b = binary.AppendUvarint(b, uint64(len(r.Title)))
	b = append(b, r.Title...)
	id, err := t.wordID(r.Because)
	return binary.AppendUvarint(b, uint64(id)), err
}

// packText writes text as the number of a shared word (even), or in full (odd)
// where figures make it likely to stand alone.
func (t *Tx) packText(b []byte, text string) ([]byte, error) {
	if strings.ContainsAny(text, "0123456789") {
		b = binary.AppendUvarint(b, uint64(len(text))<<1|1)
		return append(b, text...), nil
	}
	id, err := t.wordID(text)
	return binary.AppendUvarint(b, uint64(id)<<1), err
}

// packLoad writes the set of quantities that are not zero, then those.
func packLoad(b []byte, l wear.Load) []byte {
	var set wear.Set
	for q, v := range l {
		if v != 0 {
			set = set.With(wear.Quantity(q))
		}
	}
	b = append(b, byte(set))
	for q, v := range l {
		if set.Has(wear.Quantity(q)) {
			b = binary.AppendUvarint(b, uint64(v))
		}
	}
	return b
}

// load is the inverse of packLoad, into a load that is empty.
func (r *reader) load(l *wear.Load) {
	set := wear.Set(r.byte())
	for q := range l {
		if set.Has(wear.Quantity(q)) {
			l[q] = int64(r.uvarint())
		}
	}
}

// marks reads the version of a ride and its marks, and refuses what is not known.
func (r *reader) marks() (marks byte) {
	version := r.byte()
	if r.err != nil {
		return 0
	}
	if version == 0 || version > rideVersion {
		r.fail(fmt.Errorf("ride record of version %d", version))
		return 0
	}
	if version > 1 {
		marks = r.byte()
	}
	if marks&^knownMarks[version] != 0 {
		r.fail(fmt.Errorf("marks %d in a ride record of version %d: not known", marks, version))
	}
	return marks
}

// packUnlike writes a list of rides, nothing where it is empty.
func packUnlike(b []byte, rides []wear.RideID) []byte {
	if len(rides) == 0 {
		return b
	}
	b = binary.AppendUvarint(b, uint64(len(rides)))
	for _, id := range rides {
		b = append(b, id[:]...)
	}
	return b
}

func (r *reader) unlike() (rides []wear.RideID) {
	for n := r.count(); n > 0; n-- {
		var id wear.RideID
		copy(id[:], r.bytes(uint64(len(id))))
		rides = append(rides, id)
	}
	return rides
}

// rideFigures unpacks the part of a ride that sums need and returns a reader of the rest.
func rideFigures(raw []byte) (wear.Ride, reader) {
	r := reader{buf: raw}
	marks := r.marks()
	ride := wear.Ride{
		Marked: wear.Marked(marks & 3), Uplift: wear.Uplift(marks >> 2 & 3),
		Salvaged: marks&markSalvaged != 0,
	}
	if marks&markOf != 0 {
		copy(ride.Of[:], r.bytes(uint64(len(ride.Of))))
	}
	if marks&markUnlike != 0 {
		ride.Unlike = r.unlike()
	}
	rule, kind := r.byte(), r.byte()
	ride.Rule, ride.State = wear.Rule(rule>>4), wear.State(rule&15)
	ride.Format, ride.Ground, ride.Lacking = wear.Format(kind>>4), wear.Ground(kind&15), wear.Set(r.byte())
	r.load(&ride.Recorded)
	r.load(&ride.Estimated)
	if ride.Ground >= wear.NGrounds || ride.State > wear.Void || ride.Marked > wear.ByDefault || ride.Uplift > wear.NoUplift {
		r.fail(fmt.Errorf("ground %d, state %d, marks %d: not known", uint8(ride.Ground), uint8(ride.State), marks))
	}
	return ride, r
}

// unpackRide is the inverse of packRide.
func (t *Tx) unpackRide(key, raw []byte) (wear.Ride, error) {
	ride, r := rideFigures(raw)
	ride.Bike, ride.Start = idOf(key), instant(key[8:])
	ride.Elapsed, ride.Offset = r.varint(), int32(r.varint())
	ride.Version, ride.Leg = r.byte(), r.byte()
	ride.Entry = r.uvarint()
	copy(ride.ID[:6], key[14:])
	copy(ride.ID[6:], r.bytes(6))
	if r.byte() == 1 {
		copy(ride.File[:], r.bytes(uint64(len(ride.File))))
	}
	ride.Device = t.device(&r)
	for n := r.count(); n > 0; n-- {
		ride.Sensors = append(ride.Sensors, t.device(&r))
	}
	ride.Profile = t.text(&r)
	for n := r.count(); n > 0; n-- {
		ride.Notes = append(ride.Notes, t.text(&r))
	}
	ride.Title = string(r.bytes(r.uvarint()))
	if r.err == nil && raw[0] > 2 {
		ride.Because = t.word(&r)
	}
	if err := r.end(); err != nil {
		return ride, t.corrupt("ride", key, err)
	}
	return ride, nil
}

// count reads the length of a list, each item of which takes a byte at least.
func (r *reader) count() uint64 {
	n := r.uvarint()
	if n > uint64(len(r.buf)) {
		r.fail(errShort)
		return 0
	}
	return n
}
