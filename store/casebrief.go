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
	if traces.Readings {
		if pc.Readings, err = readings.upTo(t, pc.Part.ID, c.Today); err != nil {
			return false, err
		}
	}
	if !traces.Stays && len(pc.Readings) == 0 {
		return false, nil
	}
	if traces.SignOffs {
		if pc.SignOffs, err = signOffs.upTo(t, pc.Part.ID, c.Today); err != nil {
			return false, err
		}
	}
	return true, t.caseStays(c, pc)
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

// newest fills in the looks and sign-offs of a part that no later one has overtaken.
func (t *Tx) newest(c *caseDraft, pc *wear.PartCase) (err error) {
	if pc.Looks, err = looks.newest(t, pc.Part.ID, c.Today); err != nil {
		return err
	}
	pc.SignOffs, err = signOffs.newest(t, pc.Part.ID, c.Today)
	if declined([]wear.PartCase{*pc}) {
		pc.SignOffs, err = signOffs.upTo(t, pc.Part.ID, c.Today)
	}
	return err
}

// newest are those of upTo that no later one of the same mark has overtaken.
func (d dated[T]) newest(t *Tx, owner wear.ID, today wear.Instant) ([]T, error) {
	var rows [16][]byte // most have fewer; keys and values lie in the book
	keys, values := rows[:0:8], rows[8:8:16]
	for k, v := range t.under(d.bucket, id8(owner)) {
		if instant(k[8:]) > today {
			break
		}
		keys, values = append(keys, k), append(values, v)
	}
	if len(keys) == 0 {
		return nil, nil
	}
	stays, err := t.wornOn(owner)
	if err != nil {
		return nil, err
	}
	kept, give := roomFor[T](t, d.bucket)
	var most [8]wear.Mark
	marks := most[:0]
	for i := len(keys) - 1; i >= 0; i-- {
		kept = append(kept, *new(T))
		fact := &kept[len(kept)-1]
		if err := decodeTo(t, d.bucket, keys[i], values[i], fact); err != nil {
			return nil, err
		}
		h := d.head(fact)
		*h.bike = hostAt(stays, *h.at, *h.bike)
		if mark := d.mark(fact); *h.void || slices.Contains(marks, mark) {
			kept = kept[:len(kept)-1]
		} else {
			marks = append(marks, mark)
		}
	}
	slices.Reverse(kept)
	return give(kept), nil
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
	spans   []wear.Span
	taken   int
	weeks   []wear.Week
	lending bool
}

// reuse lets the next case have what the one before it had.
func (l *lender) reuse() { l.lending, l.taken = true, 0 }

// roomForSpans is a list of n empty spans.
func (t *Tx) roomForSpans(n int) wear.Timeline {
	if t.reads == nil || !t.reads.lender.lending {
		return make(wear.Timeline, n)
	}
	l := &t.reads.lender
	if l.taken+n > len(l.spans) {
		l.spans, l.taken = make([]wear.Span, 2*(l.taken+n)), 0
	}
	room := l.spans[l.taken : l.taken+n : l.taken+n]
	l.taken += n
	clear(room)
	return room
}

// roomForWeeks is a list of n empty weeks, to which one can be appended.
func (t *Tx) roomForWeeks(n int) []wear.Week {
	if t.reads == nil || !t.reads.lender.lending {
		return make([]wear.Week, n, n+1)
	}
	l := &t.reads.lender
	if len(l.weeks) <= n {
		l.weeks = make([]wear.Week, 2*n+1)
	}
	clear(l.weeks[:n])
	return l.weeks[:n]
}
