package store

import (
	"slices"

	"pawl/wear"
)

// pastTraces are the facts of the parts that are off the bike on which its
// findings still rest; a part that leaves no traces is left out.
func (t *Tx) pastTraces(parts []wear.ID, c *caseDraft) ([]wear.PartCase, error) {
	slices.Sort(parts) // neighbours are read together
	list := make([]wear.PartCase, 0, len(parts))
	for _, part := range parts {
		p, err := t.partUpTo(part, c.Today)
		if err != nil {
			return nil, err
		}
		list = append(list, wear.PartCase{Part: p})
		told, err := t.trace(&c.Case, &list[len(list)-1])
		if err != nil {
			return nil, err
		}
		if !told {
			list = list[:len(list)-1]
		}
	}
	sortParts(list, partOf)
	return list, nil
}

// trace fills in the traces of a part; told is false where it leaves none.
func (t *Tx) trace(c *wear.Case, pc *wear.PartCase) (told bool, err error) {
	traces := wear.Default().Traces(pc.Part)
	if !traces.Stays && !traces.Readings {
		return false, nil
	}
	n, err := t.newestOf(pc.Part.ID)
	if err != nil || !traces.Stays && len(n.readings) == 0 && !n.lacking {
		return false, err
	}
	if err := t.caseStays(c, pc); err != nil {
		return false, err
	}
	if err := t.briefly(c, pc, n); err != nil {
		return false, err
	}
	pc.Looks = nil
	if !traces.Readings {
		pc.Readings = nil
	}
	if !traces.SignOffs {
		pc.SignOffs = nil
	}
	return true, nil
}

// briefly fills in the facts of a part that no later one has overtaken, or all of
// them where that is not enough: where the day is an earlier one, work was declined,
// something happened to a bike that the part was on, or the part has been elsewhere.
func (t *Tx) briefly(c *wear.Case, pc *wear.PartCase, n newest) error {
	if n.lacking || n.declined || len(pc.Stays) > 1 || !t.quiet(pc.Stays) || !n.within(pc.Stays, c.Today) {
		return t.facts(c, pc)
	}
	pc.Readings, pc.Looks, pc.SignOffs = n.readings, n.looks, n.signOffs
	if n.named() {
		var err error
		if pc.Looks, err = looks.upTo(t, pc.Part.ID, c.Today); err != nil {
			return err
		}
	}
	for i := range pc.Readings {
		pc.Readings[i].Part, pc.Readings[i].Bike = pc.Part.ID, pc.Stays[0].Host
	}
	for i := range pc.Looks {
		pc.Looks[i].Part, pc.Looks[i].Bike = pc.Part.ID, pc.Stays[0].Host
	}
	for i := range pc.SignOffs {
		pc.SignOffs[i].Part, pc.SignOffs[i].Bike = pc.Part.ID, pc.Stays[0].Host
	}
	return nil
}

// facts fills in all readings, looks and sign-offs of a part.
func (t *Tx) facts(c *wear.Case, pc *wear.PartCase) (err error) {
	if pc.Readings, err = readings.upTo(t, pc.Part.ID, c.Today); err != nil {
		return err
	}
	if pc.Looks, err = looks.upTo(t, pc.Part.ID, c.Today); err != nil {
		return err
	}
	pc.SignOffs, err = signOffs.upTo(t, pc.Part.ID, c.Today)
	return err
}

// quiet reports whether nothing happened to any of the bikes that a part was on.
func (t *Tx) quiet(stays []wear.Stay) bool {
	for _, s := range stays {
		for range t.under(bktIncidents, id8(s.Host)) {
			return false
		}
	}
	return true
}

// declined reports whether somebody chose not to have a job done: that is judged
// by the parts that were on the bike then.
func declined(parts []wear.PartCase) bool {
	return slices.ContainsFunc(parts, func(pc wear.PartCase) bool {
		return slices.ContainsFunc(pc.SignOffs, func(s wear.SignOff) bool { return s.Declined })
	})
}

// lender gives the large lists of one case after the other the same memory.
type lender struct {
	spans   slab[wear.Span]
	gears   slab[wear.Gear]
	weeks   []wear.Week
	lending bool
}

// slab is memory of which pieces are taken until all is taken back.
type slab[T any] struct {
	room  []T
	taken int
}

// take is a list of n empty ones.
func (s *slab[T]) take(n int) []T {
	if s.taken+n > len(s.room) {
		s.room, s.taken = make([]T, 2*(s.taken+n)), 0 // what was taken keeps what it has
	}
	list := s.room[s.taken : s.taken+n : s.taken+n]
	s.taken += n
	clear(list)
	return list
}

// reuse lets the next case have what the one before it had.
func (l *lender) reuse() { l.lending, l.spans.taken, l.gears.taken = true, 0, 0 }

// lends reports whether lists come from memory that the next case takes back.
func (t *Tx) lends() bool { return t.reads != nil && t.reads.lender.lending }

// roomForSpans is a list of n empty spans.
func (t *Tx) roomForSpans(n int) wear.Timeline {
	if t.lends() {
		return t.reads.lender.spans.take(n)
	}
	return make(wear.Timeline, n)
}

// roomForGears is a list of n empty gears.
func (t *Tx) roomForGears(n int) []wear.Gear {
	if t.lends() {
		return t.reads.lender.gears.take(n)
	}
	return make([]wear.Gear, n)
}

// roomForWeeks is a list of n empty weeks, to which one can be appended.
func (t *Tx) roomForWeeks(n int) []wear.Week {
	if !t.lends() {
		return make([]wear.Week, n, n+1)
	}
	l := &t.reads.lender
	if len(l.weeks) <= n {
		l.weeks = make([]wear.Week, 2*n+1)
	}
	clear(l.weeks[:n])
	return l.weeks[:n]
}
