package wear

import (
	"cmp"
	"slices"
)

// Standing is whether the bike may go out on the day of the case, and the
// status that says so; nil where none was ever entered. The newest status
// decides; a release with an end gives way, once it is over, to the newest
// without one: an earlier release is never in force again, however far it reached.
func (c Case) Standing() (Standing, *Status) {
	last := c.newestStatus(func(*Status) bool { return true })
	if last != nil && last.Until != 0 && last.Until < c.Today {
		last = c.newestStatus(func(s *Status) bool { return s.Until == 0 })
	}
	if last == nil || !slices.Contains([]Standing{InService, Held, Retired}, last.Is) {
		return InService, nil
	}
	return last.Is, last
}

// newestStatus is the newest of the wanted statuses of the case; nil = there is none.
func (c *Case) newestStatus(want func(*Status) bool) (last *Status) {
	for i := range c.Statuses {
		s := &c.Statuses[i]
		if s.Void || s.At > c.Today || !want(s) {
			continue
		}
		if last == nil || cmp.Or(cmp.Compare(s.At, last.At), cmp.Compare(s.ID, last.ID)) > 0 {
			last = s
		}
	}
	return last
}

// retired reports whether nothing of the bike is due any more.
func (c *Case) retired() bool {
	if len(c.Statuses) == 0 {
		return false
	}
	is, _ := c.Standing()
	return is == Retired
}
