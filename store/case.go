package store

import (
	"cmp"
	"encoding/binary"
	"slices"
	"sync"

	"pawl/wear"
)

// useWeeks is how many whole weeks before the present one recent use covers.
const useWeeks = 12

// pastWeeks is how far back the weeks before the present one are read: a year, with
// the season that followed the same day.
const pastWeeks = 52

// The kinds of parts whose teeth a span tells.
const (
	ringKind     = "ring"
	cassetteKind = "cassette"
)

// Case gathers all that a verdict on a bike rests on as of today: facts taken
// back or dated later are left out. Its cost grows with the facts of the bike's
// parts, not with the rides.
func (t *Tx) Case(bike wear.ID, today wear.Instant) (wear.Case, error) {
	c := caseDraft{Case: wear.Case{Today: today}}
	err := t.fillCase(&c, bike)
	return c.Case, err
}

// CaseToAssess is [Tx.Case] for who only asks for its findings: without those
// facts of the parts that are off the bike that none of them rests on, see
// [wear.Schedule.Traces]. It lends memory of the transaction: the spans and weeks
// are good until the next case of it is asked for.
func (t *Tx) CaseToAssess(bike wear.ID, today wear.Instant) (wear.Case, error) {
	if t.reads != nil {
		t.reads.lender.reuse()
		defer func() { t.reads.lender.lending = false }()
	}
	c := caseDraft{Case: wear.Case{Today: today}, brief: true}
	err := t.fillCase(&c, bike)
	return c.Case, err
}

// caseDraft is a case that is being gathered.
type caseDraft struct {
	wear.Case
	brief bool // only what findings rest on
}

func (t *Tx) fillCase(c *caseDraft, bike wear.ID) (err error) {
	c.Zone, c.Lines = t.zone, map[wear.ID]wear.Timeline{}
	if c.Bike, err = t.Bike(bike); err != nil {
		return err
	}
	if err := t.settle(); err != nil {
		return err
	}
	if err := t.caseParts(c); err != nil {
		return err
	}
	if _, there := c.Lines[bike]; !there {
		if c.Lines[bike], err = t.line(bike, c.Today); err != nil {
			return err
		}
	}
	if err := t.caseEvents(&c.Case); err != nil {
		return err
	}
	if c.First, err = t.firstRide(bike, c.Today); err != nil {
		return err
	}
	c.Use, err = t.use(bike, c.First, c.Today)
	return err
}

// caseParts fills in the parts that are and were on the bike, and the lines of
// the other bikes that they were on; in brief, of those that were only the traces.
func (t *Tx) caseParts(c *caseDraft) error {
	stays, err := t.StaysOn(c.Bike.ID)
	if err != nil {
		return err
	}
	on := map[wear.ID]bool{}
	for _, s := range stays {
		if s.From <= c.Today {
			on[s.Part] = on[s.Part] || s.Holds(c.Today)
		}
	}
	now, past := make([]wear.ID, 0, len(on)), make([]wear.ID, 0, len(on))
	for part, is := range on {
		if is {
			now = append(now, part)
		} else {
			past = append(past, part)
		}
	}
	if c.Parts, err = t.partCases(now, c); err != nil {
		return err
	}
	if c.brief && declined(c.Parts) {
		c.brief = false
		if c.Parts, err = t.partCases(now, c); err != nil {
			return err
		}
	}
	if c.brief {
		c.Past, err = t.pastTraces(past, c)
	} else {
		c.Past, err = t.partCases(past, c)
	}
	return err
}

// partCases are all that is known of parts, by kind, then name.
func (t *Tx) partCases(parts []wear.ID, c *caseDraft) ([]wear.PartCase, error) {
	slices.Sort(parts) // neighbours are read together
	list := make([]wear.PartCase, len(parts))
	for i, part := range parts {
		if err := t.partCase(part, c, &list[i]); err != nil {
			return nil, err
		}
	}
	sortParts(list, partOf)
	return list, nil
}

// caseEvents fills in what there is of the bike as a whole: what happened to it,
// the settings.
func (t *Tx) caseEvents(c *wear.Case) (err error) {
	if c.Incidents, err = t.incidentsOf(c, c.Parts); err != nil {
		return err
	}
	if c.Statuses, err = statuses.upTo(t, c.Bike.ID, c.Today); err != nil {
		return err
	}
	c.Settings, err = t.settingsFor(c.Bike.ID, c.Parts, c.Today)
	return err
}

// WithPast is a case with the settings and incidents of those parts, too, that left
// the bike after an instant: what they brought along counted while they were on.
func (t *Tx) WithPast(c wear.Case, from wear.Instant) (wear.Case, error) {
	parts := c.Parts
	for i := range c.Past {
		left := func(s wear.Stay) bool { return s.Host == c.Bike.ID && s.To > from }
		if slices.ContainsFunc(c.Past[i].Stays, left) {
			parts = append(slices.Clip(parts), c.Past[i])
		}
	}
	if len(parts) == len(c.Parts) {
		return c, nil
	}
	var err error
	if c.Incidents, err = t.incidentsOf(&c, parts); err != nil {
		return c, err
	}
	c.Settings, err = t.settingsFor(c.Bike.ID, parts, c.Today)
	return c, err
}

// incidentsOf are those of the bike, and those of parts that named them on another
// bike: a recalled or struck part takes that along. A dropped chain tells of the
// bike that it dropped on.
func (t *Tx) incidentsOf(c *wear.Case, parts []wear.PartCase) ([]wear.Incident, error) {
	all, err := incidents.upTo(t, c.Bike.ID, c.Today)
	if err != nil {
		return nil, err
	}
	for _, pc := range parts {
		seen := map[wear.ID]bool{c.Bike.ID: true}
		for _, s := range pc.Stays {
			if seen[s.Host] {
				continue
			}
			seen[s.Host] = true
			others, err := incidents.upTo(t, s.Host, c.Today)
			if err != nil {
				return nil, err
			}
			for _, i := range others {
				if i.Part == pc.Part.ID && i.What != wear.Dropped {
					all = append(all, i)
				}
			}
		}
	}
	slices.SortFunc(all, func(a, b wear.Incident) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.ID, b.ID)) })
	return all, nil
}

func partOf(pc *wear.PartCase) *wear.Part { return &pc.Part }

// PartCase gathers all that is known of one part as of today, and the spans of
// every bike that it was on.
func (t *Tx) PartCase(part wear.ID, today wear.Instant) (pc wear.PartCase, lines map[wear.ID]wear.Timeline, err error) {
	if err := t.settle(); err != nil {
		return pc, nil, err
	}
	c := caseDraft{Case: wear.Case{Today: today, Lines: map[wear.ID]wear.Timeline{}}}
	err = t.partCase(part, &c, &pc)
	return pc, c.Lines, err
}

func (t *Tx) partCase(part wear.ID, c *caseDraft, pc *wear.PartCase) (err error) {
	if pc.Part, err = t.partUpTo(part, c.Today); err != nil {
		return err
	}
	if pc.On, err = t.carriesAt(part, c.Today); err != nil {
		return err
	}
	if err = t.caseStays(&c.Case, pc); err != nil {
		return err
	}
	if !c.brief {
		return t.facts(&c.Case, pc)
	}
	n, err := t.newestOf(part)
	if err != nil {
		return err
	}
	return t.briefly(&c.Case, pc, n)
}

// partUpTo is a part as today knows it.
func (t *Tx) partUpTo(part wear.ID, today wear.Instant) (wear.Part, error) {
	p, err := t.Part(part)
	if p.End != nil && p.End.At > today {
		p.End = nil
	}
	return p, err
}

// caseStays fills in where a part was, and the lines of the bikes that it was on.
func (t *Tx) caseStays(c *wear.Case, pc *wear.PartCase) (err error) {
	if pc.Stays, err = t.wornUpTo(pc.Part.ID, c.Today); err != nil {
		return err
	}
	for _, s := range pc.Stays {
		if _, there := c.Lines[s.Host]; !there {
			if c.Lines[s.Host], err = t.line(s.Host, c.Today); err != nil {
				return err
			}
		}
	}
	return nil
}

// wornUpTo are the stays of a part on bikes as today knows them: those that
// began, and still open where they end later.
func (t *Tx) wornUpTo(part wear.ID, today wear.Instant) ([]wear.Stay, error) {
	stays, err := t.wornOn(part)
	later := func(s wear.Stay) bool { return s.From > today || s.To > today && s.To != wear.Never }
	if err != nil || !slices.ContainsFunc(stays, later) {
		return slices.Clip(stays), err
	}
	stays = slices.DeleteFunc(slices.Clone(stays), func(s wear.Stay) bool { return s.From > today })
	for i := range stays {
		if stays[i].To > today {
			stays[i].To = wear.Never
		}
	}
	return stays, nil
}

// line is a bike's spans up to today; the last is cut there by taking off the
// rides that start later.
func (t *Tx) line(bike wear.ID, today wear.Instant) (wear.Timeline, error) {
	line, end, early, err := t.spansUpTo(bike, today)
	if err != nil || len(line) == 0 {
		return wear.Timeline{{From: wear.Ever}}, err
	}
	if early {
		if err := t.tellOnsets(bike, line, end); err != nil {
			return nil, err
		}
	}
	if err := t.fillGears(bike, line, end); err != nil {
		return nil, err
	}
	if err := t.cutLine(line, stretch{bike, today, end}); err != nil {
		return nil, err
	}
	return line, t.fillGearing(bike, line)
}

// spansUpTo are the spans that began, where the last of them ends, and whether the
// book is an older one that does not tell all of them.
func (t *Tx) spansUpTo(bike wear.ID, today wear.Instant) (line wear.Timeline, end wear.Instant, early bool, err error) {
	line = t.roomForSpans(t.countSpans(bike)) // a span is large: growing would copy much
	n, end := 0, wear.Never
	for k, v := range t.under(bktSpans, id8(bike)) {
		s := &line[n]
		if s.From = instant(k[8:]); s.From > today {
			end = s.From
			break
		}
		old, err := unpackSpanTo(v, &s.Sums, &s.Onset)
		if err != nil {
			return nil, end, early, t.corrupt("spans", k, err)
		}
		early = early || old
		n++
	}
	return line[:n], end, early, nil
}

// countSpans is how many spans a bike has.
func (t *Tx) countSpans(bike wear.ID) (n int) {
	for range t.under(bktSpans, id8(bike)) {
		n++
	}
	return n
}

// cutLine takes the rides that start after an instant, up to the end of the last
// span, off it.
func (t *Tx) cutLine(line wear.Timeline, after stretch) error {
	if after.from == wear.Never {
		return nil
	}
	after.from++
	later, err := t.sumRides(after.bike, after.from, after.to)
	if err != nil || later == (wear.Sums{}) {
		return err
	}
	span := &line[len(line)-1]
	span.Sums = span.Sums.Sub(later)
	if span.Onset, err = t.onset(after.bike, span.From, after.from); err != nil {
		return err
	}
	gears := newGearSum()
	gears.add(span.Gears, 1)
	if err := t.sumGears(gears, after, -1, wear.Gears.Told); err != nil {
		return err
	}
	span.Gears = gears.gears()
	return nil
}

// tellOnsets reads how each span begins, in an older book that does not tell.
func (t *Tx) tellOnsets(bike wear.ID, line wear.Timeline, end wear.Instant) (err error) {
	for i := len(line) - 1; i >= 0 && err == nil; i-- {
		line[i].Onset, err = t.onset(bike, line[i].From, end)
		end = line[i].From
	}
	return err
}

// firstRide is the start of the bike's first counted ride up to today; Ever = none.
func (t *Tx) firstRide(bike wear.ID, today wear.Instant) (wear.Instant, error) {
	for k, v := range t.under(bktRides, id8(bike)) {
		if instant(k[8:]) > today {
			break
		}
		ride, r := rideFigures(v)
		if r.err != nil {
			return wear.Ever, t.corrupt("ride", k, r.err)
		}
		if ride.State == wear.Counted {
			return instant(k[8:]), nil
		}
	}
	return wear.Ever, nil
}

// lastRide is the start of the last one.
func (t *Tx) lastRide(bike wear.ID, today wear.Instant) (wear.Instant, error) {
	c := t.bucket(bktRides).Cursor()
	step := c.Prev
	if k, _ := c.Seek(append(idAt(bike, today), 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff)); k == nil {
		step = c.Last
	}
	for k, v := step(); within(k, bike); k, v = c.Prev() {
		ride, r := rideFigures(v)
		if r.err != nil {
			return wear.Ever, t.corrupt("ride", k, r.err)
		}
		if ride.State == wear.Counted {
			return instant(k[8:]), nil
		}
	}
	return wear.Ever, nil
}

// use is how the bike was ridden from the Monday twelve weeks before this week's
// until today; less where it had its first ride later. Weeks go further back.
func (t *Tx) use(bike wear.ID, firstRide, today wear.Instant) (wear.Use, error) {
	u := wear.Use{Last: wear.Ever}
	if firstRide == wear.Ever || bike == 0 {
		return u, nil
	}
	var err error
	if u.Last, err = t.lastRide(bike, today); err != nil {
		return u, err
	}
	today = max(first, min(today, last))
	now := t.week(today)
	if err = t.pastWeeks(&u, stretch{bike, firstRide, today}); err != nil {
		return u, err
	}
	lately, err := t.sumRides(bike, t.weekStart(now), today+1)
	u.Sums = u.Sums.Add(lately)
	if lately != (wear.Sums{}) {
		u.Weeks = append(u.Weeks, wear.Week{From: t.weekStart(now), Sums: lately})
	}
	begin := t.weekStart(now - useWeeks)
	u.Days = max(7, today.DaysSince(max(begin, firstRide)))
	return u, err
}

// pastWeeks fills in the weeks before the one of the stretch's end. A week is large:
// there is one allocation, and none is copied.
func (t *Tx) pastWeeks(u *wear.Use, s stretch) error {
	now := t.week(s.to)
	var found [pastWeeks]struct{ k, v []byte }
	n := 0
	for _, run := range weekRuns() {
		for k, v := range t.from(bktWeeks, weekKey(s.bike, now-run.first), len(id8(s.bike))) {
			if week := binary.BigEndian.Uint16(k[8:]); week > now-run.last || n == len(found) {
				break
			}
			found[n].k, found[n].v = k, v
			n++
		}
	}
	if n == 0 {
		return nil
	}
	u.Weeks = t.roomForWeeks(n)
	for i, row := range found[:n] {
		w, week := &u.Weeks[i], binary.BigEndian.Uint16(row.k[8:])
		if err := unpackSumsTo(row.v, &w.Sums); err != nil {
			return t.corrupt("weeks", row.k, err)
		}
		w.From = t.weekStart(week)
		if week >= now-useWeeks {
			u.Sums.Take(&w.Sums)
		}
	}
	return nil
}

// weekRun are the weeks from so many ago to so many ago.
type weekRun struct{ first, last uint16 }

// weekRuns are the runs of past weeks that tell how a bike is ridden, oldest first.
var weekRuns = sync.OnceValue(func() (runs []weekRun) {
	for ago := pastWeeks; ago > 0; ago-- {
		switch n := len(runs); {
		case !wear.WeekTells(ago):
		case n > 0 && int(runs[n-1].last) == ago+1:
			runs[n-1].last--
		default:
			runs = append(runs, weekRun{uint16(ago), uint16(ago)})
		}
	}
	return runs
})
