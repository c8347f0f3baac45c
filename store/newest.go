package store

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"pawl/wear"
)

// newest are the facts of one part on which findings rest: every reading, and of
// looks and sign-offs those that no later one of the same mark has overtaken. What
// was taken back is left out; each is in order of time, without ID, part and bike.
// They are kept together: a walk over a fleet looks in one place, not in three, and
// not through what was signed off for years.
type newest struct {
	readings []wear.Reading
	looks    []wear.Look
	signOffs []wear.SignOff
	declined bool // some work was: then they are not enough
	lacking  bool // an older book does not keep them
}

// within reports whether all were entered for days up to one, while the part was
// on a bike. With no stay, or of several, that cannot be told.
func (n *newest) within(stays []wear.Stay, today wear.Instant) bool {
	from, to := wear.Never, wear.Ever
	for i := range stays {
		from, to = stays[i].From, min(stays[i].To, today)
	}
	ok := func(at wear.Instant) bool { return from <= at && at <= to }
	return !slices.ContainsFunc(n.readings, func(r wear.Reading) bool { return !ok(r.At) }) &&
		!slices.ContainsFunc(n.looks, func(l wear.Look) bool { return !ok(l.At) }) &&
		!slices.ContainsFunc(n.signOffs, func(s wear.SignOff) bool { return !ok(s.At) })
}

// named reports whether more is asked of a look than what is kept: who said watch
// last, or whether unsafe was said after a release of the same instant, which only
// its ID tells.
func (n *newest) named() bool {
	last := len(n.looks) - 1
	return last >= 0 && n.looks[last].Word == wear.Watch ||
		slices.ContainsFunc(n.looks, func(l wear.Look) bool { return l.Word == wear.Unsafe })
}

// newestOf reads what is kept of a part; nothing is where it has no facts.
func (t *Tx) newestOf(part wear.ID) (n newest, err error) {
	if t.bucket(bktNewest) == nil {
		return newest{lacking: true}, nil
	}
	if raw := t.row(bktNewest, id8(part)); raw != nil {
		if n, err = t.unpackNewest(raw); err != nil {
			err = t.corrupt("newest", id8(part), err)
		}
	}
	return n, err
}

// gatherNewest finds them among all facts of a part.
func (t *Tx) gatherNewest(part wear.ID) (n newest, err error) {
	all, err := list[wear.Reading](t, bktReadings, id8(part))
	if err != nil {
		return n, err
	}
	n.readings = slices.DeleteFunc(all, func(r wear.Reading) bool { return r.Void })
	looks, err := list[wear.Look](t, bktLooks, id8(part))
	if err != nil {
		return n, err
	}
	n.looks = unovertaken(looks, func(l *wear.Look) (wear.Mark, bool) { return l.Mark(), !l.Void })
	offs, err := list[wear.SignOff](t, bktSignOffs, id8(part))
	n.declined = slices.ContainsFunc(offs, func(s wear.SignOff) bool { return s.Declined && !s.Void })
	n.signOffs = unovertaken(offs, func(s *wear.SignOff) (wear.Mark, bool) { return s.Mark(), !s.Void && !s.Declined })
	return n, err
}

// unovertaken are the facts that count and of whose mark no later one counts.
func unovertaken[T any](facts []T, mark func(*T) (m wear.Mark, counts bool)) []T {
	var kept []T
	seen := map[wear.Mark]bool{}
	for i := len(facts) - 1; i >= 0; i-- {
		if m, counts := mark(&facts[i]); counts && !seen[m] {
			seen[m] = true
			kept = append(kept, facts[i])
		}
	}
	slices.Reverse(kept)
	return kept
}

// settleNewest writes down anew what is kept of the parts whose facts changed.
func (t *Tx) settleNewest() error {
	for part := range t.newestDue {
		delete(t.newestDue, part)
		n, err := t.gatherNewest(part)
		if err != nil {
			return err
		}
		if err := putOrDelete(t.bucket(bktNewest), id8(part), packNewest(n)); err != nil {
			return err
		}
	}
	return nil
}

// deriveNewest gathers what is kept of every part.
func (t *Tx) deriveNewest(out emit) error {
	return t.bucket(bktParts).ForEach(func(k, _ []byte) error {
		n, err := t.gatherNewest(idOf(k))
		if err != nil {
			return err
		}
		if packed := packNewest(n); packed != nil {
			return out(bktNewest, k, packed)
		}
		return nil
	})
}

// newestVersion is the first byte of a row of newest: then whether work was
// declined, and readings, looks and sign-offs, each list after its length.
const newestVersion = 1

// The flags of a sign-off, and of a reading: what it has beside the usual.
const (
	hasWitness = 1 << iota
	hasTorque
	hasFitted
)

const (
	hasDoubt = 1 << iota
	hasLength
	hasNote
	hasGauge
	hasPlaces
	hasWhich
	hasPlate
)

// packNewest is nil where there is nothing to keep.
func packNewest(n newest) []byte {
	if len(n.readings)+len(n.looks)+len(n.signOffs) == 0 && !n.declined {
		return nil
	}
	b := []byte{newestVersion, flag(n.declined, 1)}
	b = binary.AppendUvarint(b, uint64(len(n.readings)))
	for i := range n.readings {
		b = packReading(b, &n.readings[i])
	}
	b = binary.AppendUvarint(b, uint64(len(n.looks)))
	for _, l := range n.looks {
		b = packText(packText(binary.AppendVarint(b, int64(l.At)), string(l.Word)), l.Note)
	}
	b = binary.AppendUvarint(b, uint64(len(n.signOffs)))
	for _, s := range n.signOffs {
		b = packText(binary.AppendVarint(b, int64(s.At)), s.Job)
		b = append(b, flag(s.Witness, hasWitness)|flag(s.Torque != 0, hasTorque)|flag(s.Fitted != 0, hasFitted))
		if s.Torque != 0 {
			b = packFloat(b, s.Torque)
		}
		if s.Fitted != 0 {
			b = be64(b, uint64(s.Fitted))
		}
	}
	return b
}

func packReading(b []byte, r *wear.Reading) []byte {
	b = packText(packText(binary.AppendVarint(b, int64(r.At)), string(r.Of)), r.Tool)
	b = packFloat(b, r.Value)
	b = append(b, flag(r.Doubtful, hasDoubt)|flag(r.Length != 0 || r.Pitches != 0, hasLength)|flag(r.Note != "", hasNote)|
		flag(r.Gauge != nil, hasGauge)|flag(len(r.Places) > 0, hasPlaces)|flag(r.Which != "", hasWhich)|flag(r.Plate != 0, hasPlate))
	if r.Length != 0 || r.Pitches != 0 {
		b = binary.AppendVarint(packFloat(b, r.Length), int64(r.Pitches))
	}
	if r.Note != "" {
		b = packText(b, r.Note)
	}
	if r.Gauge != nil {
		b = binary.AppendVarint(packFloat(packFloat(b, r.Gauge.In), r.Gauge.Out), int64(r.Gauge.Points))
	}
	if len(r.Places) > 0 {
		b = binary.AppendUvarint(b, uint64(len(r.Places)))
		for _, v := range r.Places {
			b = packFloat(b, v)
		}
	}
	if r.Which != "" {
		b = packText(b, r.Which)
	}
	if r.Plate != 0 {
		b = packFloat(b, r.Plate)
	}
	return b
}

func flag(is bool, bit byte) byte {
	if is {
		return bit
	}
	return 0
}

func packText(b []byte, s string) []byte {
	return append(binary.AppendUvarint(b, uint64(len(s))), s...)
}

func packFloat(b []byte, v float64) []byte { return be64(b, math.Float64bits(v)) }

func (t *Tx) unpackNewest(raw []byte) (n newest, err error) {
	r := newestReader{reader{buf: raw}, t.texts()}
	if v := r.byte(); v != newestVersion && r.err == nil {
		return n, fmt.Errorf("newest facts of version %d", v)
	}
	n.declined = r.byte() != 0
	n.readings = make([]wear.Reading, r.length())
	for i := range n.readings {
		r.reading(&n.readings[i])
	}
	n.looks = make([]wear.Look, r.length())
	for i := range n.looks {
		n.looks[i] = wear.Look{At: r.at(), Word: wear.Word(r.word()), Note: string(r.text())}
	}
	n.signOffs = make([]wear.SignOff, r.length())
	for i := range n.signOffs {
		r.signOff(&n.signOffs[i])
	}
	return n, r.end()
}

// newestReader takes a row of newest apart.
type newestReader struct {
	reader
	texts map[string]string // words that facts share
}

// length is that of a list, each item of which takes two bytes at least.
func (r *newestReader) length() int {
	n := r.uvarint()
	if n > uint64(len(r.buf)/2) {
		r.fail(errShort)
		return 0
	}
	return int(n)
}

func (r *newestReader) at() wear.Instant { return wear.Instant(r.varint()) }

func (r *newestReader) text() []byte { return r.bytes(r.uvarint()) }

// word is a text that many facts have: it is kept once.
func (r *newestReader) word() string { return shareText(r.texts, r.text()) }

func (r *newestReader) float() float64 {
	if b := r.bytes(8); b != nil {
		return math.Float64frombits(binary.BigEndian.Uint64(b))
	}
	return 0
}

func (r *newestReader) signOff(s *wear.SignOff) {
	s.At, s.Job = r.at(), r.word()
	has := r.byte()
	s.Witness = has&hasWitness != 0
	if has&hasTorque != 0 {
		s.Torque = r.float()
	}
	if has&hasFitted != 0 {
		if b := r.bytes(8); b != nil {
			s.Fitted = idOf(b)
		}
	}
}

func (r *newestReader) reading(f *wear.Reading) {
	f.At, f.Of, f.Tool, f.Value = r.at(), wear.ReadingOf(r.word()), r.word(), r.float()
	has := r.byte()
	f.Doubtful = has&hasDoubt != 0
	if has&hasLength != 0 {
		f.Length, f.Pitches = r.float(), int(r.varint())
	}
	if has&hasNote != 0 {
		f.Note = string(r.text())
	}
	if has&hasGauge != 0 {
		f.Gauge = &wear.Gauge{In: r.float(), Out: r.float(), Points: int(r.varint())}
	}
	if has&hasPlaces != 0 {
		f.Places = make([]float64, r.length())
		for i := range f.Places {
			f.Places[i] = r.float()
		}
	}
	if has&hasWhich != 0 {
		f.Which = r.word()
	}
	if has&hasPlate != 0 {
		f.Plate = r.float()
	}
}
