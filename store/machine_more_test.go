package store_test

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/store"
	"pawl/wear"
)

// drawGears draws few bins, so that rides share them, or none.
func drawGears(t *rapid.T) (g wear.Gears) {
	for _, list := range []*[]wear.Gear{&g.ByDevelopment, &g.ByNumber, &g.Teeth} {
		for bin := range int16(rapid.IntRange(0, 3).Draw(t, "bins")) {
			*list = append(*list, wear.Gear{Bin: 70 + 40*bin, Turns: rapid.Int64Range(0, 3).Draw(t, "turns"), Work: rapid.Int64Range(0, 9).Draw(t, "work")})
		}
	}
	return g
}

func (x *machine) ChangeGears(t *rapid.T) {
	r, g := x.someRide(t), drawGears(t)
	if assert.ObjectsAreEqual(g, x.m.gears[r.ID]) {
		t.Skip("no change")
	}
	x.entry(t, func(tx *store.Tx, m *model) error {
		m.gears[r.ID] = g
		return tx.ChangeGears(r.ID, g)
	})
}

// AddEvent adds what is dated and not of a part.
func (x *machine) AddEvent(t *rapid.T) {
	bike, at := rapid.SampledFrom(x.m.bikes).Draw(t, "bike").ID, drawInstant(t, "at")
	sort := rapid.IntRange(0, 5).Draw(t, "sort")
	setting := x.drawSetting(t, bike, at)
	x.entry(t, func(tx *store.Tx, m *model) (err error) {
		switch sort {
		case 0:
			i := wear.Incident{Bike: bike, At: at, What: rapid.SampledFrom(wear.Happenings).Draw(t, "what")}
			if rapid.Bool().Draw(t, "of a part") {
				i.Part = rapid.SampledFrom(m.parts).Draw(t, "part").ID
			}
			i, err = tx.AddIncident(i)
			m.incidents = append(m.incidents, i)
		case 1:
			s := wear.Status{Bike: bike, At: at, Is: rapid.SampledFrom([]wear.Standing{wear.InService, wear.Held, wear.Retired}).Draw(t, "is")}
			s, err = tx.AddStatus(s)
			m.statuses = append(m.statuses, s)
		case 2:
			o := wear.Odometer{Bike: bike, At: at, Metres: rapid.Int64Range(0, 1e9).Draw(t, "metres")}
			o, err = tx.AddOdometer(o)
			m.odometers = append(m.odometers, o)
		case 3:
			setting, err = tx.AddSetting(setting)
			m.settings = append(m.settings, setting)
		case 4:
			g := wear.GuideSetup{Bike: bike, At: at, Ring: rapid.IntRange(20, 60).Draw(t, "ring")}
			g, err = tx.AddSetup(g)
			m.setups = append(m.setups, g)
		case 5:
			v := wear.Visit{Bike: bike, At: at, Note: rapid.SampledFrom([]string{"", "fork"}).Draw(t, "note")}
			v, err = tx.AddVisit(v)
			m.visits = append(m.visits, v)
		}
		return err
	})
}

func (x *machine) drawSetting(t *rapid.T, bike wear.ID, at wear.Instant) wear.Setting {
	s := wear.Setting{Name: wear.SettingGround, At: at, Text: "x"}
	if rapid.Bool().Draw(t, "of the wheel") {
		s.Name, s.Text = wear.SettingWheel, rapid.SampledFrom([]string{"2.25", "2.5"}).Draw(t, "wheel")
	}
	if rapid.IntRange(0, 3).Draw(t, "always") == 0 {
		s.At = wear.Ever
	}
	s.Scope = rapid.SampledFrom([]wear.Scope{wear.ForBook, wear.ForKind, wear.ForModel, wear.ForBike, wear.ForPart}).Draw(t, "scope")
	switch s.Scope {
	case wear.ForKind:
		s.Key = rapid.SampledFrom(kinds).Draw(t, "kind")
	case wear.ForModel:
		s.Key = rapid.SampledFrom([]string{"Grippy", "GRIPPY", "Grip"}).Draw(t, "model")
	case wear.ForBike:
		s.Of = bike
	case wear.ForPart:
		s.Of = rapid.SampledFrom(x.m.parts).Draw(t, "part").ID
	}
	return s
}

// wheelAt is the circumference of a bike's wheel on a day.
func (m *model) wheelAt(b wear.Bike, at wear.Instant) float64 {
	wheel, newest := b.Wheel, wear.Setting{At: wear.Ever}
	for _, s := range m.settings {
		later := s.At > newest.At || s.At == newest.At && s.ID > newest.ID
		if s.Name == wear.SettingWheel && s.Of == b.ID && !s.Void && s.At <= at && later {
			wheel, newest = map[string]float64{"2.25": 2.25, "2.5": 2.5}[s.Text], s
		}
	}
	return wheel
}

// alive draws the place of one that is not taken back.
func alive[T any](t *rapid.T, all []T, void func(*T) *bool) int {
	var places []int
	for i := range all {
		if !*void(&all[i]) {
			places = append(places, i)
		}
	}
	if len(places) == 0 {
		t.Skip("none left")
	}
	return rapid.SampledFrom(places).Draw(t, "place")
}

// The flags of the facts that are not a part's.
func incidentVoid(i *wear.Incident) *bool { return &i.Void }
func statusVoid(s *wear.Status) *bool     { return &s.Void }
func odometerVoid(o *wear.Odometer) *bool { return &o.Void }
func settingVoid(s *wear.Setting) *bool   { return &s.Void }
func setupVoid(g *wear.GuideSetup) *bool  { return &g.Void }
func visitVoid(v *wear.Visit) *bool       { return &v.Void }

func (x *machine) VoidIncident(t *rapid.T) {
	i := alive(t, x.m.incidents, incidentVoid)
	x.entry(t, func(tx *store.Tx, m *model) error {
		m.incidents[i].Void = true
		return tx.VoidIncident(m.incidents[i].Bike, m.incidents[i].ID)
	})
}

func (x *machine) VoidStatus(t *rapid.T) {
	i := alive(t, x.m.statuses, statusVoid)
	x.entry(t, func(tx *store.Tx, m *model) error {
		m.statuses[i].Void = true
		return tx.VoidStatus(m.statuses[i].Bike, m.statuses[i].ID)
	})
}

func (x *machine) VoidSetting(t *rapid.T) {
	i := alive(t, x.m.settings, settingVoid)
	x.entry(t, func(tx *store.Tx, m *model) error {
		m.settings[i].Void = true
		return tx.VoidSetting(m.settings[i].ID)
	})
}

func (x *machine) VoidSetup(t *rapid.T) {
	i := alive(t, x.m.setups, setupVoid)
	x.entry(t, func(tx *store.Tx, m *model) error {
		m.setups[i].Void = true
		return tx.VoidSetup(m.setups[i].Bike, m.setups[i].ID)
	})
}

func (x *machine) VoidVisit(t *rapid.T) {
	i := alive(t, x.m.visits, visitVoid)
	x.entry(t, func(tx *store.Tx, m *model) error {
		m.visits[i].Void = true
		return tx.VoidVisit(m.visits[i].Bike, m.visits[i].ID)
	})
}

func (x *machine) ChangeOdometer(t *rapid.T) {
	i := alive(t, x.m.odometers, odometerVoid)
	at, metres := drawInstant(t, "at"), rapid.Int64Range(0, 1e9).Draw(t, "metres")
	void := rapid.Bool().Draw(t, "void")
	if o := x.m.odometers[i]; !void && o.At == at && o.Metres == metres {
		t.Skip("no change")
	}
	x.entry(t, func(tx *store.Tx, m *model) error {
		o := &m.odometers[i]
		if void {
			o.Void = true
			return tx.VoidOdometer(o.Bike, o.ID)
		}
		o.At, o.Metres = at, metres
		return tx.ChangeOdometer(*o)
	})
}

// Swap puts a wheel on another bike, or a tyre or cassette on another wheel, in
// one entry, as a user does: what is there comes off, what it carries goes along.
func (x *machine) Swap(t *rapid.T) {
	movable := slices.DeleteFunc(slices.Clone(x.m.parts), func(p wear.Part) bool {
		return p.Kind != "rear-wheel" && p.Kind != "rear-tyre" && p.Kind != "cassette"
	})
	p := rapid.SampledFrom(movable).Draw(t, "part")
	var hosts []wear.ID
	for _, o := range x.m.parts {
		if o.Kind == "rear-wheel" && p.Kind != "rear-wheel" {
			hosts = append(hosts, o.ID)
		}
	}
	for _, b := range x.m.bikes {
		if p.Kind == "rear-wheel" {
			hosts = append(hosts, b.ID)
		}
	}
	host, at := rapid.SampledFrom(hosts).Draw(t, "host"), drawInstant(t, "at")
	opening := drawLoad(t, "opening")
	x.entry(t, func(tx *store.Tx, m *model) error {
		for i, s := range m.stays {
			if s.From >= at || s.To <= at || m.kind(s.Part) != p.Kind || s.Part != p.ID && s.Host != host {
				continue
			}
			m.stays[i].To = at
			if err := tx.ChangeStay(s, m.stays[i]); err != nil {
				return err
			}
		}
		s := wear.Stay{Part: p.ID, Host: host, From: at, To: wear.Never, Opening: opening}
		m.stays = append(m.stays, s)
		return tx.AddStay(s)
	})
}

// wheelAt names the wheel that a part sits on.
func (x *machine) wheelAt(part wear.ID, at wear.Instant) string {
	host := x.m.hostAt(part, at)
	for _, p := range x.m.parts {
		if p.ID == host {
			return p.Name
		}
	}
	return ""
}

func partIDs(parts []wear.Part) (all []wear.ID) {
	for _, p := range parts {
		all = append(all, p.ID)
	}
	return all
}

// checkWheel compares what a part carries; nothing unless it is a wheel.
func (x *machine) checkWheel(t *rapid.T, tx *store.Tx, p wear.Part, today wear.Instant) {
	var want []wear.ID
	for _, c := range x.m.parts {
		if x.m.hostAt(c.ID, today) == p.ID {
			want = append(want, c.ID)
		}
	}
	parts, err := tx.PartsOnWheel(p.ID, today)
	require.NoError(t, err)
	require.ElementsMatch(t, want, partIDs(parts))
}

// checkRides compares every ride, field by field.
func (x *machine) checkRides(t *rapid.T, tx *store.Tx) {
	n := 0
	for r, err := range tx.Rides(store.RideFilter{}) {
		require.NoError(t, err)
		n++
		r.Entry = 0
		require.Equal(t, x.m.rides[r.ID], r)
	}
	require.Len(t, x.m.rides, n)
	told, err := tx.Told()
	require.NoError(t, err)
	require.Equal(t, x.m.told(), told)
	few, err := tx.ToldOf(slices.Collect(maps.Keys(told)))
	require.NoError(t, err)
	require.Equal(t, told, few)
}

// order sorts what is dated and leaves out what today does not know.
func order[T any](all []T, keep func(T) bool, key func(T) (wear.Instant, uint64)) (kept []T) {
	for _, one := range all {
		if keep(one) {
			kept = append(kept, one)
		}
	}
	slices.SortStableFunc(kept, func(a, b T) int {
		at, id := key(a)
		bt, jd := key(b)
		return cmp.Or(cmp.Compare(at, bt), cmp.Compare(id, jd))
	})
	return kept
}

// checkEvents compares what happened to the bike and the settings of a case.
func (x *machine) checkEvents(t *rapid.T, tx *store.Tx, c wear.Case) {
	require.Equal(t, order(x.m.incidents,
		func(i wear.Incident) bool {
			moved := i.What != wear.Dropped && i.Part != 0 && x.m.bikeAt(i.Part, c.Today) == c.Bike.ID && x.m.was(i.Part, i.Bike, c.Today)
			return (i.Bike == c.Bike.ID || moved) && i.At <= c.Today && !i.Void
		},
		func(i wear.Incident) (wear.Instant, uint64) { return i.At, i.ID }), c.Incidents)
	require.Equal(t, order(x.m.statuses,
		func(s wear.Status) bool { return s.Bike == c.Bike.ID && s.At <= c.Today && !s.Void },
		func(s wear.Status) (wear.Instant, uint64) { return s.At, s.ID }), c.Statuses)
	meters, err := tx.Odometers(c.Bike.ID)
	require.NoError(t, err)
	require.Equal(t, order(x.m.odometers,
		func(o wear.Odometer) bool { return o.Bike == c.Bike.ID },
		func(o wear.Odometer) (wear.Instant, uint64) { return o.At, o.ID }), meters)
	all, err := tx.Setups(c.Bike.ID)
	require.NoError(t, err)
	require.Equal(t, order(x.m.setups,
		func(g wear.GuideSetup) bool { return g.Bike == c.Bike.ID },
		func(g wear.GuideSetup) (wear.Instant, uint64) { return g.At, g.ID }), all)
	days, err := tx.Visits(c.Bike.ID)
	require.NoError(t, err)
	require.Equal(t, order(x.m.visits,
		func(v wear.Visit) bool { return v.Bike == c.Bike.ID },
		func(v wear.Visit) (wear.Instant, uint64) { return v.At, v.ID }), days)
	var settings []wear.Setting
	for _, scope := range []wear.Scope{wear.ForBook, wear.ForKind, wear.ForModel, wear.ForBike, wear.ForPart} {
		settings = append(settings, order(x.m.settings,
			func(s wear.Setting) bool { return s.Scope == scope && !s.Void && s.At <= c.Today && holds(s, c) },
			func(s wear.Setting) (wear.Instant, uint64) { return s.At, s.ID })...)
	}
	require.Equal(t, settings, c.Settings)
}

// holds reports whether a setting is for the bike or a part on it.
func holds(s wear.Setting, c wear.Case) bool {
	return s.Scope == wear.ForBook || s.Of == c.Bike.ID || slices.ContainsFunc(c.Parts, func(pc wear.PartCase) bool {
		p := pc.Part
		return s.Scope == wear.ForKind && s.Key == p.Kind || s.Scope == wear.ForModel && strings.EqualFold(s.Key, p.Model) || s.Of == p.ID
	})
}
