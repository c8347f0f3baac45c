package ingest

import (
	"fmt"
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
