package store_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/store"
	"pawl/wear"
)

// machine drives a book and the naive model side by side.
type machine struct {
	book    *store.Book
	m       *model
	earlier []*model // before each entry not taken back
	n       int      // rides made
	notes   map[string]store.Refusal
	people  people
}

// hours are the grid on which everything happens: few enough that facts and
// rides often fall on the same instant.
var epoch = wear.At(time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC))

func drawInstant(t *rapid.T, label string) wear.Instant {
	return epoch + wear.Instant(rapid.IntRange(0, 600).Draw(t, label))*6*3_600_000
}

func drawStay(t *rapid.T, s wear.Stay) wear.Stay {
	s.From, s.To = drawInstant(t, "from"), drawInstant(t, "to")
	if rapid.IntRange(0, 3).Draw(t, "came with the bike") == 0 {
		s.From = wear.Ever
	}
	if rapid.Bool().Draw(t, "still there") {
		s.To = wear.Never
	}
	s.Came = rapid.Bool().Draw(t, "nobody fitted it")
	return s
}

func drawLoad(t *rapid.T, label string) (l wear.Load) {
	for q := range l {
		l[q] = rapid.SampledFrom([]int64{0, 1, 999, 3_600_000, 12_345_678}).Draw(t, label)
	}
	return l
}

func (x *machine) drawRide(t *rapid.T, r wear.Ride) wear.Ride {
	r.Bike = rapid.SampledFrom(append([]wear.Bike{{}}, x.m.bikes...)).Draw(t, "bike").ID
	r.Ground = wear.Ground(rapid.IntRange(0, int(wear.NGrounds)-1).Draw(t, "ground"))
	r.State = rapid.SampledFrom([]wear.State{wear.Counted, wear.Counted, wear.Counted, wear.Twin, wear.Void}).Draw(t, "state")
	r.Recorded, r.Estimated = drawLoad(t, "recorded"), drawLoad(t, "estimated")
	r.Lacking = wear.Set(rapid.IntRange(0, 127).Draw(t, "lacking"))
	r.Marked = wear.Marked(rapid.IntRange(0, 2).Draw(t, "marked"))
	r.Uplift, r.Salvaged = wear.Uplift(rapid.IntRange(0, 2).Draw(t, "uplift")), rapid.Bool().Draw(t, "salvaged")
	return x.drawSigns(t, r)
}

// entry runs fn as one entry. What the book refuses must leave no trace.
func (x *machine) entry(t *rapid.T, fn func(*store.Tx, *model) error) {
	next := x.m.copy()
	err := x.book.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("test", "", "")
		return fn(tx, next)
	})
	require.Equal(t, next.possible(), err == nil, "%v", err)
	if err == nil {
		x.earlier = append(x.earlier, x.m)
		x.m = next
		return
	}
	var conflict *store.ConflictError
	require.ErrorAs(t, err, &conflict)
}

func (x *machine) AddRides(t *rapid.T) {
	x.entry(t, func(tx *store.Tx, m *model) error {
		for range rapid.IntRange(1, 4).Draw(t, "rides") {
			x.n++
			r := x.drawRide(t, wear.Ride{ID: wear.RideID{byte(x.n), byte(x.n >> 8), 7}, Start: drawInstant(t, "start")})
			g := drawGears(t)
			if _, err := tx.AddRide(r, g); err != nil {
				return err
			}
			m.rides[r.ID], m.gears[r.ID] = r, g
		}
		return nil
	})
}

func (x *machine) someRide(t *rapid.T) wear.Ride {
	var all []wear.Ride
	for _, r := range x.m.rides {
		all = append(all, r)
	}
	if len(all) == 0 {
		t.Skip("no rides")
	}
	slices.SortFunc(all, func(a, b wear.Ride) int { return slices.Compare(a.ID[:], b.ID[:]) })
	return rapid.SampledFrom(all).Draw(t, "ride")
}

func (x *machine) ChangeRide(t *rapid.T) {
	old := x.someRide(t)
	r := x.drawRide(t, old)
	if assert.ObjectsAreEqual(r, old) {
		t.Skip("no change")
	}
	x.entry(t, func(tx *store.Tx, m *model) error {
		m.rides[r.ID] = r
		return tx.ChangeRide(r)
	})
}

func (x *machine) AddPart(t *rapid.T) {
	x.entry(t, func(tx *store.Tx, m *model) error {
		p, err := tx.AddPart(wear.Part{
			Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), Teeth: 32, Cogs: []int{11, 51},
			Model: rapid.SampledFrom([]string{"", "Grippy"}).Draw(t, "model"),
		})
		m.parts = append(m.parts, p)
		return err
	})
}

var kinds = []string{
	"chain", "ring", "rear-pads", "guide", "guide-bolts", "frame",
	"front-wheel", "front-tyre", "rear-wheel", "rear-tyre", "rear-sealant", "cassette",
}

// drawHost draws a bike or, half the time, a part, which may be a wheel.
func (x *machine) drawHost(t *rapid.T, part wear.ID) wear.ID {
	var hosts []wear.ID
	for _, p := range x.m.parts {
		if p.ID != part && (wheel(p.Kind) || rapid.IntRange(0, 9).Draw(t, "no wheel") == 0) {
			hosts = append(hosts, p.ID)
		}
	}
	if len(hosts) == 0 || rapid.Bool().Draw(t, "on a bike") {
		return rapid.SampledFrom(x.m.bikes).Draw(t, "bike").ID
	}
	return rapid.SampledFrom(hosts).Draw(t, "wheel")
}

func (x *machine) Fit(t *rapid.T) {
	if len(x.m.parts) == 0 {
		t.Skip("no parts")
	}
	part := rapid.SampledFrom(x.m.parts).Draw(t, "part").ID
	s := drawStay(t, wear.Stay{Part: part, Host: x.drawHost(t, part), Opening: drawLoad(t, "opening")})
	x.entry(t, func(tx *store.Tx, m *model) error {
		m.stays = append(m.stays, s)
		return tx.AddStay(s)
	})
}

func (x *machine) MoveStay(t *rapid.T) {
	if len(x.m.stays) == 0 {
		t.Skip("no stays")
	}
	i := rapid.IntRange(0, len(x.m.stays)-1).Draw(t, "stay")
	old := x.m.stays[i]
	changed := drawStay(t, old)
	changed.Host = x.drawHost(t, old.Part)
	if changed == old {
		t.Skip("no change")
	}
	x.entry(t, func(tx *store.Tx, m *model) error {
		m.stays[i] = changed
		return tx.ChangeStay(old, changed)
	})
}

func (x *machine) AddFact(t *rapid.T) {
	if len(x.m.parts) == 0 {
		t.Skip("no parts")
	}
	p := rapid.SampledFrom(x.m.parts).Draw(t, "part")
	f := fact{sort: rapid.IntRange(0, 2).Draw(t, "sort"), at: drawInstant(t, "at"), part: p.ID}
	add := drawFact(t, x.m.parts, p, f)
	x.entry(t, func(tx *store.Tx, m *model) error {
		id, err := add(tx)
		f.id = id
		m.facts = append(m.facts, f)
		return err
	})
}

func (x *machine) VoidFact(t *rapid.T) {
	var alive []int
	for i, f := range x.m.facts {
		if !f.void {
			alive = append(alive, i)
		}
	}
	if len(alive) == 0 {
		t.Skip("no facts")
	}
	i := rapid.SampledFrom(alive).Draw(t, "fact")
	x.entry(t, func(tx *store.Tx, m *model) error {
		f := &m.facts[i]
		f.void = true
		return []func(wear.ID, uint64) error{tx.VoidReading, tx.VoidLook, tx.VoidSignOff}[f.sort](f.part, f.id)
	})
}

func (x *machine) Undo(t *rapid.T) {
	if len(x.earlier) == 0 {
		t.Skip("only the bikes are left")
	}
	require.NoError(t, x.book.Update(context.Background(), func(tx *store.Tx) error {
		_, err := tx.Undo()
		return err
	}))
	x.m = x.earlier[len(x.earlier)-1]
	x.earlier = x.earlier[:len(x.earlier)-1]
}

// Check compares every figure of every bike and part on some day.
func (x *machine) Check(t *rapid.T) {
	today := drawInstant(t, "today") + wear.Instant(rapid.IntRange(-1, 1).Draw(t, "off"))
	if rapid.Bool().Draw(t, "late") {
		today = epoch + 400*wear.Day
	}
	require.NoError(t, x.book.View(context.Background(), func(tx *store.Tx) error {
		for _, b := range x.m.bikes {
			x.checkBike(t, tx, b, today)
		}
		x.checkRides(t, tx)
		x.checkNotes(t, tx)
		x.checkPeople(t, tx)
		for _, p := range x.m.parts {
			x.checkWheel(t, tx, p, today)
			pc, lines, err := tx.PartCase(p.ID, today)
			require.NoError(t, err)
			x.checkPart(t, pc, lines, today)
		}
		return nil
	}))
	report, err := x.book.Audit(context.Background())
	require.NoError(t, err)
	require.Empty(t, report.Problems)
}

func (x *machine) checkBike(t *rapid.T, tx *store.Tx, b wear.Bike, today wear.Instant) {
	c, err := tx.Case(b.ID, today)
	require.NoError(t, err)
	sameFound(t, tx, b.ID, today)
	line := c.Lines[b.ID]
	require.Equal(t, x.m.count(b.ID, wear.Ever, wear.Never, today), over(line, wear.Ever, wear.Never))
	require.True(t, slices.IsSortedFunc(line, func(a, b wear.Span) int { return int(a.From/1000 - b.From/1000) }))
	use, firstRide := x.m.use(b.ID, today)
	require.Equal(t, use, c.Use)
	require.Equal(t, firstRide, c.First)
	all, err := tx.BikeGears(b.ID, today)
	require.NoError(t, err)
	require.Equal(t, x.m.geared(today, func(r wear.Ride) bool { return r.Bike == b.ID }, false), all)
	now, past := x.m.on(b.ID, today)
	require.Equal(t, now, ids(c.Parts))
	require.Equal(t, past, ids(c.Past))
	for _, pc := range slices.Concat(c.Parts, c.Past) {
		x.checkPart(t, pc, c.Lines, today)
	}
	parts, err := tx.PartsOn(b.ID, today)
	require.NoError(t, err)
	require.ElementsMatch(t, now, partIDs(parts))
	x.checkEvents(t, tx, c)
	for i, span := range line {
		require.Equal(t, x.ringAt(b.ID, span.From), span.Ring)
		end := today + 1
		if i+1 < len(line) {
			end = line[i+1].From
		}
		require.Equal(t, x.m.onset(b.ID, span.From, min(end, today+1)), span.Onset)
		require.Equal(t, x.m.geared(today, func(r wear.Ride) bool { return r.Bike == b.ID && r.Start >= span.From && r.Start < end }, true), span.Gears)
		if len(all.ByDevelopment)+len(all.ByNumber) > 0 && len(span.Gears.ByDevelopment)+len(span.Gears.ByNumber) > 0 {
			require.Equal(t, x.cogsAt(b.ID, span.From), span.Cogs)
			require.Equal(t, x.m.wheelAt(b, span.From), span.Wheel)
		}
	}
}

func (x *machine) ringAt(bike wear.ID, at wear.Instant) int {
	for _, p := range x.m.parts {
		if p.Kind == "ring" && x.m.bikeAt(p.ID, at) == bike {
			return p.Teeth
		}
	}
	return 0
}

func (x *machine) cogsAt(bike wear.ID, at wear.Instant) []int {
	for _, p := range x.m.parts {
		if p.Kind == "cassette" && x.m.bikeAt(p.ID, at) == bike {
			return p.Cogs
		}
	}
	return nil
}

func ids(pcs []wear.PartCase) (all []wear.ID) {
	for _, pc := range pcs {
		all = append(all, pc.Part.ID)
	}
	slices.Sort(all)
	return all
}

// over sums the spans that begin in [from, to), as wear does.
func over(line wear.Timeline, from, to wear.Instant) (sums wear.Sums) {
	for _, s := range line {
		if from <= s.From && s.From < to {
			sums = sums.Add(s.Sums)
		}
	}
	return sums
}

// checkPart compares the part's total, and what it went through between any two
// neighbours of all that is dated.
func (x *machine) checkPart(t *rapid.T, pc wear.PartCase, lines map[wear.ID]wear.Timeline, today wear.Instant) {
	part := pc.Part.ID
	var total wear.Sums
	var opening wear.Load
	for _, s := range pc.Stays {
		require.LessOrEqual(t, s.From, today)
		require.Equal(t, x.m.cameAt(part, s.From), s.Came)
		marks := append(append([]wear.Instant{wear.Ever}, x.m.instants(part, s.Host, today)...), wear.Never)
		opening = opening.Add(s.Opening)
		total = total.Add(over(lines[s.Host], s.From, s.To))
		for i := 1; i < len(marks); i++ {
			from, to := max(s.From, marks[i-1]), min(s.To, marks[i])
			if from < to {
				require.Equal(t, x.m.count(s.Host, from, to, today), over(lines[s.Host], from, to),
					"%s from %d to %d", pc.Part.Name, from, to)
			}
		}
	}
	require.Equal(t, x.m.total(part, today), total)
	require.Equal(t, x.m.opening(part, today), opening)
	require.Equal(t, x.wheelAt(part, today), pc.On)
	var known [3][]uint64
	for _, r := range pc.Readings {
		known[0] = append(known[0], r.ID)
		if bike := x.m.bikeAt(part, r.At); bike != 0 {
			require.Equal(t, bike, r.Bike)
		}
	}
	for _, l := range pc.Looks {
		known[1] = append(known[1], l.ID)
	}
	for _, s := range pc.SignOffs {
		known[2] = append(known[2], s.ID)
	}
	for sort := range known {
		require.Equal(t, x.m.known(sort, part, today), known[sort])
	}
}

func newMachine(t *rapid.T, dir string) *machine {
	zone := rapid.SampledFrom([]string{"UTC", "Asia/Kolkata", "America/St_Johns"}).Draw(t, "zone")
	loc, err := time.LoadLocation(zone)
	require.NoError(t, err)
	x := &machine{
		book: store.Quick(store.At(filepath.Join(dir, fmt.Sprint(time.Now().UnixNano())), store.Options{Zone: zone})),
		m:    &model{zone: loc, rides: map[wear.RideID]wear.Ride{}, gears: map[wear.RideID]wear.Gears{}},

		notes: map[string]store.Refusal{}, people: newPeople(),
	}
	require.NoError(t, x.book.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("bike add", "", "")
		for _, name := range []string{"Ridge", "Gully"} {
			b, err := tx.AddBike(wear.Bike{Name: name, Wheel: 2.3})
			if err != nil {
				return err
			}
			x.m.bikes = append(x.m.bikes, b)
			if err := x.addWheel(tx, b.ID); err != nil {
				return err
			}
		}
		return nil
	}))
	return x
}

// addWheel puts a rear wheel with its tyre and cassette on a bike.
func (x *machine) addWheel(tx *store.Tx, host wear.ID) error {
	for _, kind := range []string{"rear-wheel", "rear-tyre", "cassette"} {
		p, err := tx.AddPart(wear.Part{Kind: kind, Cogs: []int{10, 21, 51}})
		if err != nil {
			return err
		}
		s := wear.Stay{Part: p.ID, Host: host, From: wear.Ever, To: wear.Never}
		x.m.parts, x.m.stays = append(x.m.parts, p), append(x.m.stays, s)
		if err := tx.AddStay(s); err != nil {
			return err
		}
		if kind == "rear-wheel" {
			host = p.ID
		}
	}
	return nil
}

// TestBookAgainstRecount does anything in any order and compares, to the last
// integer, with a model that recounts everything from the rides.
func TestBookAgainstRecount(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		x := newMachine(t, dir)
		t.Repeat(rapid.StateMachineActions(x))
	})
}
