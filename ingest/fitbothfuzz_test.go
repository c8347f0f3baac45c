package ingest

import (
	"maps"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
)

// FuzzFITBoth gives the two libraries the same mutated parts, sealed again so
// that the mutation reaches them: wherever the door would take what
// tormoder/fit says and muktihari/fit reads the part, too, the facts are the
// same. A chance other than 0 also edits messages so that they stay whole,
// which bytes changed at random seldom do. Run it with -fuzzminimizetime 1x.
func FuzzFITBoth(f *testing.F) {
	for i, data := range bothSeeds(f) {
		f.Add(data, uint64(0))
		f.Add(data, uint64(i+1))
	}
	f.Fuzz(func(t *testing.T, data []byte, chance uint64) {
		if len(data) > 1<<17 {
			return
		}
		for _, p := range mendedParts(data, chance) {
			bothAgree(t, &p)
		}
	})
}

// The mutations do reach both libraries: most parts are read by both.
func TestFITLibrariesAgreeOnEdited(t *testing.T) {
	all, both := 0, 0
	for _, data := range bothSeeds(t) {
		for chance := range uint64(8) {
			for _, p := range mendedParts(data, chance) {
				all++
				if bothAgree(t, &p) {
					both++
				}
			}
		}
	}
	t.Logf("%d of %d parts were read by both", both, all)
	assert.Greater(t, both, all/4)
}

// bothAgree reports whether both libraries read a part that the door gives to
// tormoder/fit.
func bothAgree(t *testing.T, p *fitPart) bool {
	if p.check() != fitWhole || !p.activity() || p.hard || !p.hasID {
		return false
	}
	a, errA := p.byTormoder()
	b, errB := p.byMuktihari()
	if errA != nil || errB != nil {
		return false
	}
	sameFacts(t, "tormoder and muktihari", a, b)
	return true
}

// bothSeeds are real files and made ones, short enough to be read some thousand
// times a second.
func bothSeeds(t testing.TB) [][]byte {
	var seeds [][]byte
	files := realFITs(t)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		parts, _ := cutFIT(files[name])
		if len(parts) > 0 && parts[0].kind == fileActivity && parts[0].flaw == fitWhole {
			seeds = append(seeds, thinned(parts[0], 12))
		}
	}
	require.Greater(t, len(seeds), 20)
	full := rig.Full(5)
	full.Minutes, full.Pauses = 2, 1
	indoor := rig.Spec{Seed: 6, Minutes: 0.3, Indoor: true, Cadence: true, Power: true, Smart: true}
	return append(seeds, rig.Make(full).FIT(), rig.Make(indoor).FIT(), fitRide(9), triathlon(true, true, true),
		twoActivities())
}

// twoActivities is a ride with two activity messages, of which only the first
// says what the clock on the wall showed.
func twoActivities() []byte {
	var m fitMaker
	fitID(&m, fileActivity)
	fitPoints(&m, day0, 3)
	fitSessionOf(&m, 2, 8, day0, day0+2, 2000)
	m.define(3, 34, fitField{253, 4, baseUint32}, fitField{5, 4, baseUint32})
	m.data(3, day0+2, day0+7202)
	m.data(3, day0+2, uint32(no32))
	return m.file()
}

// thinned keeps no more than most data messages of each kind.
func thinned(p fitPart, most int) []byte {
	head := int(p.bytes[0])
	count := map[[2]byte]int{}
	messages := slices.DeleteFunc(messagesOf(p.bytes[head:p.sound]), func(m *fitMessage) bool {
		if m.def == nil {
			return false
		}
		kind := [2]byte(m.def.raw[3:5])
		count[kind]++
		return count[kind] > most
	})
	return sealFIT(bodyOf(messages), head, true)
}

// mendedParts are the parts of a file as far as they are whole, edited if there
// is a chance, with headers and checksums that say so.
func mendedParts(data []byte, chance uint64) []fitPart {
	parts, _ := cutFIT(data)
	r := rand.New(rand.NewPCG(chance, 1))
	for i, p := range parts {
		head := int(p.bytes[0])
		messages := messagesOf(p.bytes[min(head, p.sound):p.sound])
		for range chance % 4 {
			edit(r, messages)
		}
		parts[i] = walkFIT(sealFIT(bodyOf(messages), head, true))
	}
	return parts
}

// fitMessage is one message of a part and, unless it is one itself, the
// definition that shapes it.
type fitMessage struct {
	raw []byte
	def *fitMessage
}

// messagesOf cuts messages apart as far as they are whole.
func messagesOf(body []byte) []*fitMessage {
	var list []*fitMessage
	var defs [16]*fitMessage
	w := fitWalk{part: new(fitPart), data: body}
	for at := 0; w.at < len(body) && w.step(); at = w.at {
		m := &fitMessage{raw: slices.Clone(body[at:w.at])}
		switch h := body[at]; {
		case h&0x80 != 0:
			m.def = defs[h>>5&3]
		case h&0x40 != 0:
			defs[h&0x0F] = m
		default:
			m.def = defs[h&0x0F]
		}
		list = append(list, m)
	}
	return list
}

func bodyOf(messages []*fitMessage) []byte {
	var body []byte
	for _, m := range messages {
		body = append(body, m.raw...)
	}
	return body
}

// edit changes one message, and what a changed definition shapes.
func edit(r *rand.Rand, messages []*fitMessage) {
	if len(messages) == 0 {
		return
	}
	m, other := messages[r.IntN(len(messages))], messages[r.IntN(len(messages))]
	switch {
	case m.def == nil && m.raw[5] > 0:
		m.redefine(r, messages)
	case m.def == nil || len(m.raw) < 2:
	case r.IntN(4) == 0:
		m.def.redefine(r, messages)
	case r.IntN(4) == 0 && other.def == m.def:
		m.raw, other.raw = other.raw, m.raw
	case r.IntN(4) == 0:
		m.raw = slices.Concat(m.raw, m.raw) // two messages from here on
	default:
		from := 1 + r.IntN(len(m.raw)-1)
		to := min(from+1<<r.IntN(3), len(m.raw))
		for i := range m.raw[from:to] {
			m.raw[from+i] = pick(r, 0, 1, 0x7F, 0x80, 0xFF, byte(r.Uint32()))
		}
	}
}

// redefine changes one field of a definition: its number, base type, size or
// several of them; or the byte order or the kind of the message.
func (m *fitMessage) redefine(r *rand.Rand, messages []*fitMessage) {
	if m.raw[5] == 0 {
		return
	}
	at := 6 + 3*r.IntN(int(m.raw[5]))
	field := m.raw[at : at+3]
	switch r.IntN(7) {
	case 0:
		m.raw[2] ^= 1
		m.raw[3], m.raw[4] = m.raw[4], m.raw[3]
	case 1:
		m.raw[3+int(m.raw[2]&1)] = pick(r, mesgFileID, 18, 19, mesgRecord, 21, 23, 34)
	case 2:
		field[0] = pick(r, m.raw[6], 253, 73, 78, byte(r.IntN(12)), byte(r.IntN(128)))
	case 3:
		field[2] = pick(r, fitBases...)
	case 4:
		m.resize(messages, at, pick(r, 0, 1, 2, 3, 4, 8, 16))
	default: // what fits that size
		field[2] = pick(r, map[byte][]byte{1: {0, 1, 2, 7, 0x0A, 0x0D}, 2: {0x83, 0x84, 0x8B},
			4: {0x85, 0x86, 0x88, 0x8C}}[field[1]]...)
	}
}

// fitBases are the base types of the FIT protocol.
var fitBases = []byte{0, 1, 2, 0x83, 0x84, 0x85, 0x86, 7, 0x88, 0x89, 0x0A, 0x8B, 0x8C, 0x0D, 0x8E, 0x8F, 0x90}

// pick is one of some bytes; 0 where there are none.
func pick(r *rand.Rand, from ...byte) byte {
	if len(from) == 0 {
		return 0
	}
	return from[r.IntN(len(from))]
}

// resize gives the field at a place of a definition another size, and cuts or
// stretches it in the messages that the definition shapes.
func (m *fitMessage) resize(messages []*fitMessage, at int, size byte) {
	from := 1
	for f := 6; f < at; f += 3 {
		from += int(m.raw[f+1])
	}
	was, is := int(m.raw[at+1]), int(size)
	m.raw[at+1] = size
	for _, shaped := range messages {
		if shaped.def == m {
			value := slices.Clone(shaped.raw[from : from+was])
			value = append(value[:min(was, is)], make([]byte, max(is-was, 0))...)
			shaped.raw = slices.Replace(shaped.raw, from, from+was, value...)
		}
	}
}
