package store_test

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/store"
	"pawl/wear"
)

// drawFact draws what a tool, an eye or a hand says of a part, and returns what
// adds it: sort 0 is a reading, 1 a look, 2 a sign-off.
func drawFact(t *rapid.T, parts []wear.Part, p wear.Part, f fact) func(*store.Tx) (uint64, error) {
	kind, _ := wear.Default().Kind(p.Kind)
	switch f.sort {
	case 0:
		r := wear.Reading{Part: p.ID, At: f.at, Of: kind.Measurable(), Tool: "caliper", Doubtful: rapid.IntRange(0, 5).Draw(t, "doubtful") == 0}
		r.Value = rapid.SampledFrom([]float64{0.1, 0.4, 0.6, 1.2, 4}).Draw(t, "value")
		return func(tx *store.Tx) (uint64, error) { r, err := tx.AddReading(r); return r.ID, err }
	case 1:
		l := wear.Look{Part: p.ID, At: f.at, Word: rapid.SampledFrom([]wear.Word{wear.Good, wear.Watch, wear.Replace, wear.Unsafe}).Draw(t, "word")}
		l.By = rapid.SampledFrom([]string{"", "Ada", "Kim"}).Draw(t, "by")
		return func(tx *store.Tx) (uint64, error) { l, err := tx.AddLook(l); return l.ID, err }
	}
	jobs := []string{"change", "look"}
	for _, j := range kind.Jobs {
		jobs = append(jobs, j.Name)
	}
	s := wear.SignOff{Part: p.ID, At: f.at, Job: rapid.SampledFrom(jobs).Draw(t, "job"), Declined: rapid.IntRange(0, 5).Draw(t, "declined") == 0}
	switch rapid.IntRange(0, 5).Draw(t, "with") {
	case 0:
		s.Witness = true
	case 1:
		s.Torque = 8
	case 2:
		s.Fitted = rapid.SampledFrom(parts).Draw(t, "fitted").ID
	}
	return func(tx *store.Tx) (uint64, error) { s, err := tx.AddSignOff(s); return s.ID, err }
}

// sameFound compares what is found by what findings rest on with what is found by
// all facts.
func sameFound(t require.TestingT, tx *store.Tx, bike wear.ID, today wear.Instant) {
	c, err := tx.Case(bike, today)
	require.NoError(t, err)
	brief, err := tx.CaseToAssess(bike, today)
	require.NoError(t, err)
	schedule := wear.Default()
	sameFindings(t, wear.Assess(c, schedule), wear.Assess(brief, schedule))
	sameFindings(t, wear.AssessOnly(c, schedule, wear.Due, wear.Stop), wear.AssessOnly(brief, schedule, wear.Due, wear.Stop))
	setups, err := tx.Setups(bike)
	require.NoError(t, err)
	want, ok := wear.SetupOf(c, setups, schedule)
	have, same := wear.SetupOf(brief, setups, schedule)
	require.Equal(t, ok, same)
	require.Equal(t, want, have)
	require.Equal(t, watched(c), watched(brief))
	var then []wear.Finding
	if r := c.Release(); r != nil {
		was, err := tx.Case(bike, r.At)
		require.NoError(t, err)
		then = wear.Assess(was, schedule)
	}
	require.Equal(t, wear.HoldOf(c, wear.Assess(c, schedule), then), wear.HoldOf(brief, wear.Assess(brief, schedule), then))
}

// watched are the parts of which the last look says watch: who looked is shown.
func watched(c wear.Case) (looks []wear.Look) {
	for _, pc := range c.Parts {
		if n := len(pc.Looks); n > 0 && pc.Looks[n-1].Word == wear.Watch {
			looks = append(looks, pc.Looks[n-1])
		}
	}
	return looks
}

// sameFindings compares them one by one: all at once are too much to read.
func sameFindings(t require.TestingT, want, have []wear.Finding) {
	for i := range min(len(want), len(have)) {
		require.Equal(t, want[i], have[i])
	}
	require.Len(t, have, len(want))
}

// garage is a book of two bikes whose parts went to and fro, with much told of them.
var garages atomic.Int64 // numbers their books

type garage struct {
	book  *store.Book
	bikes []wear.ID
	parts []wear.Part
	facts []fact
}

// garageDays is how long all of it took: few days, so that much falls on one instant.
const garageDays = 40

func garageDay(t *rapid.T, label string) wear.Instant {
	return epoch + wear.Instant(rapid.IntRange(0, 2*garageDays).Draw(t, label))*wear.Day/2
}

func newGarage(t *rapid.T, dir string) *garage {
	g := &garage{book: store.Quick(store.At(filepath.Join(dir, fmt.Sprint(garages.Add(1))), store.Options{Zone: "UTC"}))}
	require.NoError(t, g.book.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("test", "", "")
		for _, name := range []string{"Ridge", "Gully"} {
			b, err := tx.AddBike(wear.Bike{Name: name, Fleet: rapid.Bool().Draw(t, "fleet")})
			require.NoError(t, err)
			g.bikes = append(g.bikes, b.ID)
		}
		for _, kind := range []string{"rear-wheel", "rear-wheel", "rear-tyre", "rear-tyre", "rear-sealant", "cassette", "chain", "chain",
			"ring", "guide", "guide-bolts", "rear-pads", "rear-pads", "frame"} {
			g.add(t, tx, kind)
		}
		for n := range 12 {
			r := wear.Ride{ID: wear.RideID{9, byte(n)}, Bike: rapid.SampledFrom(g.bikes).Draw(t, "ridden"), Start: garageDay(t, "start")}
			r.Recorded = wear.Load{60_000_00, 900_000, 900_000, 14_400_000, 15_000_000, 1_500_000, 300_000}
			_, err := tx.AddRide(r, wear.Gears{})
			require.NoError(t, err)
		}
		return nil
	}))
	return g
}

// add makes a part and lets it stay here and there, where there is room.
func (g *garage) add(t *rapid.T, tx *store.Tx, kind string) {
	p, err := tx.AddPart(wear.Part{Kind: kind, Teeth: 32, Cogs: []int{10, 21, 51}})
	require.NoError(t, err)
	hosts := append([]wear.ID{}, g.bikes...)
	for _, o := range g.parts {
		if carrier, ok := wear.CarriedBy(kind); ok && o.Kind == carrier {
			hosts = append(hosts, o.ID, o.ID)
		}
	}
	g.parts = append(g.parts, p)
	at := wear.Ever
	for range rapid.IntRange(1, 3).Draw(t, "stays") {
		s := wear.Stay{Part: p.ID, Host: rapid.SampledFrom(hosts).Draw(t, "host"), From: at, To: wear.Never, Came: rapid.Bool().Draw(t, "came")}
		if rapid.Bool().Draw(t, "ends") {
			s.To = garageDay(t, "to")
		}
		if at != wear.Ever && s.To <= at {
			break
		}
		if err := tx.AddStay(s); err != nil {
			var conflict *store.ConflictError
			require.True(t, errors.As(err, &conflict), "%v", err)
		}
		if at = s.To; at == wear.Never {
			return
		}
		at += wear.Instant(rapid.IntRange(0, 1).Draw(t, "later")) * wear.Day
	}
	if rapid.Bool().Draw(t, "ended") {
		p.End = &wear.End{At: at, Cause: rapid.SampledFrom(wear.Causes).Draw(t, "cause")}
		require.NoError(t, tx.ChangePart(p))
	}
}

// tell adds facts, and takes one back.
func (g *garage) tell(t *rapid.T, tx *store.Tx) {
	for range rapid.IntRange(0, 30).Draw(t, "facts") {
		p := rapid.SampledFrom(g.parts).Draw(t, "part")
		f := fact{sort: rapid.IntRange(0, 2).Draw(t, "sort"), part: p.ID, at: garageDay(t, "at")}
		id, err := drawFact(t, g.parts, p, f)(tx)
		require.NoError(t, err)
		f.id = id
		g.facts = append(g.facts, f)
	}
	if len(g.facts) > 0 {
		f := rapid.SampledFrom(g.facts).Draw(t, "void")
		require.NoError(t, []func(wear.ID, uint64) error{tx.VoidReading, tx.VoidLook, tx.VoidSignOff}[f.sort](f.part, f.id))
	}
	if rapid.IntRange(0, 3).Draw(t, "incident") == 0 {
		i := wear.Incident{Bike: rapid.SampledFrom(g.bikes).Draw(t, "on"), At: garageDay(t, "happened"), What: rapid.SampledFrom(wear.Happenings).Draw(t, "what")}
		if rapid.Bool().Draw(t, "names a part") {
			i.Part = rapid.SampledFrom(g.parts).Draw(t, "named").ID
		}
		_, err := tx.AddIncident(i)
		require.NoError(t, err)
	}
	s := wear.Status{Bike: rapid.SampledFrom(g.bikes).Draw(t, "let go"), At: garageDay(t, "from"), Is: wear.InService, By: "Kim", Reason: "looked"}
	s.Until = s.At + wear.Instant(rapid.IntRange(1, 20).Draw(t, "for"))*wear.Day
	_, err := tx.AddStatus(s)
	require.NoError(t, err)
	passed := &wear.ParkingLot{Shifts: wear.Passed, NoRub: wear.Passed, Clear: wear.Passed}
	_, err = tx.AddSetup(wear.GuideSetup{Bike: rapid.SampledFrom(g.bikes).Draw(t, "set up"), At: garageDay(t, "set"), ChainLine: 52, Lot: passed})
	require.NoError(t, err)
}

func (g *garage) compare(t *rapid.T, tx *store.Tx) {
	for range 2 {
		today := garageDay(t, "today")
		if rapid.Bool().Draw(t, "late") {
			today = epoch + 2*garageDays*wear.Day
		}
		for _, b := range g.bikes {
			sameFound(t, tx, b, today)
		}
	}
}

// What findings rest on finds what all facts find, whatever parts went through, and
// so it does while more is written.
func TestABriefCaseFindsTheSame(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		g := newGarage(t, dir)
		for range 2 {
			require.NoError(t, g.book.Update(context.Background(), func(tx *store.Tx) error {
				tx.Begin("test", "", "")
				g.tell(t, tx)
				g.compare(t, tx)
				return nil
			}))
			require.NoError(t, g.book.View(context.Background(), func(tx *store.Tx) error { g.compare(t, tx); return nil }))
		}
		report, err := g.book.Audit(context.Background())
		require.NoError(t, err)
		require.Empty(t, report.Problems)
	})
}
