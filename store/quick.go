package store

import (
	"encoding/binary"
	"math"

	"pawl/wear"
)

// quick reads a fact of the sorts of which a fleet has a hundred a bike, without
// reflection. It takes only what the encoder writes: where it meets anything else
// it reports false, and the decoder of the library reads the fact, or says what is
// wrong with it.
func (t *Tx) quick(raw []byte, fact any) bool {
	r := quickReader{buf: raw, texts: t.texts()}
	switch f := fact.(type) {
	case *wear.SignOff:
		r.fields(func(key uint64) { r.signOff(key, f) })
	case *wear.Look:
		r.fields(func(key uint64) { r.look(key, f) })
	case *wear.Reading:
		r.fields(func(key uint64) { r.reading(key, f) })
	case *wear.Stay:
		r.fields(func(key uint64) { r.stay(key, f) })
	case *wear.Part:
		r.fields(func(key uint64) { r.part(key, f) })
	case *wear.Bike:
		r.fields(func(key uint64) { r.bike(key, f) })
	default:
		return false
	}
	return !r.odd && len(r.buf) == 0
}

// texts are the words that facts share; nil where nothing is remembered.
func (t *Tx) texts() map[string]string {
	if t.reads == nil {
		return nil
	}
	return t.reads.texts
}

// quickReader reads CBOR (RFC 8949) as the encoder writes it.
type quickReader struct {
	buf   []byte
	odd   bool // met something that it does not read
	texts map[string]string
}

// The major types of RFC 8949, section 3.1, and the simple values that are read.
const (
	cborUint  = 0
	cborText  = 3
	cborArray = 4
	cborMap   = 5
	cborOther = 7

	cborFalse, cborTrue           = 20, 21
	cborHalf, cborFloat, cborLong = 25, 26, 27
)

// head reads the start of an item: its type, the five bits beside that, and its
// argument.
func (r *quickReader) head() (major, info byte, arg uint64) {
	if r.odd || len(r.buf) == 0 {
		r.odd = true
		return 0, 0, 0
	}
	major, info = r.buf[0]>>5, r.buf[0]&31
	r.buf = r.buf[1:]
	if info < 24 {
		return major, info, uint64(info)
	}
	n := 1 << (info - 24) // 24 … 27: one, two, four, eight bytes
	if info > 27 || len(r.buf) < n {
		r.odd = true
		return 0, 0, 0
	}
	switch n {
	case 1:
		arg = uint64(r.buf[0])
	case 2:
		arg = uint64(binary.BigEndian.Uint16(r.buf))
	case 4:
		arg = uint64(binary.BigEndian.Uint32(r.buf))
	default:
		arg = binary.BigEndian.Uint64(r.buf)
	}
	r.buf = r.buf[n:]
	return major, info, arg
}

// of is the argument of an item that must be of a type.
func (r *quickReader) of(major byte) uint64 {
	m, _, arg := r.head()
	r.odd = r.odd || m != major
	return arg
}

// fields calls read for the key of each field; keys are numbers that rise.
func (r *quickReader) fields(read func(key uint64)) {
	var last uint64
	for n := r.of(cborMap); n > 0 && !r.odd; n-- {
		key := r.of(cborUint)
		r.odd = r.odd || key <= last
		last = key
		read(key)
	}
}

func (r *quickReader) uint() uint64 { return r.of(cborUint) }

// below reads a number that fits.
func (r *quickReader) below(limit uint64) uint64 {
	v := r.uint()
	r.odd = r.odd || v >= limit
	return v
}

func (r *quickReader) id() wear.ID { return wear.ID(r.uint()) }

// int reads a whole number of either sign.
func (r *quickReader) int() int64 {
	major, _, arg := r.head()
	r.odd = r.odd || major > 1 || arg > math.MaxInt64
	if major == 1 {
		return -1 - int64(arg)
	}
	return int64(arg)
}

func (r *quickReader) instant() wear.Instant { return wear.Instant(r.int()) }

func (r *quickReader) bool() bool {
	major, info, _ := r.head()
	r.odd = r.odd || major != cborOther || info != cborTrue && info != cborFalse
	return info == cborTrue
}

func (r *quickReader) float() (v float64) {
	major, info, arg := r.head()
	switch info {
	case cborHalf:
		v = half(uint16(arg))
	case cborFloat:
		v = float64(math.Float32frombits(uint32(arg)))
	case cborLong:
		v = math.Float64frombits(arg)
	default:
		r.odd = true
	}
	r.odd = r.odd || major != cborOther || math.IsNaN(v)
	return v
}

// half is a float of 16 bits (IEEE 754 binary16, RFC 8949 appendix D).
func half(bits uint16) float64 {
	exp, mant := int(bits>>10&31), float64(bits&1023)
	var v float64
	switch exp {
	case 0:
		v = math.Ldexp(mant, -24)
	case 31:
		if v = math.Inf(1); mant != 0 {
			v = math.NaN()
		}
	default:
		v = math.Ldexp(mant+1024, exp-25)
	}
	return math.Copysign(v, 1-2*float64(bits>>15))
}

// bytes are those of a text, which belong to the record.
func (r *quickReader) bytes() []byte {
	n := r.of(cborText)
	if r.odd || n > uint64(len(r.buf)) {
		r.odd = true
		return nil
	}
	b := r.buf[:n]
	r.buf = r.buf[n:]
	return b
}

func (r *quickReader) text() string { return string(r.bytes()) }

// word reads a text that many facts have: it is kept once.
func (r *quickReader) word() string { return shareText(r.texts, r.bytes()) }

// shareText makes a string of bytes, or finds the one that was made of them before.
func shareText(texts map[string]string, b []byte) string {
	if s, ok := texts[string(b)]; ok {
		return s
	}
	s := string(b)
	if texts != nil && len(texts) < readsKept {
		texts[s] = s
	}
	return s
}

// items is the length of a list, each item of which takes a byte at least.
func (r *quickReader) items() int {
	n := r.of(cborArray)
	if r.odd || n == 0 || n > uint64(len(r.buf)) {
		r.odd = true // the library knows what an empty list becomes
		return 0
	}
	return int(n)
}

func (r *quickReader) ints() []int {
	list := make([]int, r.items())
	for i := range list {
		list[i] = int(r.int())
	}
	return list
}

func (r *quickReader) words() []string {
	list := make([]string, r.items())
	for i := range list {
		list[i] = r.word()
	}
	return list
}

func (r *quickReader) load() (l wear.Load) {
	if r.items() != len(l) {
		r.odd = true
		return l
	}
	for i := range l {
		l[i] = r.int()
	}
	return l
}
