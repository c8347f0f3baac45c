package ingest

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
)

// Limits of a FIT file. A small file can grow a hundredfold when it is decoded,
// so messages are counted before any library sees them. A day and night at ten
// points a second stays below the limit of points.
const (
	maxFITBytes  = 32 << 20
	maxFITPoints = 1_000_000
	maxFITOthers = 1_000_000 // messages that are not points
	maxFITParts  = 255       // parts of a chain, or sessions: a leg's number is a byte
	maxFITEvents = 200_000   // gear changes and stops over all legs: legs that overlap share them
	maxFITFields = 256       // developer field descriptions: searched once per field
)

// Beyond these muktihari/fit reads, message by message; tormoder/fit keeps all,
// of a lap or session 0.8 kB.
const (
	maxFITKept       = 200_000 // points
	maxFITKeptOthers = 30_000
)

const (
	copyAgain = "copy the file from the device again"
	setClock  = "set the device's clock, then log this ride by hand: pawl ride add BIKE --on DATE --km KM"
	splitFile = "split it into single rides and import those"
)

// errEvents is returned where gear changes and stops are more than maxFITEvents.
var errEvents = refused(splitFile, "more gear changes and stops than a ride can have")

// readFIT is the one door for FIT files: activities, alone or chained, of one
// sport or several. Each cycling leg becomes a track.
func readFIT(data []byte, o Options) ([]*Track, error) {
	return openFIT(data, o.Salvage)
}

// openFIT reads a FIT file; with salvage also the whole messages of a part that
// is cut, unfinished or damaged.
func openFIT(data []byte, salvage bool) ([]*Track, error) {
	if len(data) > maxFITBytes {
		return nil, refused(splitFile, "larger than 32 MB, which no ride is")
	}
	parts, rest := cutFIT(data)
	if err := checkChain(parts); err != nil {
		return nil, err
	}
	c := fitChain{of: len(parts), salvage: salvage}
	if err := c.takeRest(rest); err != nil {
		return nil, err
	}
	for i := range parts {
		if err := c.take(&parts[i], i+1); err != nil {
			return nil, err
		}
	}
	return c.close()
}

// checkChain refuses what is no FIT file, and what is too much of one.
func checkChain(parts []fitPart) error {
	var points, others, fields, legs int
	for _, p := range parts {
		points, others, fields = points+p.points, others+p.others, max(fields, p.fields)
		legs += p.legs
	}
	switch {
	case len(parts) == 0:
		return refused(copyAgain, "not a FIT file: its header is missing or damaged")
	case len(parts) > maxFITParts:
		return refused(splitFile, "a chain of more than %d FIT files", maxFITParts)
	case points > maxFITPoints:
		return refused(splitFile, "more than 1,000,000 points")
	case legs > maxFITParts:
		return refused(splitFile, "more than %d sessions", maxFITParts)
	case others > maxFITOthers || fields > maxFITFields:
		return refused(splitFile, "more messages than a ride can have")
	}
	return nil
}

// fitChain gathers what the parts of one file give.
type fitChain struct {
	of      int // how many parts there are
	salvage bool
	legs    int // sessions met so far, of whatever sport
	events  int // gear changes and stops in tracks
	tracks  []*Track
	others  []string // what the legs are that are no rides
	skipped []string // what the parts are that are no activities
	notes   []string
	damage  string // the first damage met, as a clause
}

// takeRest looks at what follows the last part without a header of its own.
func (c *fitChain) takeRest(rest []byte) error {
	if len(rest) == 0 {
		return nil
	}
	if bytes.Contains(rest, []byte("FIT")) || len(rest) >= minFITHeader && validHeaderSize(rest[0]) {
		why := fmt.Sprintf("part %d is damaged: its header makes no sense", c.of+1)
		if !c.salvage {
			return refused(copyAgain+orSalvage, "%s", why)
		}
		c.damaged(why)
		return nil
	}
	c.note("%d bytes after the end of the file were ignored", len(rest))
	return nil
}

// take reads one part. Only damage is an error: what is no ride is remembered.
func (c *fitChain) take(p *fitPart, no int) error {
	if !p.activity() {
		return c.skip(p, no)
	}
	facts, flaw := p.decode()
	if flaw != fitWhole {
		if !c.salvage {
			return p.refusal(flaw, no, c.of)
		}
		facts = p.salvaged()
		c.damaged(flaw.String())
	}
	if !p.hasID {
		c.note("the file does not say what it is (no file_id)")
	}
	return c.split(p, facts, flaw)
}

// damaged remembers what is wrong with the file that is being salvaged.
func (c *fitChain) damaged(why string) {
	c.note("%s: only what is whole in it was read", why)
	if c.damage == "" {
		c.damage = why
	}
}

// skip remembers a part that is no activity.
func (c *fitChain) skip(p *fitPart, no int) error {
	if flaw := p.check(); flaw != fitWhole {
		if !c.salvage {
			return p.refusal(flaw, no, c.of)
		}
		c.damaged(flaw.String())
	}
	what := p.kindName()
	c.skipped = append(c.skipped, what)
	if c.of > 1 {
		c.note("part %d of %d is %s and was skipped", no, c.of, what)
	}
	return nil
}

// split makes tracks of the cycling legs of one part.
func (c *fitChain) split(p *fitPart, f *fitFacts, flaw fitFlaw) error {
	if len(f.shifts)+len(f.timers) > maxFITEvents {
		return errEvents
	}
	if err := f.tidy(); err != nil {
		return err
	}
	if flaw.loses() {
		if err := f.shorten(); err != nil {
			return err
		}
	}
	if c.legs+len(f.sessions) > maxFITParts {
		return refused(splitFile, "more than %d sessions", maxFITParts)
	}
	rides, others := f.rides()
	for _, l := range rides {
		t := f.track(l)
		if t == nil || flaw.loses() && !t.shorten(f) {
			c.others = append(c.others, "an activity without points or totals")
			continue
		}
		if t.Start < fitClockSet {
			return refused(setClock, "the device's clock was not set: nothing says when the ride was")
		}
		if c.events += len(t.Shifts) + len(t.Pauses); c.events > maxFITEvents {
			return errEvents
		}
		t.Leg = c.legs + l.no
		t.Salvaged = p.whole(f, flaw)
		c.tracks = append(c.tracks, t)
	}
	c.legs += max(len(f.sessions), 1)
	c.others = append(c.others, others...)
	return nil
}

// close hands over the tracks, or says what the file is instead of a ride.
func (c *fitChain) close() ([]*Track, error) {
	if len(c.tracks) == 0 {
		if len(c.others) == 0 {
			c.others = c.skipped
		}
		others := strings.Join(unique(c.others), " and ")
		if c.damage != "" {
			return nil, refused(copyAgain, "%s, and what is whole in it is %s", c.damage, others)
		}
		return nil, notRide("%s, not a ride", others)
	}
	for _, t := range c.tracks {
		t.Warnings = append(t.Warnings, c.notes...)
		if c.damage != "" && t.Salvaged == "" {
			t.Salvaged = wholeOf(t.End-t.Start, 0)
		}
	}
	return c.tracks, nil
}

func (c *fitChain) note(format string, args ...any) {
	c.notes = append(c.notes, fmt.Sprintf(format, args...))
}

// unique drops what came before, keeping the order.
func unique(list []string) []string {
	var once []string
	for _, s := range list {
		if !slices.Contains(once, s) {
			once = append(once, s)
		}
	}
	return once
}
