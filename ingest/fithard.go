package ingest

import (
	"github.com/muktihari/fit/profile/basetype"
	"github.com/muktihari/fit/profile/factory"
	"github.com/muktihari/fit/profile/typedef"
)

// Fields of a record that stand in each other's way, or in the way of other files.
const (
	recordAlt         = 2
	recordSpeed       = 6
	recordPacked      = 8  // compressed speed and distance
	recordCycles      = 18 // of which only the lowest bits are there
	recordPackedPower = 28
	recordAltWide     = 78
	recordSpeedWide   = 73
)

// tormoderMisreads reports whether tormoder/fit misreads messages with these
// fields, of three bytes each: number, size and base type.
func tormoderMisreads(mesg uint16, fields []byte) bool {
	var has [256]bool
	for ; len(fields) >= 3; fields = fields[3:] {
		num := fields[0]
		// Of a field that comes twice the last should count: tormoder keeps the
		// first time of two if the last is absent.
		if has[num] || misfit(mesg, num, fields[1], fields[2]) {
			return true
		}
		has[num] = true
	}
	if mesg != mesgRecord {
		return false
	}
	// What tormoder accumulates it keeps in variables that all files share, and
	// plain altitude and speed replace the enhanced ones.
	return has[recordPacked] || has[recordCycles] || has[recordPackedPower] ||
		has[recordAlt] && has[recordAltWide] || has[recordSpeed] && has[recordSpeedWide]
}

// misfit reports whether a field is not as wide as the profile has it. Of narrow
// ones tormoder takes what the base type says, and nothing where the byte order
// is big endian; wide ones it refuses.
func misfit(mesg uint16, num, size, base byte) bool {
	known := factory.CreateField(typedef.MesgNum(mesg), num)
	if known.Name == factory.NameUnknown || known.Array || known.BaseType == basetype.String {
		return false
	}
	return size != known.BaseType.Size() || size != basetype.BaseType(base).Size()
}

// named reports whether a field is a name that is taken from the file. Of one
// that fills its field, without a zero after it, tormoder loses the last byte.
func named(mesg uint16, num byte) bool {
	switch mesg {
	case mesgFileID:
		return num == 8
	case mesgSession:
		return num == 110
	case mesgDevice:
		return num == 19 || num == 27
	}
	return false
}
