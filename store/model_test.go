package store_test

import (
	"cmp"
	"maps"
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
	gears map[wear.RideID]wear.Gears
	stays []wear.Stay // as entered: on bikes and on wheels
	facts []fact

	incidents []wear.Incident
	statuses  []wear.Status
	odometers []wear.Odometer
	settings  []wear.Setting
	setups    []wear.GuideSetup
	visits    []wear.Visit
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
	c.incidents, c.statuses = slices.Clone(m.incidents), slices.Clone(m.statuses)
	c.odometers, c.settings = slices.Clone(m.odometers), slices.Clone(m.settings)
	c.setups, c.visits = slices.Clone(m.setups), slices.Clone(m.visits)
	c.gears = maps.Clone(m.gears)
	c.rides = map[wear.RideID]wear.Ride{}
	for id, r := range m.rides {
		c.rides[id] = r
	}
	return &c
}

// kind is a part's kind; "" = it is no part.
func (m *model) kind(id wear.ID) string {
	for _, p := range m.parts {
		if p.ID == id {
			return p.Kind
		}
	}
	return ""
}

func wheel(kind string) bool { return kind == "front-wheel" || kind == "rear-wheel" }

// hostAt is what a part sits on at an instant; 0 = on the shelf.
func (m *model) hostAt(part wear.ID, at wear.Instant) wear.ID {
	for _, s := range m.stays {
		if s.Part == part && s.Holds(at) {
			return s.Host
		}
	}
	return 0
}

// bikeAt is the bike that a part is on at an instant, itself or with a wheel; 0 = none.
func (m *model) bikeAt(part wear.ID, at wear.Instant) wear.ID {
	host := m.hostAt(part, at)
	if wheel(m.kind(host)) {
		return m.hostAt(host, at)
	}
	return host
}

// cameAt reports whether a part came with the bike that it is on: itself, and the
// wheel that it sits on.
func (m *model) cameAt(part wear.ID, at wear.Instant) bool {
	for _, s := range m.stays {
		if s.Part == part && s.Holds(at) {
			return s.Came && (!wheel(m.kind(s.Host)) || m.cameAt(s.Host, at))
		}
	}
	return false
}

// count sums the bike's rides in [from, to), not after today.
func (m *model) count(bike wear.ID, from, to, today wear.Instant) wear.Sums {
	return m.sum(today, func(r wear.Ride) bool { return r.Bike == bike && r.Start >= from && r.Start < to })
}

func (m *model) sum(today wear.Instant, of func(wear.Ride) bool) wear.Sums {
	var sums wear.Sums
	for _, r := range m.rides {
		if r.Start > today || r.State != wear.Counted || !of(r) {
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

// told recounts which sensors the rides name whose bike the user named.
func (m *model) told() map[wear.SensorKey]map[wear.ID]int {
	counts := map[wear.SensorKey]map[wear.ID]int{}
	for _, r := range m.rides {
		if r.Bike == 0 || r.Rule != wear.Told || r.State != wear.Counted && r.State != wear.Twin {
			continue
		}
		for _, s := range r.Witnesses() {
			if counts[s] == nil {
				counts[s] = map[wear.ID]int{}
			}
			counts[s][r.Bike]++
		}
	}
	return counts
}

// onset tells how the rides of a bike in [from, to) begin.
func (m *model) onset(bike wear.ID, from, to wear.Instant) (o wear.Onset) {
	var rides []wear.Ride
	for _, r := range m.rides {
		moving := r.Recorded[wear.Moving] + r.Estimated[wear.Moving]
		if r.Bike == bike && r.State == wear.Counted && !r.Ground.Indoor() && moving > 0 && r.Start >= from && r.Start < to {
			rides = append(rides, r)
		}
	}
	slices.SortFunc(rides, func(a, b wear.Ride) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), slices.Compare(a.ID[:], b.ID[:]))
	})
	var so int64
	for i, r := range rides {
		moving := r.Recorded[wear.Moving] + r.Estimated[wear.Moving]
		so += moving
		if i == 0 {
			o.First = moving
		}
		if moving >= wear.LongRide && o.ToLong == 0 {
			o.ToLong = so
		}
	}
	return o
}

// geared sums the gears of rides.
func (m *model) geared(today wear.Instant, of func(wear.Ride) bool, believed bool) (g wear.Gears) {
	sums := [3]map[int16]wear.Gear{{}, {}, {}}
	for id, r := range m.rides {
		if r.State != wear.Counted || r.Start > today || !of(r) {
			continue
		}
		lists := [3][]wear.Gear{m.gears[id].ByDevelopment, m.gears[id].ByNumber, m.gears[id].Teeth}
		if believed {
			lists = believe(lists)
		}
		for i, list := range lists {
			for _, gear := range list {
				one := sums[i][gear.Bin]
				sums[i][gear.Bin] = wear.Gear{Bin: gear.Bin, Turns: one.Turns + gear.Turns, Work: one.Work + gear.Work}
			}
		}
	}
	for i, list := range []*[]wear.Gear{&g.ByDevelopment, &g.ByNumber, &g.Teeth} {
		for bin := range int16(200) {
			if one := sums[i][bin]; one.Turns != 0 || one.Work != 0 {
				*list = append(*list, one)
			}
		}
	}
	return g
}

// believe leaves of developments, gear numbers and teeth either the first or the
// others: these where they tell of half as many turns at least.
func believe(lists [3][]wear.Gear) [3][]wear.Gear {
	var turns [2]int64
	for i := range turns {
		for _, g := range lists[i] {
			turns[i] += g.Turns
		}
	}
	if turns[1] > 0 && turns[1] >= turns[0]-turns[1] {
		lists[0] = nil
	} else {
		lists[1], lists[2] = nil, nil
	}
	return lists
}

// total is what a part went through: the rides of whatever bike it was on when
// they started.
func (m *model) total(part wear.ID, today wear.Instant) wear.Sums {
	return m.sum(today, func(r wear.Ride) bool { return r.Bike != 0 && m.bikeAt(part, r.Start) == r.Bike })
}

// opening is what a part had done before: each stay's, from when it first is on a bike.
func (m *model) opening(part wear.ID, today wear.Instant) (sum wear.Load) {
	for _, s := range m.stays {
		if s.Part == part && slices.ContainsFunc(m.starts(), func(at wear.Instant) bool {
			return s.Holds(at) && at <= today && m.bikeAt(part, at) != 0
		}) {
			sum = sum.Add(s.Opening)
		}
	}
	return sum
}

// starts are the instants at which anything comes to sit anywhere.
func (m *model) starts() (all []wear.Instant) {
	for _, s := range m.stays {
		all = append(all, s.From)
	}
	return all
}

// instants are all that something dated happened on to the part or, while it
// was there, to the bike, in order.
func (m *model) instants(part, bike wear.ID, today wear.Instant) []wear.Instant {
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
	for _, i := range m.incidents {
		if i.Bike == bike {
			all = append(all, i.At)
		}
	}
	all = slices.DeleteFunc(all, func(at wear.Instant) bool { return at > today })
	slices.Sort(all)
	return slices.Compact(all)
}

// on lists the parts on a bike today, and those that were there before.
func (m *model) on(bike wear.ID, today wear.Instant) (now, past []wear.ID) {
	for _, p := range m.parts {
		switch {
		case m.bikeAt(p.ID, today) == bike:
			now = append(now, p.ID)
		case m.was(p.ID, bike, today):
			past = append(past, p.ID)
		}
	}
	slices.Sort(now)
	slices.Sort(past)
	return now, past
}

// was reports whether a part was ever on a bike up to today.
func (m *model) was(part, bike wear.ID, today wear.Instant) bool {
	return slices.ContainsFunc(m.starts(), func(at wear.Instant) bool { return at <= today && m.bikeAt(part, at) == bike })
}

// possible reports whether every stay ends after it begins and has a host that
// can carry it, no part is ever in two places, and no two of a kind in one.
func (m *model) possible() bool {
	for _, s := range m.stays {
		if s.To <= s.From || !m.carries(s.Host, m.kind(s.Part)) {
			return false
		}
	}
	return !slices.ContainsFunc(m.starts(), m.crowdedAt)
}

// carries reports whether a host can carry a part of the kind.
func (m *model) carries(host wear.ID, kind string) bool {
	switch m.kind(host) {
	case "": // a bike
		return true
	case "front-wheel":
		return kind == "front-tyre"
	case "rear-wheel":
		return kind == "rear-tyre" || kind == "rear-sealant" || kind == "cassette"
	}
	return false
}

func (m *model) crowdedAt(at wear.Instant) bool {
	type spot struct {
		host wear.ID
		kind string
	}
	placed, taken := map[wear.ID]bool{}, map[spot]bool{}
	for _, s := range m.stays {
		if !s.Holds(at) {
			continue
		}
		spots := []spot{{s.Host, m.kind(s.Part)}}
		if bike := m.bikeAt(s.Part, at); bike != s.Host && bike != 0 {
			spots = append(spots, spot{bike, m.kind(s.Part)})
		}
		for _, sp := range spots {
			if placed[s.Part] || taken[sp] {
				return true
			}
			taken[sp] = true
		}
		placed[s.Part] = true
	}
	return false
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
	for ago := 52; ago >= 0; ago-- {
		from, to := wear.At(monday.AddDate(0, 0, -7*ago)), wear.At(monday.AddDate(0, 0, 7-7*ago))
		if sums := m.count(bike, from, to, today); sums != (wear.Sums{}) && wear.WeekTells(ago) {
			u.Weeks = append(u.Weeks, wear.Week{From: from, Sums: sums})
		}
	}
	return u, firstRide
}
