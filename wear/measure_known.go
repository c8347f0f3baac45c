package wear

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

// Known is what is known of a part when a reading of it is entered.
type Known struct {
	Bike, Part string         // names, for messages
	Stays      []Stay         // of the part; none = not asked about
	Readings   []Reading      // of the part
	Plate      float64        // mm, of its pads, as an earlier reading had it; 0 = not known
	Zone       *time.Location // in which messages say a day; nil = UTC
}

// ContradictionError is a reading that cannot be true beside what is known.
type ContradictionError struct {
	Text string // as typed
	Why  string
	Tip  string
}

// Error says what contradicts what.
func (e *ContradictionError) Error() string { return fmt.Sprintf("reading %q: %s", e.Text, e.Why) }

// Hint says how to clear it up.
func (e *ContradictionError) Hint() string { return e.Tip }

// beyond is by how many standard deviations no tool errs, for questions.
const beyond = 2

// erring is by how much a reading errs at most, in its unit.
func (r Reading) erring() float64 {
	if r.Gauge != nil {
		return beyond * math.Hypot(gaugeSoft, gaugeBias)
	}
	return beyond * math.Hypot(errorOf(r.Tool).of(&r))
}

// bounds are the least and the most that a reading can mean. A gauge of which
// nobody said that it leaves roller play out may have read it.
func (r Reading) bounds() (lo, hi float64) {
	e := r.erring()
	if r.Gauge == nil {
		return r.Value - e, r.Value + e
	}
	lo, hi = math.Inf(-1), math.Inf(1)
	if r.Gauge.In > 0 {
		lo = r.Gauge.In - e
		if r.Gauge.Points != 3 {
			lo -= rollerPlay + beyond*rollerSpan
		}
	}
	if r.Gauge.Out > 0 {
		hi = r.Gauge.Out + e
		if r.Gauge.Points == 2 {
			hi -= rollerPlay - beyond*rollerSpan
		}
	}
	return lo, hi
}

// around are the readings before and after an instant that count.
func (k Known) around(of ReadingOf, at Instant) (before, after *Reading) {
	list := ordered(k.Readings, func(x, y Reading) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
		func(r Reading) bool { return r.Void || r.Doubtful || r.Of != of })
	for i := range list {
		if list[i].At > at {
			return before, &list[i]
		}
		before = &list[i]
	}
	return before, nil
}

// lastly says the reading before, where there is one.
func (k Known) lastly(r Reading) string {
	before, _ := k.around(r.Of, r.At)
	if before == nil {
		return ""
	}
	return fmt.Sprintf("; the last reading, on %s, %s", k.day(before.At), before.was())
}

func (k Known) day(at Instant) string {
	return at.Time().In(cmp.Or(k.Zone, time.UTC)).Format(time.DateOnly)
}

// was says a reading after its day: "was 0.62 % by ruler".
func (r Reading) was() string {
	if g := r.Gauge; g != nil && g.In > 0 && g.Out > 0 {
		return "was that " + r.Words()
	}
	return "was " + r.Words()
}

// fitted refuses a reading of a part that nobody had fitted yet.
func (m *measuring) fitted(r Reading) error {
	stays := m.known.Stays
	if len(stays) == 0 || slices.ContainsFunc(stays, func(s Stay) bool { return s.From <= r.At }) {
		return nil
	}
	first := slices.MinFunc(stays, func(a, b Stay) int { return cmp.Compare(a.From, b.From) }).From
	why := fmt.Sprintf("%s was fitted on %s, after %s%s", m.known.Part, m.known.day(first), m.known.day(r.At), m.known.first(r))
	return &ContradictionError{m.text, why, "--on DATE says when it was measured; a kind means the part that was on then"}
}

// first says the first reading that is known, for one that comes before all.
func (k Known) first(r Reading) string {
	_, after := k.around(r.Of, r.At)
	if after == nil {
		return ""
	}
	return fmt.Sprintf("; its first reading, on %s, %s", k.day(after.At), after.was())
}

// tightest are, of all the readings before an instant that count and of all
// those after it, the one that leaves a reading of then the least room.
func (k Known) tightest(of ReadingOf, at Instant) (before, after *Reading) {
	for i := range k.Readings {
		r := &k.Readings[i]
		switch {
		case r.Void || r.Doubtful || r.Of != of:
		case r.At > at:
			if after == nil || r.most() < after.most() {
				after = r
			}
		case before == nil || r.least() > before.least():
			before = r
		}
	}
	return before, after
}

// least and most bound the wear that a reading tells of: growing with wear,
// whether the part gets longer or thinner.
func (r Reading) least() float64 {
	lo, hi := r.bounds()
	if r.Of == Elongation {
		return lo
	}
	return -hi
}

func (r Reading) most() float64 {
	lo, hi := r.bounds()
	if r.Of == Elongation {
		return hi
	}
	return -lo
}

// consistent refuses a reading that says that a part grew back.
func (m *measuring) consistent(r Reading) error {
	last, next := m.known.around(r.Of, r.At)
	before, after := m.known.tightest(r.Of, r.At)
	for _, c := range []struct {
		near, earlier, later, other *Reading
		is, far                     string
	}{
		{last, before, &r, before, "the last one", "an earlier one"},
		{next, &r, after, after, "the next one", "a later one"},
	} {
		if c.other == nil || c.later.most() >= c.earlier.least() {
			continue
		}
		if c.near.ID != c.other.ID {
			c.is = c.far
		}
		return m.contradiction(r, c.is, *c.other)
	}
	return nil
}

func (m *measuring) contradiction(r Reading, which string, other Reading) error {
	why := fmt.Sprintf("%s, but %s, on %s, %s: ", r.Words(), which, m.known.day(other.At), other.was())
	tip := "measure again, clean and taut"
	if r.Of == Elongation {
		why += "no chain gets shorter by more than both tools err; dirty or waxed then, or another tool?"
	} else {
		why += fmt.Sprintf("no %s grows; another place, or another part?", r.Of)
		tip = "measure again"
	}
	tip += fmt.Sprintf("; a new part: pawl signoff %q %s:change; --doubtful keeps it out of the sums", m.known.Bike, m.s.Kind)
	return &ContradictionError{m.text, why, tip}
}
