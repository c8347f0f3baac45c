package wear

import "slices"

// Stand is how a bike stood over a stretch of time, in days.
type Stand struct {
	Service float64 // in the fleet: neither before it came nor retired
	Held    float64 // of them, held back or kept in by a stop
}

// Share is the share of days on which the bike could go out, 0 to 1; ok is false
// where it was not in the fleet at all.
func (s Stand) Share() (share float64, ok bool) {
	if s.Service <= 0 {
		return 0, false
	}
	return 1 - s.Held/s.Service, true
}

// Add is the stand of both.
func (s Stand) Add(o Stand) Stand { return Stand{s.Service + o.Service, s.Held + o.Held} }

// Stood counts the days from an instant until today on which a bike had to stay
// in, to a quarter of a day. The case holds what later facts have overtaken too; now
// is today's. A stop that no fact clears stays: between two facts a bike can begin to
// be held by what it rides, and cannot cease to be.
func Stood(c Case, s *Schedule, from Instant, now Hold, ago Ago) (Stand, error) {
	if known := c.knownSince(); known > from {
		from = known
	}
	var st Stand
	p := past{c: &c, s: s, ago: ago}
	marks := append(c.holdMarks(s, from), c.Today)
	for i, to := range marks {
		start := from
		if i > 0 {
			start = marks[i-1]
		}
		before, in := now.Held, true
		if i < len(marks)-1 {
			var err error
			if before, in, err = p.heldBefore(to); err != nil {
				return st, err
			}
		} else if is, _ := c.Standing(); is == Retired {
			in = false
		}
		if !in || to <= start {
			continue
		}
		st.Service += to.DaysSince(start)
		if !before {
			continue
		}
		began, err := p.heldFrom(start, to)
		if err != nil {
			return st, err
		}
		st.Held += to.DaysSince(began)
	}
	return st, nil
}

// knownSince is since when the bike is in the fleet: its first ride or its entry,
// whichever was first.
func (c *Case) knownSince() Instant {
	if c.First != Ever && (c.Bike.Added == 0 || c.First < c.Bike.Added) {
		return c.First
	}
	if c.Bike.Added != 0 {
		return c.Bike.Added
	}
	return Ever
}

// heldBefore is how the bike stood just before an instant at which a fact lies.
func (p *past) heldBefore(at Instant) (is, inFleet bool, err error) {
	then := *p.c
	then.Today = at - 1
	if is, _ := then.Standing(); is == Retired {
		return false, false, nil
	}
	is, err = p.held(at - 1)
	return is, true, err
}

// heldFrom is since when a bike that is held at the end of a stretch without facts
// was held in it, to a quarter of a day.
func (p *past) heldFrom(start, to Instant) (Instant, error) {
	if was, err := p.held(start); was || err != nil {
		return start, err
	}
	for to-start > Day/4 {
		mid := start + (to-start)/2
		was, err := p.held(mid)
		if err != nil {
			return to, err
		}
		if was {
			to = mid
		} else {
			start = mid
		}
	}
	return to, nil
}

// holdMarks are the instants after another at which a fact lies that can hold the
// bike or let it go, in order.
func (c *Case) holdMarks(s *Schedule, from Instant) []Instant {
	var marks []Instant
	add := func(at Instant) {
		if at > from && at < c.Today {
			marks = append(marks, at)
		}
	}
	for _, st := range c.Statuses {
		add(st.At)
		if st.Until != 0 {
			add(st.Until + 1)
		}
	}
	for _, i := range c.Incidents {
		if i.What == Crashed || i.What == Recalled {
			add(i.At)
		}
	}
	for _, list := range [][]PartCase{c.Past, c.Parts} {
		for i := range list {
			c.partMarks(s, &list[i], add)
		}
	}
	slices.Sort(marks)
	return slices.Compact(marks)
}

// partMarks adds what can hold a bike by one part, or let it go: looks where one was
// ever unsafe, readings where one was past the hard limit, work on what is safe or
// not, and where it came or went.
func (c *Case) partMarks(s *Schedule, pc *PartCase, add func(Instant)) {
	k := s.kind(pc.Part.Kind)
	if k == nil {
		unknown := unknownKind(pc.Part.Kind)
		k = &unknown
	}
	stopped := c.blamed(pc.Part.ID) || slices.ContainsFunc(pc.Looks, func(l Look) bool { return l.Word == Unsafe }) ||
		slices.ContainsFunc(pc.Readings, func(r Reading) bool { return k.pastHard(r, pc.Part, c.Bike.Fleet) })
	for _, o := range pc.SignOffs {
		if j, ok := k.Job(o.Job); stopped || ok && j.Safety {
			add(o.At)
		}
	}
	for _, l := range pc.Looks {
		if j, ok := k.Job("look"); stopped || ok && j.Safety {
			add(l.At)
		}
	}
	if stopped {
		for _, r := range pc.Readings {
			add(r.At)
		}
	}
	if stopped || slices.ContainsFunc(k.Jobs, func(j Job) bool { return j.Safety }) {
		for _, st := range pc.Stays {
			add(st.From)
			add(st.To)
		}
	}
}

// blamed reports whether a crash or a recall named a part.
func (c *Case) blamed(part ID) bool {
	return slices.ContainsFunc(c.Incidents, func(i Incident) bool {
		return i.Part == part && (i.What == Crashed || i.What == Recalled)
	})
}

// pastHard reports whether a reading is past the limit at which the bike stops.
func (k *Kind) pastHard(r Reading, p Part, fleet bool) bool {
	for i := range k.Jobs {
		if l := k.Jobs[i].Interval.Reading; l != nil && l.Of == r.Of {
			limit, ok := l.stamped(p.Stamp).hard(fleet)
			return ok && l.Reached(r.Value, limit)
		}
	}
	return false
}

// stops are the findings that stop a bike.
func stops(c Case, s *Schedule) []Finding {
	return AssessOnly(c, s, Stop)
}
