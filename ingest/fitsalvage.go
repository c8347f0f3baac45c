package ingest

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
)

// reach is how long, in ms, after the last point a leg of a damaged file may
// end for its totals to count: the timer runs on while the rider gets home.
const reach = 60_000

// loses reports whether messages may be missing that tell what a ride was.
func (f fitFlaw) loses() bool { return f == fitCut || f == fitUnfinished || f == fitDamaged }

// salvaged reads the whole messages of a flawed part, possibly none. Where the
// session is lost, the sport is that of a lap or of the device's settings.
func (p *fitPart) salvaged() *fitFacts {
	whole := *p
	whole.bytes = slices.Concat(p.bytes[:p.sound], make([]byte, fitChecksumSize))
	if head := int(p.bytes[0]); p.sound > head {
		binary.LittleEndian.PutUint32(whole.bytes[4:], uint32(p.sound-head))
	}
	l, _ := whole.listen() // an error ends it early; what came before counts
	f := l.facts
	for _, sport := range l.sports {
		switch {
		case unnamed(f.lapSport):
			f.lapSport = sport
		case !unnamed(sport) && cycled(sport, no8) != cycled(f.lapSport, no8):
			f.mixed = true
		}
	}
	return f
}

// refusal says what is wrong with a part and how much of it is whole.
func (p *fitPart) refusal(flaw fitFlaw, no, of int) error {
	why := flaw.String()
	if of > 1 {
		why = fmt.Sprintf("part %d of %d: %s", no, of, why)
	}
	hint := copyAgain
	if flaw == fitUnfinished {
		hint = "it lost power before it saved the ride; " + copyAgain
	}
	if !p.activity() {
		return refused(hint, "%s", why)
	}
	f := p.salvaged()
	if f.tidy() != nil || len(f.samples) == 0 {
		return refused(hint, "%s: no point of a ride is whole", why)
	}
	part := p.whole(f, flaw)
	if flaw == fitCut {
		part += " are whole"
	} else {
		part += " can be read"
	}
	return refused(hint+orSalvage, "%s: %s", why, part)
}

// whole says how much of a flawed part its samples are, "" where it has no flaw.
// The total is that of the sessions, if they came first, else what the
// header's size makes likely.
func (p *fitPart) whole(f *fitFacts, flaw fitFlaw) string {
	if flaw == fitWhole || len(f.samples) == 0 {
		return ""
	}
	first, last := f.samples[0].T, f.samples[len(f.samples)-1].T
	var total int64
	for _, s := range f.sessions {
		total = max(total, s.finish()-first)
	}
	if flaw == fitCut && total < last-first+reach {
		likely := float64(last-first) * float64(p.size) / float64(p.sound)
		return wholeAbout(last-first, int64(min(likely, maxRide)), "about ")
	}
	return wholeOf(last-first, min(total, maxRide))
}

// maxRide is the longest time, in ms, that a damaged file is believed to be of.
const maxRide = 30 * 86_400_000

// shorten leaves out what belongs to a leg whose session is lost. Where all are
// lost and several sports are named, nothing tells which points were ridden.
func (f *fitFacts) shorten() error {
	if len(f.sessions) == 0 && f.mixed {
		return refused(copyAgain, "several sports in one file, and what divides them is lost")
	}
	if len(f.sessions) != 1 {
		return nil
	}
	s := f.sessions[0]
	if end := s.finish(); end > s.begin() {
		kept := f.between(math.MinInt64, end+reach)
		f.drop(len(f.samples)-len(kept), "that came after the last whole session")
		f.samples = kept
	}
	return nil
}

// shorten takes from a leg of a damaged file the totals that count more than is
// whole of it. It reports whether anything is left.
func (t *Track) shorten(f *fitFacts) bool {
	if len(t.Samples) < 2 {
		return false
	}
	last := t.Samples[len(t.Samples)-1].T
	if t.End-last <= reach {
		return true
	}
	t.End, t.Totals = last, noTotals()
	t.Pauses, t.Shifts = f.pauses(t.Start, t.End), f.shiftsOf(t.Start, t.End)
	return true
}

func noTotals() Totals {
	nan := math.NaN()
	return Totals{Distance: nan, Climb: nan, Descent: nan, Moving: nan, Turns: nan, Work: nan}
}
