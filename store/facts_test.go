package store_test

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// update runs fn as one entry that must succeed.
func update(t testing.TB, b *store.Book, fn func(*store.Tx)) {
	t.Helper()
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("test", "", "")
		fn(tx)
		return nil
	}))
}

func view(t testing.TB, b *store.Book, fn func(*store.Tx)) {
	t.Helper()
	require.NoError(t, b.View(context.Background(), func(tx *store.Tx) error { fn(tx); return nil }))
}

// TestRideKeepsEveryField packs any ride and any gears and gets them back.
func TestRideKeepsEveryField(t *testing.T) {
	b := store.Quick(storetest.Open(t, store.Options{}))
	bike, _ := withBike(t, b)
	text := rapid.SampledFrom([]string{"", "no altitude", "TRAIL", "7 jumps removed", "Çıkış 2.gpx"})
	sensor := rapid.Custom(func(t *rapid.T) wear.Sensor {
		return wear.Sensor{
			Type: rapid.Byte().Draw(t, "type"), Maker: rapid.Uint16().Draw(t, "maker"), Product: rapid.Uint16().Draw(t, "product"),
			Serial: rapid.Uint32().Draw(t, "serial"), ANT: rapid.Uint16().Draw(t, "ant"), Name: text.Draw(t, "name"),
		}
	})
	load := rapid.Custom(func(t *rapid.T) (l wear.Load) {
		for q := range l {
			l[q] = rapid.Int64Range(0, 1e12).Draw(t, "amount")
		}
		return l
	})
	gears := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) wear.Gear {
		return wear.Gear{Bin: rapid.Int16().Draw(t, "bin"), Turns: rapid.Int64().Draw(t, "turns"), Work: rapid.Int64().Draw(t, "work")}
	}), 0, 5)
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		r := wear.Ride{
			ID:   wear.RideID{byte(n), byte(n >> 8), 0, 0, 0, 0, rapid.Byte().Draw(t, "rest"), 0, 0, 0, 0, 9},
			Bike: rapid.SampledFrom([]wear.ID{0, bike}).Draw(t, "bike"), Start: wear.Instant(rapid.Int64Range(-2e12, 7e12).Draw(t, "start")),
			Elapsed: rapid.Int64().Draw(t, "elapsed"), Offset: rapid.Int32().Draw(t, "offset"),
			Ground: wear.Ground(rapid.IntRange(0, int(wear.NGrounds)-1).Draw(t, "ground")), State: wear.State(rapid.IntRange(0, 2).Draw(t, "state")),
			Rule: wear.Rule(rapid.IntRange(0, int(wear.AsTwin)).Draw(t, "rule")), Format: wear.Format(rapid.IntRange(0, 4).Draw(t, "format")),
			Version: rapid.Byte().Draw(t, "version"), Leg: rapid.Byte().Draw(t, "leg"),
			Recorded: load.Draw(t, "recorded"), Estimated: load.Draw(t, "estimated"), Lacking: wear.Set(rapid.IntRange(0, 127).Draw(t, "lacking")),
			Notes: rapid.SliceOfN(text, 0, 3).Draw(t, "notes"), Device: sensor.Draw(t, "device"),
			Sensors: rapid.SliceOfN(sensor, 0, 3).Draw(t, "sensors"), Title: text.Draw(t, "title"), Profile: text.Draw(t, "profile"),
			Marked: wear.Marked(rapid.IntRange(0, 2).Draw(t, "marked")), Uplift: wear.Uplift(rapid.IntRange(0, 2).Draw(t, "uplift")),
			Salvaged: rapid.Bool().Draw(t, "salvaged"), Because: text.Draw(t, "because"),
			Of:     rapid.SampledFrom([]wear.RideID{{}, {11: 1}, {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}}).Draw(t, "of"),
			Unlike: rapid.SliceOfN(rapid.SampledFrom([]wear.RideID{{11: 1}, {2: 2}, {9, 8, 7}}), 0, 3).Draw(t, "unlike"),
			Entry:  rapid.Uint64Min(1).Draw(t, "entry"),
		}
		g := wear.Gears{ByDevelopment: gears.Draw(t, "developments"), ByNumber: gears.Draw(t, "numbers"), Teeth: gears.Draw(t, "teeth")}
		require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
			tx.Begin("test", "", "")
			known, err := tx.AddRide(r, g)
			assert.False(t, known)
			require.NoError(t, err)
			known, err = tx.AddRide(r, g)
			assert.True(t, known)
			return err
		}))
		require.NoError(t, b.View(context.Background(), func(tx *store.Tx) error {
			back, err := tx.Ride(r.ID)
			require.NoError(t, err)
			if len(r.Notes) == 0 {
				r.Notes = nil
			}
			if len(r.Sensors) == 0 {
				r.Sensors = nil
			}
			if len(r.Unlike) == 0 {
				r.Unlike = nil
			}
			require.Equal(t, r, back)
			gears, err := tx.Gears(r.ID)
			require.NoError(t, err)
			require.ElementsMatch(t, g.ByDevelopment, gears.ByDevelopment)
			require.ElementsMatch(t, g.ByNumber, gears.ByNumber)
			require.ElementsMatch(t, g.Teeth, gears.Teeth)
			return nil
		}))
	})
}

// TestOrderOfImport: whatever order rides and facts come in, the cases are the same.
func TestOrderOfImport(t *testing.T) {
	type step func(*store.Tx, []wear.ID)
	var steps []step
	for n := range 60 {
		steps = append(steps, func(tx *store.Tx, ids []wear.ID) {
			r := madeRide(n)
			r.Bike, r.File, r.Entry = ids[n%2], wear.Hash{}, 1
			_, err := tx.AddRide(r, wear.Gears{})
			require.NoError(t, err)
		})
	}
	mid := madeRide(30).Start
	steps = append(steps,
		func(tx *store.Tx, ids []wear.ID) {
			require.NoError(t, tx.AddStay(wear.Stay{Part: ids[2], Host: ids[0], From: wear.Ever, To: mid}))
		},
		func(tx *store.Tx, ids []wear.ID) {
			require.NoError(t, tx.AddStay(wear.Stay{Part: ids[2], Host: ids[1], From: mid, To: wear.Never}))
		},
		func(tx *store.Tx, ids []wear.ID) {
			require.NoError(t, tx.AddStay(wear.Stay{Part: ids[3], Host: ids[0], From: mid, To: wear.Never}))
		},
		func(tx *store.Tx, ids []wear.ID) {
			_, err := tx.AddReading(wear.Reading{Part: ids[2], At: madeRide(10).Start, Value: 0.3})
			require.NoError(t, err)
		},
		func(tx *store.Tx, ids []wear.ID) {
			_, err := tx.AddSignOff(wear.SignOff{Part: ids[2], At: madeRide(45).Start + 1, Job: "clean"})
			require.NoError(t, err)
		})
	var first []wear.Case
	for seed := range uint64(8) {
		rand.New(rand.NewPCG(seed, 1)).Shuffle(len(steps), func(i, j int) { steps[i], steps[j] = steps[j], steps[i] })
		b := store.Quick(storetest.Open(t, store.Options{}))
		ids := twoBikes(t, b)
		for _, s := range steps {
			update(t, b, func(tx *store.Tx) { s(tx, ids) })
		}
		var cases []wear.Case
		view(t, b, func(tx *store.Tx) {
			for _, bike := range ids[:2] {
				c, err := tx.Case(bike, madeRide(55).Start)
				require.NoError(t, err)
				cases = append(cases, numbered(c, ids))
			}
		})
		if first == nil {
			first = cases
		}
		require.Equal(t, first, cases)
	}
}

// twoBikes makes two bikes and two chains.
func twoBikes(t testing.TB, b *store.Book) []wear.ID {
	var ids []wear.ID
	update(t, b, func(tx *store.Tx) {
		for _, name := range []string{"Ridge", "Gully"} {
			k, err := tx.AddBike(wear.Bike{Name: name})
			require.NoError(t, err)
			ids = append(ids, k.ID)
		}
		for range 2 {
			p, err := tx.AddPart(wear.Part{Kind: "chain"})
			require.NoError(t, err)
			ids = append(ids, p.ID)
		}
	})
	return ids
}

// numbered puts numbers that do not depend on the book in place of its ids.
func numbered(c wear.Case, ids []wear.ID) wear.Case {
	number := map[wear.ID]wear.ID{}
	for i, id := range ids {
		number[id] = wear.ID(i + 1)
	}
	lines := map[wear.ID]wear.Timeline{}
	for id, line := range c.Lines {
		lines[number[id]] = line
	}
	c.Lines, c.Bike.ID = lines, number[c.Bike.ID]
	for _, list := range [][]wear.PartCase{c.Parts, c.Past} {
		for i := range list {
			pc := &list[i]
			pc.Part.ID = number[pc.Part.ID]
			for j := range pc.Stays {
				pc.Stays[j].Part, pc.Stays[j].Host = number[pc.Stays[j].Part], number[pc.Stays[j].Host]
			}
			for j := range pc.Readings {
				r := &pc.Readings[j]
				r.ID, r.Part, r.Bike = 0, number[r.Part], number[r.Bike]
			}
			for j := range pc.SignOffs {
				s := &pc.SignOffs[j]
				s.ID, s.Part, s.Bike = 0, number[s.Part], number[s.Bike]
			}
		}
	}
	return c
}

// TestGapFreeStaysSumToTheBike, and no ride lowers any count.
func TestGapFreeStaysSumToTheBike(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := store.Quick(storetest.Open(t, store.Options{}))
		var bike wear.ID
		update(t, b, func(tx *store.Tx) {
			k, err := tx.AddBike(wear.Bike{Name: "Ridge"})
			require.NoError(rt, err)
			bike = k.ID
			from := wear.Ever
			for i, at := range rapid.SliceOfNDistinct(rapid.IntRange(1, 40), 1, 5, rapid.ID[int]).Draw(rt, "changes") {
				p, err := tx.AddPart(wear.Part{Kind: "chain"})
				require.NoError(rt, err)
				to := madeRide(at + i*41).Start
				require.NoError(rt, tx.AddStay(wear.Stay{Part: p.ID, Host: bike, From: from, To: to}))
				from = to
			}
			p, err := tx.AddPart(wear.Part{Kind: "chain"})
			require.NoError(rt, err)
			require.NoError(rt, tx.AddStay(wear.Stay{Part: p.ID, Host: bike, From: from, To: wear.Never}))
		})
		var before []wear.Sum
		for _, n := range rapid.SliceOfNDistinct(rapid.IntRange(0, 210), 1, 8, rapid.ID[int]).Draw(rt, "rides") {
			update(t, b, func(tx *store.Tx) {
				r := madeRide(n)
				r.Bike, r.File = bike, wear.Hash{}
				_, err := tx.AddRide(r, wear.Gears{})
				require.NoError(rt, err)
			})
			view(t, b, func(tx *store.Tx) { before = checkSums(rt, tx, bike, before) })
		}
	})
}

func checkSums(t *rapid.T, tx *store.Tx, bike wear.ID, before []wear.Sum) []wear.Sum {
	c, err := tx.Case(bike, wear.Never)
	require.NoError(t, err)
	var totals []wear.Sum
	var all wear.Sums
	for _, pc := range append(c.Past, c.Parts...) {
		sums := over(c.Lines[bike], pc.Stays[0].From, pc.Stays[0].To)
		all = all.Add(sums)
		totals = append(totals, sums.All())
	}
	require.Equal(t, over(c.Lines[bike], wear.Ever, wear.Never), all)
	for i := range before {
		require.GreaterOrEqual(t, totals[i].Rides, before[i].Rides)
		for q := range wear.NQuantities {
			require.GreaterOrEqual(t, totals[i].Total()[q], before[i].Total()[q])
		}
	}
	return totals
}

func TestRefusals(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, chain := filled(t, b, 2)
	other := twoBikesMore(t, b)
	day := func(d int) wear.Instant { return wear.At(time.Date(2026, 5, d, 0, 0, 0, 0, time.UTC)) }
	tests := []struct {
		name, want string
		do         func(*store.Tx) error
	}{
		{"taken name", `bike "ridge": name is taken`, func(tx *store.Tx) error { _, err := tx.AddBike(wear.Bike{Name: "ridge"}); return err }},
		{"no name", "needs a name", func(tx *store.Tx) error { _, err := tx.AddBike(wear.Bike{}); return err }},
		{"control character", "control characters", func(tx *store.Tx) error { _, err := tx.AddBike(wear.Bike{Name: "a\x1b[31m"}); return err }},
		{"no kind", "needs a kind", func(tx *store.Tx) error { _, err := tx.AddPart(wear.Part{}); return err }},
		{"two places", `part "chain-1": is on bike "Ridge" then (since it came with the bike)`, func(tx *store.Tx) error {
			return tx.AddStay(wear.Stay{Part: chain, Host: other, From: day(1), To: wear.Never})
		}},
		{"two of a kind", `part "chain-2": bike "Ridge" has chain-1 then`, func(tx *store.Tx) error {
			p, _ := tx.AddPart(wear.Part{Kind: "chain"})
			return tx.AddStay(wear.Stay{Part: p.ID, Host: bike, From: day(1), To: wear.Never})
		}},
		{"ends first", "would leave before it came", func(tx *store.Tx) error {
			p, _ := tx.AddPart(wear.Part{Kind: "ring"})
			return tx.AddStay(wear.Stay{Part: p.ID, Host: bike, From: day(2), To: day(2)})
		}},
		{"year 1", "dated before 1900", func(tx *store.Tx) error {
			_, err := tx.AddLook(wear.Look{Part: chain, At: wear.At(time.Time{})})
			return err
		}},
		{"negative", "climb of -0.01 is absurd", func(tx *store.Tx) error {
			r := madeRide(9)
			r.Recorded[wear.Climb] = -1
			_, err := tx.AddRide(r, wear.Gears{})
			return err
		}},
		{"no such bike", "not in the book", func(tx *store.Tx) error {
			r := madeRide(9)
			r.Bike = 77
			_, err := tx.AddRide(r, wear.Gears{})
			return err
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := b.Update(context.Background(), func(tx *store.Tx) error {
				tx.Begin("test", "", "")
				return tt.do(tx)
			})
			require.ErrorContains(t, err, tt.want)
		})
	}
	require.ErrorContains(t, b.Update(context.Background(), func(tx *store.Tx) error {
		_, err := tx.AddBike(wear.Bike{Name: "x"})
		return err
	}), "before Begin")
}

func twoBikesMore(t *testing.T, b *store.Book) (id wear.ID) {
	update(t, b, func(tx *store.Tx) {
		k, err := tx.AddBike(wear.Bike{Name: "Gully"})
		require.NoError(t, err)
		id = k.ID
	})
	return id
}
