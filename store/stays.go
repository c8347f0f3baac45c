package store

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"pawl/wear"
)

// AddStay puts a part on a bike or a wheel for a time. It refuses a stay that
// ends before it begins, a part in two places at once, what cannot carry the
// part, and two parts of one kind at once on one wheel or one bike, be it through
// its wheels.
func (t *Tx) AddStay(s wear.Stay) error {
	if err := t.fits(s, nil); err != nil {
		return err
	}
	return t.put(bktStays, stayKey(s), s)
}

// ChangeStay replaces a stay: its end where the part is taken off, or anything
// of it where it was wrong.
func (t *Tx) ChangeStay(old, changed wear.Stay) error {
	key := stayKey(old)
	if t.bucket(bktStays).Get(key) == nil {
		return &UnknownError{Noun: "stay", Name: t.partName(old.Part)}
	}
	if err := t.fits(changed, &old); err != nil {
		return err
	}
	if moved := stayKey(changed); string(moved) != string(key) {
		if err := t.set(bktStays, key, nil); err != nil {
			return err
		}
	}
	return t.put(bktStays, stayKey(changed), changed)
}

// fits refuses a stay that contradicts itself or another, leaving out the one
// that it replaces.
func (t *Tx) fits(s wear.Stay, replaced *wear.Stay) error {
	part, err := t.Part(s.Part)
	if err != nil {
		return err
	}
	if err := t.host(part, s.Host); err != nil {
		return err
	}
	if s.To <= s.From {
		return &ConflictError{partNoun, part.Name, "would leave before it came", "check both dates"}
	}
	for _, at := range []wear.Instant{s.From, s.To} {
		if at != wear.Ever && at != wear.Never {
			if err := dateable(partNoun, at); err != nil {
				return err
			}
		}
	}
	if err := t.elsewhere(part, s, replaced); err != nil {
		return err
	}
	return t.crowded(s, replaced)
}

// elsewhere refuses a part in two places at once.
func (t *Tx) elsewhere(part wear.Part, s wear.Stay, replaced *wear.Stay) error {
	stays, err := t.StaysOf(s.Part)
	if err != nil {
		return err
	}
	for _, o := range stays {
		if overlap(s, o) && !same(o, replaced) {
			return &ConflictError{partNoun, part.Name, fmt.Sprintf("is on %s then (%s)", t.hostName(o.Host), t.told(o)),
				t.takeOff(o.Host, part.Name)}
		}
	}
	return nil
}

// takeOff says how a part comes off.
func (t *Tx) takeOff(host wear.ID, part string) string {
	if t.isBike(host) {
		return fmt.Sprintf("take it off first: pawl remove %s %s", t.bikeName(host), part)
	}
	return fmt.Sprintf("take %s off %s first", part, t.partName(host))
}

// crowded refuses two parts of one kind at once on one wheel, and on one bike:
// what a wheel carries comes and goes with it.
func (t *Tx) crowded(s wear.Stay, replaced *wear.Stay) error {
	if !t.isBike(s.Host) {
		stays, err := t.hostedBy(s.Host)
		if err != nil {
			return err
		}
		for _, o := range stays {
			if err := t.twice(s, o, replaced); err != nil {
				return err
			}
		}
	}
	news, err := t.comes(s)
	if err != nil {
		return err
	}
	for _, n := range news {
		there, err := t.piecesOn(n.Host)
		if err != nil {
			return err
		}
		for _, o := range there {
			if o.from(replaced) {
				continue
			}
			if err := t.twice(n, o.Stay, nil); err != nil {
				return err
			}
		}
	}
	return nil
}

// comes are the stays on bikes that a stay brings: its own part's, and those of
// the parts that it carries.
func (t *Tx) comes(s wear.Stay) ([]wear.Stay, error) {
	if !t.isBike(s.Host) {
		return effective(t.piecesFrom(s))
	}
	comes := []wear.Stay{s}
	carries, err := t.hostedBy(s.Part)
	for _, c := range carries {
		for _, p := range carried(c, []wear.Stay{s}) {
			comes = append(comes, p.Stay)
		}
	}
	return comes, err
}

// twice refuses a part beside another of its kind.
func (t *Tx) twice(s, o wear.Stay, replaced *wear.Stay) error {
	if !overlap(s, o) || same(o, replaced) {
		return nil
	}
	part, err := t.Part(s.Part)
	if err != nil {
		return err
	}
	other, err := t.Part(o.Part)
	if err != nil || other.Kind != part.Kind {
		return err
	}
	return &ConflictError{partNoun, part.Name, fmt.Sprintf("%s has %s then (%s)", t.hostName(s.Host), other.Name, t.told(o)),
		t.takeOff(s.Host, other.Name)}
}

func overlap(a, b wear.Stay) bool { return a.From < b.To && b.From < a.To }

func same(s wear.Stay, o *wear.Stay) bool {
	return o != nil && s.Part == o.Part && s.Host == o.Host && s.From == o.From
}

// told is a stay in words.
func (t *Tx) told(s wear.Stay) string {
	day := func(at wear.Instant) string { return at.Time().In(t.zone).Format(time.DateOnly) }
	switch {
	case s.From == wear.Ever && s.To == wear.Never:
		return "since it came with the bike"
	case s.From == wear.Ever:
		return "until " + day(s.To)
	case s.To == wear.Never:
		return "since " + day(s.From)
	}
	return day(s.From) + " to " + day(s.To)
}

// partName is for messages: a name, or the number where there is none.
func (t *Tx) partName(id wear.ID) string {
	if p, err := t.Part(id); err == nil {
		return p.Name
	}
	return fmt.Sprintf("%x", uint64(id))
}

func (t *Tx) bikeName(id wear.ID) string {
	if b, err := t.Bike(id); err == nil {
		return b.Name
	}
	return fmt.Sprintf("%x", uint64(id))
}

// StaysOf returns all stays of a part, on bikes and on wheels, as they were
// entered, in order of time.
func (t *Tx) StaysOf(part wear.ID) ([]wear.Stay, error) {
	stays, err := t.staysSeen(part)
	return slices.Clone(stays), err
}

// staysSeen is StaysOf for who only looks: the stays are those that are remembered.
func (t *Tx) staysSeen(part wear.ID) ([]wear.Stay, error) {
	if t.reads == nil {
		return t.staysOf(part)
	}
	return remembered(t.reads.stays, part, func() ([]wear.Stay, error) { return t.staysOf(part) })
}

func (t *Tx) staysOf(part wear.ID) ([]wear.Stay, error) {
	var stays []wear.Stay
	for k, v := range t.under(bktStaysPart, id8(part)) {
		s, err := t.stayNamed(stayName{part, idOf(v), instant(k[8:])})
		if err != nil {
			return nil, err
		}
		stays = append(stays, s)
	}
	return stays, nil
}

// stayNamed is a stay that the index tells of.
func (t *Tx) stayNamed(n stayName) (wear.Stay, error) {
	if t.reads != nil {
		if s, ok := t.reads.hosted[n]; ok {
			return s, nil
		}
	}
	key := stayKey(wear.Stay{Part: n.part, Host: n.host, From: n.from})
	s, found, err := get[wear.Stay](t, bktStays, key)
	if err == nil && !found {
		err = t.corrupt("stays", key, fmt.Errorf("no such stay"))
	}
	return s, err
}

// hostAt is where a part was: the bike that it was on or was just taken off; 0
// = on the shelf. What a fact says of itself counts where it can be true.
func hostAt(stays []wear.Stay, at wear.Instant, said wear.ID) wear.ID {
	var on, off wear.ID
	for _, s := range stays {
		if s.Host == said && s.From <= at && at <= s.To {
			return said
		}
		if s.Holds(at) {
			on = s.Host
		} else if s.To == at {
			off = s.Host
		}
	}
	return cmp.Or(on, off)
}

// sortParts sorts what has a part in it by kind, then name. What is sorted is large:
// it is moved once.
func sortParts[T any](all []T, part func(*T) *wear.Part) {
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return byKindAndName(part(&all[i]), part(&all[j])) })
	sorted := make([]T, len(all))
	for to, from := range order {
		sorted[to] = all[from]
	}
	copy(all, sorted)
}

func byKindAndName(a, b *wear.Part) int {
	if c := cmp.Compare(a.Kind, b.Kind); c != 0 {
		return c
	}
	return cmp.Or(wear.Naturally(a.Name, b.Name), cmp.Compare(a.ID, b.ID))
}
