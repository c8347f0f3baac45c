package wear

import (
	"fmt"
	"time"
)

// Done is what a bike's rides put through a part on one stay, its opening
// figure not included. The timeline must be cut at the ends of the stay.
func Done(tl Timeline, st Stay) Sum {
	var s Sum
	for _, span := range tl.within(st.From, st.To) {
		s = s.Add(span.Sums.All())
	}
	return s
}

// Life is what a part did in all: every stay and what it had done before.
func Life(pc PartCase, lines map[ID]Timeline) Load {
	var l Load
	for _, st := range pc.Stays {
		l = l.Add(Done(lines[st.Host], st).Total()).Add(st.Opening)
	}
	return l
}

// Overlap reports whether two stays share an instant.
func (s Stay) Overlap(o Stay) bool { return s.From < o.To && o.From < s.To }

// Check refuses a stay that ends before it begins.
func (s Stay) Check() error {
	if s.To <= s.From {
		return fmt.Errorf("stay from %s to %s: ends before it begins", day(s.From), day(s.To))
	}
	return nil
}

// CheckStays refuses a part in two places at once.
func CheckStays(stays []Stay) error {
	for i, s := range stays {
		if err := s.Check(); err != nil {
			return err
		}
		for _, o := range stays[:i] {
			if s.Overlap(o) {
				return fmt.Errorf("part is on a bike from %s to %s already", day(o.From), day(o.To))
			}
		}
	}
	return nil
}

func day(i Instant) string {
	switch i {
	case Ever:
		return "the first ride"
	case Never:
		return "now"
	}
	return i.Time().Format(time.DateOnly)
}
