package ingest

import (
	"encoding/binary"
	"fmt"
	"slices"
	"strings"

	"github.com/muktihari/fit/profile/typedef"
)

// check finds a part's flaw without decoding it.
func (p *fitPart) check() fitFlaw {
	if p.flaw == fitWhole && fitCRC(p.bytes) != 0 {
		return fitChecksum
	}
	return p.flaw
}

// decode reads a part by the library that reads it rightly: tormoder/fit, which
// also checks the checksum, or muktihari/fit where tormoder/fit misreads or
// refuses. The facts are nil where there is a flaw.
func (p *fitPart) decode() (*fitFacts, fitFlaw) {
	if p.flaw != fitWhole {
		return nil, p.flaw
	}
	if !p.hard && p.hasID {
		if f, err := p.byTormoder(); err == nil {
			return f, fitWhole
		}
	}
	if flaw := p.check(); flaw != fitWhole {
		return nil, flaw
	}
	f, err := p.byMuktihari()
	if err != nil {
		return nil, fitDamaged
	}
	return f, fitWhole
}

// salvaged reads the whole messages of a flawed part, possibly none.
func (p *fitPart) salvaged() *fitFacts {
	whole := *p
	whole.bytes = slices.Concat(p.bytes[:p.sound], make([]byte, fitChecksumSize))
	if head := int(p.bytes[0]); p.sound > head {
		binary.LittleEndian.PutUint32(whole.bytes[4:], uint32(p.sound-head))
	}
	f, _ := whole.byMuktihari() // an error ends it early; what came before counts
	return f
}

// refusal says what is wrong with a part and how much of it is whole.
func (p *fitPart) refusal(flaw fitFlaw, no, of int) error {
	why := flaw.String()
	if of > 1 {
		why = fmt.Sprintf("part %d of %d: %s", no, of, why)
	}
	if whole := p.wholeTime(flaw); whole != "" {
		why += ": " + whole
	}
	hint := copyAgain
	if flaw == fitUnfinished {
		hint += "; if it comes out the same, the device lost power before it saved the ride"
	}
	return refused(hint, "%s", why)
}

// wholeTime says how much of a flawed part could be read.
func (p *fitPart) wholeTime(flaw fitFlaw) string {
	if !p.activity() {
		return ""
	}
	f := p.salvaged()
	if f.tidy() != nil || len(f.samples) == 0 {
		return "no point of a ride is whole"
	}
	span, unit := float64(f.samples[len(f.samples)-1].T-f.samples[0].T)/1000, "seconds"
	if span >= 120 {
		span, unit = span/60, "minutes"
	}
	if flaw == fitCut {
		return fmt.Sprintf("%.0f of about %.0f %s are whole", span, span*float64(p.size)/float64(p.sound), unit)
	}
	return fmt.Sprintf("%.0f %s can be read", span, unit)
}

// kindName says what a part is that is no activity.
func (p *fitPart) kindName() string {
	if !p.hasID || p.kind == fileUnknown {
		return "a part without points that does not say what it is"
	}
	switch k := typedef.File(p.kind); k {
	case typedef.FileActivitySummary:
		return "an activity summary without points"
	case typedef.FileWorkout:
		return "a workout plan"
	default:
		name := k.String()
		if strings.Contains(name, "nvalid") {
			name = fmt.Sprintf("FIT type %d", p.kind)
		}
		return fmt.Sprintf("a %s file", strings.ReplaceAll(name, "_", " "))
	}
}
