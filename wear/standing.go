package wear

import (
	"cmp"
	"slices"
)

// Standing is whether the bike may go out on the day of the case, and the
// status that says so; nil where none was ever entered. The newest status that
// stands decides; a release with an end gives way, once it is over, to what
// held before it.
func (c Case) Standing() (Standing, *Status) {
	var last *Status
	for i := range c.Statuses {
		s := &c.Statuses[i]
		if s.Void || s.At > c.Today || s.Until != 0 && s.Until < c.Today {
			continue
		}
		if last == nil || cmp.Or(cmp.Compare(s.At, last.At), cmp.Compare(s.ID, last.ID)) > 0 {
			last = s
		}
	}
	if last == nil || !slices.Contains([]Standing{InService, Held, Retired}, last.Is) {
		return InService, nil
	}
	return last.Is, last
}

// retired reports whether nothing of the bike is due any more.
func (c *Case) retired() bool {
	if len(c.Statuses) == 0 {
		return false
	}
	is, _ := c.Standing()
	return is == Retired
}
