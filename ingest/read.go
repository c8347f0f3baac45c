package ingest

import (
	"crypto/sha256"
	"time"

	"pawl/wear"
)

// maxBytes is the most that a ride file may hold; of a compressed one, what was
// received and what comes out of it together. A long day at ten points a second
// is as much, or a day and a night at one in the wordiest of formats.
const maxBytes = 40 << 20

// clockHint is what to do about a ride whose date cannot be right.
const clockHint = "set the device's clock, then log this ride by hand: pawl ride add BIKE --on DATE --km KM"

// Read turns the bytes of a ride file, which may be compressed by gzip, into
// its rides; into none where o.Known knows it. The format is told by the bytes.
// The hash is that of the decompressed bytes as far as they can be decompressed
// (of the bytes as given where none can) and is there with an error too. The
// error is nil, a [*NotRideError] or a [*RefusedError]. raw is not changed.
func Read(raw []byte, o Options) (tracks []*Track, hash wear.Hash, format wear.Format, err error) {
	tracks, sum, format, err := read(raw, o)
	return tracks, wear.Hash(sum[:len(hash)]), format, err
}

// read is Read with the whole hash.
func read(raw []byte, o Options) (tracks []*Track, sum [sha256.Size]byte, format wear.Format, err error) {
	return readFrom(raw, nil, o)
}

// readFrom is read for bytes out of a bundle: damage is what was wrong with them
// there, nil where nothing was.
func readFrom(raw []byte, damage *RefusedError, o Options) (tracks []*Track, sum [sha256.Size]byte, format wear.Format, err error) {
	data, flaw, err := unzipped(raw)
	if err != nil {
		return nil, sha256.Sum256(raw), wear.Typed, err
	}
	if damage == nil {
		damage = flaw
	}
	sum = sha256.Sum256(data)
	if o.Known != nil && o.Known(wear.Hash(sum[:len(wear.Hash{})])) {
		return nil, sum, wear.Typed, nil
	}
	format, tracks, err = o.decoded(data, damage)
	return tracks, sum, format, err
}

// decoded reads decompressed bytes. What is whole in damaged ones is read too:
// to count it, or to say what there is.
func (o Options) decoded(data []byte, damage *RefusedError) (wear.Format, []*Track, error) {
	format, decode, err := sniff(data)
	if err != nil {
		if damage != nil {
			_, err = wrapping{damage}.judge(nil, err, o)
		}
		return format, nil, err
	}
	if damage == nil {
		tracks, err := guarded(decode, data, o)
		return o.checked(format, tracks, err)
	}
	deep := o
	deep.Salvage = true
	tracks, err := guarded(decode, data, deep)
	tracks, err = wrapping{damage}.judge(tracks, err, o)
	return o.checked(format, tracks, err)
}

// checked refuses tracks that start when no ride can have.
func (o Options) checked(format wear.Format, tracks []*Track, err error) (wear.Format, []*Track, error) {
	if err != nil {
		return format, nil, err
	}
	for _, t := range tracks {
		if err := o.checkStart(t.Start); err != nil {
			return format, nil, err
		}
	}
	return format, tracks, nil
}

// rideID names the ride of one leg: the same bytes give the same ID under
// whatever name and compression they come.
func rideID(sum [sha256.Size]byte, leg int) wear.RideID {
	id := sha256.Sum256(append(sum[:], byte(leg)))
	return wear.RideID(id[:len(wear.RideID{})])
}

// readFunc reads one format.
type readFunc func(data []byte, o Options) ([]*Track, error)

// guarded is the last line of defence: a decoder that panics costs its own
// file, not the import.
func guarded(decode readFunc, data []byte, o Options) (tracks []*Track, err error) {
	defer func() {
		if p := recover(); p != nil {
			tracks = nil
			err = refused("keep the file and report this", "the reader broke on this file: %v", p)
		}
	}()
	return decode(data, o)
}

func tooLarge(size int64) error {
	return refused(splitFile, "%d MB, more than the %d MB that a ride file may hold", size>>20, maxBytes>>20)
}

// checkStart refuses what begins before there were satellites or after the
// day of the import.
func (o Options) checkStart(t int64) error {
	day := time.UnixMilli(t).UTC().Format(time.DateOnly)
	switch {
	case t < year1990:
		return refused(clockHint, "it starts on %s: the device's clock was not set", day)
	case o.Now != 0 && t > int64(o.Now)+wear.Day:
		return refused(clockHint, "it starts on %s, in the future: the device's clock was wrong", day)
	}
	return nil
}
