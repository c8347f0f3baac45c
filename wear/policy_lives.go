package wear

import (
	"cmp"
	"slices"
)

// How worn the chains are that a cassette or ring runs with (common practice,
// no published source): a chain changed at 0.5 % is found at up to 0.6 %, one
// changed at 0.75 % past that. What ran with a chain past 0.9 % says nothing of
// either.
const (
	wornFrom   = 0.6 // %
	spoiltFrom = 0.9 // %
)

// teethLives are lives of cassettes or rings, in what the schedule expects, by
// the chains that they ran with.
type teethLives struct {
	mild, worn []Unit // chains up to wornFrom, past it
	unread     int    // parts that ran with no measured chain, or on several bikes
	spoilt     int    // parts that ran with a chain past spoiltFrom, for the time after
}

// chainRun is one chain's time on a bike. Where it was measured past wornFrom,
// it ran past 0.5 % from a place between two instants on: the reading, or its
// fit, before and the first such reading, at a share of what was ridden between.
type chainRun struct {
	Stay
	read          bool // it was measured
	crossed       bool
	before, after Instant
	share         float64
	spoilt        Instant // of the first reading past spoiltFrom; Never = none
}

// chainRuns are the times of all chains on the bike.
func chainRuns(c *Case) []chainRun {
	var list []chainRun
	for _, parts := range [][]PartCase{c.Past, c.Parts} {
		for i := range parts {
			if parts[i].Part.Kind != policyKinds[policyChain] {
				continue
			}
			for _, st := range parts[i].Stays {
				if st.Host == c.Bike.ID {
					list = append(list, runOf(&parts[i], st))
				}
			}
		}
	}
	return list
}

// runOf follows the readings of a chain through a stay.
func runOf(pc *PartCase, st Stay) chainRun {
	run := chainRun{Stay: st, spoilt: Never}
	readings := ordered(pc.Readings, func(x, y Reading) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
		func(r Reading) bool { return r.Void || r.Doubtful || r.Of != Elongation || !st.covers(r.At) })
	at, last := st.From, chainStart
	for i := range readings {
		r := &readings[i]
		v := r.surely()
		run.read = true
		if v > spoiltFrom {
			run.spoilt = min(run.spoilt, r.At)
		}
		switch {
		case run.crossed:
		case v > wornFrom:
			run.crossed, run.before, run.after = true, at, r.At
			run.share = max(0, min(1, (PolicyLimits[0]-last)/(v-last)))
		default:
			at, last = r.At, min(v, PolicyLimits[0])
		}
	}
	return run
}

// covers is Holds with the end: a chain is measured as it comes off.
func (s Stay) covers(at Instant) bool { return s.From <= at && at <= s.To }

// exposure is what worn chains a part ran with: from which load on.
type exposure struct {
	worn, spoilt     float64 // where isWorn, isSpoilt
	isWorn, isSpoilt bool
	known            bool // a chain was measured that ran on it
}

// exposed goes through the chains that ran on a part of the bike; done is the
// part's load up to an instant.
func (p *partView) exposed(chains []chainRun, bike ID, done func(Instant) float64) (e exposure) {
	if slices.ContainsFunc(p.stays, func(s Stay) bool { return s.Host != bike }) {
		return e
	}
	for i := range chains {
		run := &chains[i]
		if !p.ranWith(run.From, run.To) {
			continue
		}
		e.known = e.known || run.read
		if run.crossed && p.ranWith(run.before, run.To) {
			from := done(run.before)
			from += run.share * (done(run.after) - from)
			if !e.isWorn || from < e.worn {
				e.isWorn, e.worn = true, from
			}
		}
		if run.spoilt != Never && p.ranWith(run.spoilt, run.To) {
			if at := done(run.spoilt); !e.isSpoilt || at < e.spoilt {
				e.isSpoilt, e.spoilt = true, at
			}
		}
	}
	return e
}

// ranWith reports whether the part was on in some of a time.
func (p *partView) ranWith(from, to Instant) bool {
	return slices.ContainsFunc(p.stays, func(s Stay) bool { return s.From < to && from < s.To })
}

// surely is the reading, of a gauge the end that dropped in: what the chain had
// come to for certain.
func (r Reading) surely() float64 {
	if r.Gauge != nil {
		return r.Gauge.In
	}
	return r.Value
}

// take puts a life where it belongs. A part that came to run with worn chains
// lasted with the others so far, and what it lasted from there on counts with
// the worn ones: that it got so far says nothing of those (left truncation).
// Else the parts that last longest would meet a worn chain most often, and worn
// chains would seem to be good for them.
func (l *teethLives) take(u Unit, e exposure) {
	if !e.known {
		l.unread++
		return
	}
	if e.isSpoilt && e.spoilt < u.Load {
		l.spoilt++
		u = u.until(e.spoilt)
	}
	if !e.isWorn || e.worn >= u.Load {
		l.mild = append(l.mild, u)
		return
	}
	if e.worn > u.Entry {
		l.mild = append(l.mild, u.until(e.worn))
	}
	u.Entry = max(u.Entry, e.worn)
	l.worn = append(l.worn, u)
}

// until is the unit as it was when it had done a load: still running.
func (u Unit) until(load float64) Unit {
	return Unit{Name: u.Name, Load: load, Entry: min(u.Entry, load)}
}

func (l *teethLives) add(o teethLives) {
	l.mild = append(l.mild, o.mild...)
	l.worn = append(l.worn, o.worn...)
	l.unread += o.unread
	l.spoilt += o.spoilt
}
