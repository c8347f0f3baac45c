package store_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// season is a made-up year of one bike that has two wheelsets and three chains,
// and of a second bike that borrows a wheel.
type season struct {
	tx    *store.Tx
	ids   map[string]wear.ID
	kinds map[string]string
	stays []wear.Stay
}

func newSeason(t testing.TB, tx *store.Tx) *season {
	s := &season{tx: tx, ids: map[string]wear.ID{}, kinds: map[string]string{}}
	for _, name := range []string{"Ridge", "Gully"} {
		b, err := tx.AddBike(wear.Bike{Name: name})
		require.NoError(t, err)
		s.ids[name] = b.ID
	}
	for _, p := range []struct{ kind, names string }{
		{"front-wheel", "AB"}, {"rear-wheel", "AB"}, {"front-tyre", "AB"}, {"rear-tyre", "ABC"},
		{"front-rotor", "AB"}, {"rear-rotor", "AB"}, {"cassette", "AB"}, {"chain", "123"}, {"ring", "1"},
	} {
		for _, n := range p.names {
			name := p.kind + " " + string(n)
			part, err := tx.AddPart(wear.Part{Kind: p.kind, Name: name, Teeth: 32})
			require.NoError(t, err)
			s.ids[name], s.kinds[name] = part.ID, p.kind
		}
	}
	return s
}

func (s *season) stay(part, host string, from, to wear.Instant) {
	s.stays = append(s.stays, wear.Stay{Part: s.ids[part], Host: s.ids[host], From: from, To: to})
}

// swapAt is the instant of the n-th change: noon, every other week.
func swapAt(n int) wear.Instant {
	return wear.At(time.Date(2025, 1, 6+14*n, 12, 0, 0, 0, time.UTC))
}

// plan lays out a year: the wheelsets take turns of two weeks, the chains of
// four, the tyres move once, and the second wheelset is lent out whenever it is off.
func (s *season) plan() {
	for _, end := range []string{"front-", "rear-"} {
		for _, set := range []string{"A", "B"} {
			s.stay(end+"rotor "+set, end+"wheel "+set, wear.Ever, wear.Never)
		}
	}
	s.stay("front-tyre A", "front-wheel A", wear.Ever, wear.Never)
	s.stay("front-tyre B", "front-wheel B", wear.Ever, wear.Never)
	s.stay("cassette A", "rear-wheel A", wear.Ever, wear.Never)
	s.stay("cassette B", "rear-wheel B", wear.Ever, swapAt(17)-wear.Day)
	s.stay("rear-tyre A", "rear-wheel A", wear.Ever, swapAt(9)+3*wear.Day) // while it is on
	s.stay("rear-tyre C", "rear-wheel A", swapAt(9)+3*wear.Day, wear.Never)
	s.stay("rear-tyre B", "rear-wheel B", wear.Ever, swapAt(12))
	s.stay("rear-tyre A", "rear-wheel B", swapAt(12)+wear.Day, wear.Never)
	s.stay("ring 1", "Ridge", wear.Ever, wear.Never)
	for n := range 26 {
		from, to := swapAt(n), swapAt(n+1)
		on, off := "A", "B"
		if n%2 == 1 {
			on, off = "B", "A"
		}
		for _, end := range []string{"front-wheel ", "rear-wheel "} {
			s.stay(end+on, "Ridge", from, to)
			if off == "B" {
				s.stay(end+off, "Gully", from, to)
			}
		}
		if n%2 == 0 {
			s.stay("chain "+string("123"[n/2%3]), "Ridge", from, swapAt(n+2))
		}
	}
}

// at is the bike that a part was on, found by going through the plan.
func (s *season) at(part wear.ID, at wear.Instant) wear.ID {
	for _, st := range s.stays {
		if st.Part == part && st.Holds(at) {
			if st.Host == s.ids["Ridge"] || st.Host == s.ids["Gully"] {
				return st.Host
			}
			return s.at(st.Host, at)
		}
	}
	return 0
}

// rides are two a week on each bike; every other one starts on a day of a change
// at half past eleven and ends after it, so that it belongs to what was on before.
func (s *season) rides() (all []wear.Ride) {
	for n := range 120 {
		for i, bike := range []string{"Ridge", "Gully"} {
			r := madeRide(2*n + i)
			r.Bike, r.File, r.Ground = s.ids[bike], wear.Hash{}, wear.Ground(n%int(wear.NGrounds))
			r.Start, r.Elapsed = swapAt(0)+wear.Instant(n)*3*wear.Day+7_000_000, 3*3_600_000
			if n%2 == 0 {
				r.Start = swapAt(n/4) + wear.Instant(n%4*30-90)*60_000 // 90 or 30 minutes before it
			}
			all = append(all, r)
		}
	}
	return all
}

// TestSeasonOfTwoWheelsets: each part's sums are those of the rides that started
// while it was on, to the last integer, whatever order everything comes in.
func TestSeasonOfTwoWheelsets(t *testing.T) {
	for seed := range uint64(3) {
		b := store.Quick(storetest.Open(t, store.Options{}))
		var s *season
		var rides []wear.Ride
		update(t, b, func(tx *store.Tx) {
			s = newSeason(t, tx)
			s.plan()
			rides = s.rides()
		})
		var steps []func(*store.Tx) error
		for _, st := range s.stays {
			steps = append(steps, func(tx *store.Tx) error { return tx.AddStay(st) })
		}
		for _, r := range rides {
			steps = append(steps, func(tx *store.Tx) error {
				_, err := tx.AddRide(r, wear.Gears{})
				return err
			})
		}
		if seed > 0 {
			rand.New(rand.NewPCG(seed, 1)).Shuffle(len(steps), func(i, j int) { steps[i], steps[j] = steps[j], steps[i] })
		}
		for batch := range slices.Chunk(steps, 25) {
			update(t, b, func(tx *store.Tx) {
				for _, step := range batch {
					require.NoError(t, step(tx))
				}
			})
		}
		storetest.Check(t, b)
		view(t, b, func(tx *store.Tx) { checkSeason(t, tx, s, rides) })
	}
}

func checkSeason(t *testing.T, tx *store.Tx, s *season, rides []wear.Ride) {
	across := 0
	for name := range s.kinds {
		var want wear.Sums
		for _, r := range rides {
			if s.at(s.ids[name], r.Start) != r.Bike {
				continue
			}
			want[r.Ground] = want[r.Ground].Add(r.Sum())
			if s.at(s.ids[name], r.Start+wear.Instant(r.Elapsed)) != r.Bike {
				across++
			}
		}
		pc, lines, err := tx.PartCase(s.ids[name], wear.Never)
		require.NoError(t, err)
		var have wear.Sums
		for _, st := range pc.Stays {
			have = have.Add(over(lines[st.Host], st.From, st.To))
		}
		require.Equal(t, want, have, name)
		require.Positive(t, want.All().Rides, name)
		require.Equal(t, want.All().Total(), wear.Life(pc, lines), name)
	}
	require.Greater(t, across, 50, "rides that end on another bike or on the shelf")
}

// wheelBook is two bikes, each with a rear wheel, its tyre and cassette, and a
// wheel with a tyre on the shelf.
func wheelBook(t *testing.T) (*store.Book, map[string]wear.ID) {
	b := storetest.Open(t, store.Options{})
	ids := map[string]wear.ID{}
	update(t, b, func(tx *store.Tx) {
		for _, name := range []string{"Ridge", "Gully"} {
			k, err := tx.AddBike(wear.Bike{Name: name})
			require.NoError(t, err)
			ids[name] = k.ID
		}
		for _, p := range []struct{ name, kind, host string }{
			{"W1", "rear-wheel", "Ridge"}, {"T1", "rear-tyre", "W1"}, {"C1", "cassette", "W1"},
			{"W2", "rear-wheel", "Gully"}, {"T2", "rear-tyre", "W2"},
			{"W3", "rear-wheel", ""}, {"T3", "rear-tyre", "W3"},
			{"chain", "chain", "Ridge"}, {"F1", "front-wheel", ""}, {"T4", "rear-tyre", ""},
			{"C2", "cassette", "Gully"}, // on the bike itself, as in books made before there were wheels
		} {
			part, err := tx.AddPart(wear.Part{Kind: p.kind, Name: p.name})
			require.NoError(t, err)
			ids[p.name] = part.ID
			if p.host == "" {
				continue
			}
			require.NoError(t, tx.AddStay(wear.Stay{
				Part: part.ID, Host: ids[p.host], From: wear.Ever, To: wear.Never,
				Opening: wear.Load{wear.Distance: 5000},
			}))
		}
	})
	return b, ids
}

func TestWheelRefusals(t *testing.T) {
	b, ids := wheelBook(t)
	day := func(d int) wear.Instant { return wear.At(time.Date(2026, 5, d, 0, 0, 0, 0, time.UTC)) }
	put := func(part, host string) func(tx *store.Tx) error {
		return func(tx *store.Tx) error {
			return tx.AddStay(wear.Stay{Part: ids[part], Host: ids[host], From: day(1), To: wear.Never})
		}
	}
	move := func(part, from, to string) func(tx *store.Tx) error {
		return func(tx *store.Tx) error {
			old := wear.Stay{Part: ids[part], Host: ids[from], From: wear.Ever, To: wear.Never}
			changed := old
			changed.Host = ids[to]
			return tx.ChangeStay(old, changed)
		}
	}
	tests := []struct {
		name, want, hint string
		do               func(*store.Tx) error
	}{
		{"wheel on a wheel", `part "F1": is a wheel and cannot sit on a wheel`, "name a bike", put("F1", "W1")},
		{"wheel on itself", `part "F1": is a wheel and cannot sit on a wheel`, "name a bike", put("F1", "F1")},
		{"on a chain", `part "chain": is a chain, which carries no parts`, "name a bike or a wheel", put("T4", "chain")},
		{"chain on a wheel", `part "chain": is a chain, which does not sit on a rear-wheel`, "name the bike", put("chain", "W3")},
		{"wrong wheel", `part "T4": is a rear-tyre, which does not sit on a front-wheel`, "the right wheel", put("T4", "F1")},
		{"nowhere", "not in the book", "", put("T4", "nowhere")},
		{"two bikes", `part "W1": is on bike "Ridge" then (since it came with the bike)`, "pawl remove Ridge W1", put("W1", "Gully")},
		{"two wheels", `part "T1": is on wheel "W1" then`, "take T1 off W1 first", put("T1", "W3")},
		{"wheel and bike", `part "T1": is on wheel "W1" then`, "take T1 off W1 first", put("T1", "Gully")},
		{"twice on a wheel", `part "T4": wheel "W1" has T1 then`, "take T1 off W1 first", put("T4", "W1")},
		{"twice on a wheel on the shelf", `part "T4": wheel "W3" has T3 then`, "take T3 off W3 first", put("T4", "W3")},
		{"two wheels of a bike", `part "W3": bike "Ridge" has W1 then`, "pawl remove Ridge W1", put("W3", "Ridge")},
		{"beside one on a wheel", `part "T4": bike "Ridge" has T1 then`, "pawl remove Ridge T1", put("T4", "Ridge")},
		{"through a wheel beside one on the bike", `part "C1": bike "Gully" has C2 then`, "pawl remove Gully C2", func(tx *store.Tx) error {
			for part, host := range map[string]string{"W1": "Ridge", "W2": "Gully"} {
				old := wear.Stay{Part: ids[part], Host: ids[host], From: wear.Ever, To: wear.Never}
				ended := old
				ended.To = day(1)
				require.NoError(t, tx.ChangeStay(old, ended))
			}
			return put("W1", "Gully")(tx)
		}},
		{"onto a wheel beside one on the bike", `part "C1": bike "Gully" has C2 then`, "", move("C1", "W1", "W2")},
		{"unknown stay", `stay "T4": not in the book`, "", move("T4", "W1", "W2")},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := b.Update(context.Background(), func(tx *store.Tx) error {
				tx.Begin("test", "", "")
				return tt.do(tx)
			})
			require.ErrorContains(t, err, tt.want)
			assert.Contains(t, err.(interface{ Hint() string }).Hint(), tt.hint)
		})
	}
}

// TestWheelOnTheShelf carries its parts there, and brings them along.
func TestWheelOnTheShelf(t *testing.T) {
	b, ids := wheelBook(t)
	names := func(parts []wear.Part, err error) (all []string) {
		require.NoError(t, err)
		for _, p := range parts {
			all = append(all, p.Name)
		}
		return all
	}
	change := madeRide(10).Start
	update(t, b, func(tx *store.Tx) {
		for n := range 20 {
			r := madeRide(n)
			r.Bike, r.File = ids["Ridge"], wear.Hash{}
			_, err := tx.AddRide(r, wear.Gears{})
			require.NoError(t, err)
		}
	})
	view(t, b, func(tx *store.Tx) {
		assert.Equal(t, []string{"T3"}, names(tx.PartsOnWheel(ids["W3"], change)))
		pc, _, err := tx.PartCase(ids["T3"], change)
		require.NoError(t, err)
		assert.Equal(t, "W3", pc.On)
		assert.Empty(t, pc.Stays)
	})
	update(t, b, func(tx *store.Tx) {
		old := wear.Stay{Part: ids["W1"], Host: ids["Ridge"], From: wear.Ever, To: wear.Never, Opening: wear.Load{wear.Distance: 5000}}
		ended := old
		ended.To = change
		require.NoError(t, tx.ChangeStay(old, ended))
		require.NoError(t, tx.AddStay(wear.Stay{Part: ids["W3"], Host: ids["Ridge"], From: change, To: wear.Never}))
		_, err := tx.AddLook(wear.Look{Part: ids["T3"], At: madeRide(15).Start, Word: wear.Watch})
		require.NoError(t, err)
	})
	view(t, b, func(tx *store.Tx) {
		c, err := tx.Case(ids["Ridge"], wear.Never-1)
		require.NoError(t, err)
		on := map[string]string{}
		for _, pc := range c.Parts {
			on[pc.Part.Name] = pc.On
		}
		assert.Equal(t, map[string]string{"chain": "", "W3": "", "T3": "W3"}, on)
		assert.Len(t, c.Past, 3)
		assert.Equal(t, []string{"chain", "T3", "W3"}, names(tx.PartsOn(ids["Ridge"], change)))
		assert.Equal(t, []string{"C1", "T1"}, names(tx.PartsOnWheel(ids["W1"], change)), "the one that is off carries its own")
		p, err := tx.FindPart(ids["Ridge"], "rear-tyre", change)
		require.NoError(t, err)
		assert.Equal(t, "T3", p.Name)
		p, err = tx.FindPart(ids["Ridge"], "t1", change)
		require.NoError(t, err, "was on the bike with its wheel")
		assert.Equal(t, ids["T1"], p.ID)

		stays, err := tx.WornOn(ids["T3"])
		require.NoError(t, err)
		assert.Equal(t, []wear.Stay{{
			Part: ids["T3"], Host: ids["Ridge"], From: change, To: wear.Never, Opening: wear.Load{wear.Distance: 5000},
		}}, stays)
		entered, err := tx.StaysOf(ids["T3"])
		require.NoError(t, err)
		assert.Equal(t, ids["W3"], entered[0].Host)
		looks, err := tx.Looks(ids["T3"])
		require.NoError(t, err)
		assert.Equal(t, ids["Ridge"], looks[0].Bike)
		line := c.Lines[ids["Ridge"]]
		require.Len(t, line, 3, "cut at the swap and at the look")
		assert.Equal(t, []wear.Instant{change, madeRide(15).Start}, []wear.Instant{line[1].From, line[2].From})
	})
}

// TestLentWheelCutsBothBikesAtItsEndsOnly: and at what was found on it meanwhile.
func TestLentWheelCutsBothBikesAtItsEndsOnly(t *testing.T) {
	b, ids := wheelBook(t)
	from, to := madeRide(5).Start, madeRide(9).Start
	update(t, b, func(tx *store.Tx) {
		_, err := tx.AddReading(wear.Reading{Part: ids["T3"], At: madeRide(7).Start, Of: wear.Knob, Value: 3})
		require.NoError(t, err)
		_, err = tx.AddReading(wear.Reading{Part: ids["T3"], At: madeRide(2).Start, Of: wear.Knob, Value: 4})
		require.NoError(t, err)
	})
	starts := func(bike string) (all []wear.Instant) {
		view(t, b, func(tx *store.Tx) {
			c, err := tx.Case(ids[bike], wear.Never)
			require.NoError(t, err)
			for _, span := range c.Lines[ids[bike]] {
				all = append(all, span.From)
			}
		})
		return all
	}
	whole := []wear.Instant{wear.Ever}
	assert.Equal(t, whole, starts("Ridge"))
	update(t, b, func(tx *store.Tx) {
		old := wear.Stay{Part: ids["W1"], Host: ids["Ridge"], From: wear.Ever, To: wear.Never}
		ended := old
		ended.To = from
		require.NoError(t, tx.ChangeStay(old, ended))
		require.NoError(t, tx.AddStay(wear.Stay{Part: ids["W3"], Host: ids["Ridge"], From: from, To: to}))
		require.NoError(t, tx.AddStay(wear.Stay{Part: ids["W1"], Host: ids["Ridge"], From: to, To: wear.Never}))
	})
	assert.Equal(t, []wear.Instant{wear.Ever, from, madeRide(7).Start, to}, starts("Ridge"))
	assert.Equal(t, whole, starts("Gully"), "nothing moved there")
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error { _, err := tx.Undo(); return err }))
	assert.Equal(t, whole, starts("Ridge"))
}
