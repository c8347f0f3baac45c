package ingest

import "encoding/binary"

// Message numbers and fields of the FIT profile that the walk looks at.
const (
	mesgFileID      = 0
	mesgSession     = 18
	mesgRecord      = 20
	mesgDevice      = 23
	mesgFieldDesc   = 206
	fileActivity    = 4
	fileUnknown     = 0xFF
	minFITHeader    = 12
	fitChecksumSize = 2
)

// fitFlaw is what is wrong with a part of a FIT file.
type fitFlaw uint8

const (
	fitWhole      fitFlaw = iota
	fitCut                // shorter than its header says
	fitUnfinished         // data size 0: the device died before it closed the file
	fitDamaged            // its messages make no sense
	fitChecksum           // readable, but its checksum is wrong
)

// String says the flaw as a clause.
func (f fitFlaw) String() string {
	return [...]string{"the file is whole", "the file is cut", "the device never finished the file",
		"the file is damaged", "the checksum is wrong"}[f]
}

// fitPart is one FIT file of a chain, as its header and definitions tell it.
type fitPart struct {
	bytes  []byte // header, data and checksum, as far as they are there
	size   int    // of all three, as the header has it
	sound  int    // bytes from the start up to the end of the last whole message
	points int    // record messages
	others int    // all other data messages
	fields int    // developer field descriptions
	legs   int    // sessions
	hasID  bool
	kind   byte // file_id's type; fileUnknown where it gives none
	hard   bool // tormoder/fit misreads it, or would keep too much of it
	flaw   fitFlaw
}

// activity reports whether the part can hold a ride: it says so, or it has
// points and says nothing.
func (p *fitPart) activity() bool {
	if p.hasID && p.kind != fileUnknown {
		return p.kind == fileActivity
	}
	return p.points > 0 || p.flaw != fitWhole
}

// cutFIT cuts a chain of FIT files into its parts. What follows the last of
// them without a header of its own is the rest.
func cutFIT(data []byte) (parts []fitPart, rest []byte) {
	for len(data) > 0 && len(parts) <= maxFITParts {
		if len(data) < minFITHeader || !validHeaderSize(data[0]) || string(data[8:12]) != ".FIT" {
			return parts, data
		}
		p := walkFIT(data)
		parts = append(parts, p)
		data = data[len(p.bytes):]
	}
	return parts, nil
}

func validHeaderSize(b byte) bool { return b == 12 || b == 14 }

// walkFIT measures the part that data begins with.
func walkFIT(data []byte) fitPart {
	head, declared := int(data[0]), int64(binary.LittleEndian.Uint32(data[4:]))
	p := fitPart{bytes: data, size: len(data), kind: fileUnknown}
	end := int64(head) + declared
	switch {
	case declared == 0:
		p.flaw, end = fitUnfinished, int64(len(data))
	case end+fitChecksumSize > int64(len(data)):
		p.flaw, p.size, end = fitCut, int(end)+fitChecksumSize, min(end, int64(len(data)))
	default:
		p.size = int(end) + fitChecksumSize
		p.bytes = data[:p.size]
	}
	w := fitWalk{part: &p, data: data[:end], at: min(head, int(end))}
	for w.at < len(w.data) && w.step() {
	}
	p.sound = w.at
	p.hard = p.hard || p.points > maxFITKept || p.others > maxFITKeptOthers
	if p.flaw == fitWhole && w.at < len(w.data) {
		p.flaw = fitDamaged
	}
	return p
}

// fitDef is a message definition: how many bytes follow the header byte.
type fitDef struct {
	known bool
	mesg  uint16
	size  int
	kind  int   // where in a file_id its type is; -1 nowhere
	names []int // where the last bytes of names are
}

// fitWalk goes over headers and definitions and skips everything else.
type fitWalk struct {
	part *fitPart
	data []byte
	at   int // the next message
	defs [16]fitDef
}

// step goes over one message; false leaves the walk where it cannot go on.
func (w *fitWalk) step() bool {
	h := w.data[w.at]
	local := h & 0x0F
	switch {
	case h&0x80 != 0: // compressed timestamp
		local = h >> 5 & 3
		// tormoder takes the time they refer to from messages it knows only.
		w.part.hard = true
	case h&0x40 != 0:
		return w.define(h)
	}
	d := &w.defs[local]
	next := w.at + 1 + d.size
	if !d.known || next > len(w.data) {
		return false
	}
	if d.mesg == mesgRecord {
		w.part.points++
	} else {
		w.count(d)
	}
	for _, end := range d.names {
		w.part.hard = w.part.hard || w.data[w.at+1+end] != 0
	}
	w.at = next
	return true
}

// count notes a data message other than a point.
func (w *fitWalk) count(d *fitDef) {
	w.part.others++
	switch d.mesg {
	case mesgFieldDesc:
		w.part.fields++
	case mesgSession:
		w.part.legs++
	case mesgFileID:
		if !w.part.hasID && d.kind >= 0 {
			w.part.kind = w.data[w.at+1+d.kind]
		}
		// tormoder takes the last, which need not even be the kind it began with.
		w.part.hard = w.part.hard || w.part.hasID
		w.part.hasID = true
	}
}

// define reads the definition at the walk's place.
func (w *fitWalk) define(h byte) bool {
	b := w.data[w.at:]
	if len(b) < 6 {
		return false
	}
	d := fitDef{known: true, mesg: binary.LittleEndian.Uint16(b[3:]), kind: -1}
	if b[2] != 0 {
		d.mesg = binary.BigEndian.Uint16(b[3:])
	}
	n := 6 + 3*int(b[5])
	if len(b) < n {
		return false
	}
	for f := 6; f < n; f += 3 {
		d.add(b[f], int(b[f+1]))
	}
	w.part.hard = w.part.hard || tormoderMisreads(d.mesg, b[6:n])
	if h&0x20 != 0 { // developer fields
		if len(b) < n+1 || len(b) < n+1+3*int(b[n]) {
			return false
		}
		// tormoder forgets them where there are no other fields.
		w.part.hard = w.part.hard || b[5] == 0
		end := n + 1 + 3*int(b[n])
		for f := n + 1; f < end; f += 3 {
			d.size += int(b[f+1])
		}
		n = end
	}
	w.defs[h&0x0F] = d
	w.at += n
	return true
}

// add adds one field to a definition.
func (d *fitDef) add(num byte, size int) {
	if d.mesg == mesgFileID && num == 0 && size > 0 {
		d.kind = d.size
	}
	d.size += size
	if size > 0 && named(d.mesg, num) {
		d.names = append(d.names, d.size-1)
	}
}
