package store_test

import (
	"cmp"
	"slices"
	"time"

	"pawl/wear"
)

// model is the naive book: it keeps facts in lists and recounts everything from
// all rides whenever it is asked.
type model struct {
	zone  *time.Location
	bikes []wear.Bike
	parts []wear.Part
	rides map[wear.RideID]wear.Ride
	stays []wear.Stay
	facts []fact
}

// fact is a reading, a look or a sign-off.
type fact struct {
	sort int // 0 reading, 1 look, 2 sign-off
	id   uint64
	part wear.ID
	at   wear.Instant
	void bool
}

// copy is for undo.
func (m *model) copy() *model {
	c := *m
	c.bikes, c.parts = slices.Clone(m.bikes), slices.Clone(m.parts)
	c.stays, c.facts = slices.Clone(m.stays), slices.Clone(m.facts)
	c.rides = map[wear.RideID]wear.Ride{}
	for id, r := range m.rides {
		c.rides[id] = r
	}
	return &c
}

// count sums the bike's rides in [from, to), not after today.
func (m *model) count(bike wear.ID, from, to, today wear.Instant) wear.Sums {
	var sums wear.Sums
	for _, r := range m.rides {
		if r.Bike != bike || r.Start < from || r.Start >= to || r.Start > today || r.State != wear.Counted {
			continue
		}
		s := &sums[r.Ground]
		s.Rides++
		s.Recorded = s.Recorded.Add(r.Recorded)
		s.Estimated = s.Estimated.Add(r.Estimated)
		if r.Recorded[wear.Moving]+r.Estimated[wear.Moving] >= wear.LongRide {
			s.Long++
		}
		for q := range wear.NQuantities {
			if r.Lacking.Has(q) {
				s.Lacking[q]++
			}
		}
	}
	return sums
}

// total is what a part went through on all its stays.
func (m *model) total(part wear.ID, today wear.Instant) wear.Sums {
	var sums wear.Sums
	for _, s := range m.stays {
		if s.Part == part {
			sums = sums.Add(m.count(s.Host, s.From, s.To, today))
		}
	}
	return sums
}

// instants are all that something dated happened on, in order.
func (m *model) instants(part wear.ID, today wear.Instant) []wear.Instant {
	var all []wear.Instant
	for _, s := range m.stays {
		if s.Part == part {
			all = append(all, s.From, s.To)
		}
	}
	for _, f := range m.facts {
		if f.part == part {
			all = append(all, f.at)
		}
	}
	all = slices.DeleteFunc(all, func(at wear.Instant) bool { return at > today })
	slices.Sort(all)
	return slices.Compact(all)
}

// on lists the parts on a bike today, and those that were there before.
func (m *model) on(bike wear.ID, today wear.Instant) (now, past []wear.ID) {
	for _, p := range m.parts {
		held, was := false, false
		for _, s := range m.stays {
			if s.Part == p.ID && s.Host == bike && s.From <= today {
				was = true
				held = held || s.To > today
			}
		}
		switch {
		case held:
			now = append(now, p.ID)
		case was:
			past = append(past, p.ID)
		}
	}
	slices.Sort(now)
	slices.Sort(past)
	return now, past
}

// known counts a part's facts that are not taken back and not after today.
func (m *model) known(sort int, part wear.ID, today wear.Instant) (ids []uint64) {
	facts := slices.Clone(m.facts)
	slices.SortFunc(facts, func(a, b fact) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.id, b.id)) })
	for _, f := range facts {
		if f.sort == sort && f.part == part && !f.void && f.at <= today {
			ids = append(ids, f.id)
		}
	}
	return ids
}

// use is the last twelve weeks, day by day.
func (m *model) use(bike wear.ID, today wear.Instant) (u wear.Use, firstRide wear.Instant) {
	u.Last, firstRide = wear.Ever, wear.Ever
	for _, r := range m.rides {
		if r.Bike != bike || r.State != wear.Counted || r.Start > today {
			continue
		}
		u.Last = max(u.Last, r.Start)
		if firstRide == wear.Ever || r.Start < firstRide {
			firstRide = r.Start
		}
	}
	if firstRide == wear.Ever {
		return u, firstRide
	}
	y, mo, d := today.Time().In(m.zone).Date()
	monday := time.Date(y, mo, d, 0, 0, 0, 0, m.zone)
	for monday.Weekday() != time.Monday {
		y, mo, d = monday.AddDate(0, 0, -1).Date()
		monday = time.Date(y, mo, d, 0, 0, 0, 0, m.zone)
	}
	begin := wear.At(monday.AddDate(0, 0, -84))
	u.Sums = m.count(bike, begin, wear.Never, today)
	u.Days = max(7, today.DaysSince(max(begin, firstRide)))
	return u, firstRide
}
