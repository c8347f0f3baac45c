package store

import (
	"bytes"

	"pawl/wear"
)

// joinGears takes the gears of a span away and gives them to the one before, if
// any. The span itself is gone already.
func (t *Tx) joinGears(key []byte, before bool) error {
	g, err := t.gearRow(key)
	if err != nil {
		return err
	}
	if err := t.bucket(bktSpanGears).Delete(key); err != nil || !before {
		return err
	}
	sum := newGearSum()
	sum.add(g, 1)
	return t.addGearRow(t.spanAt(idOf(key), instant(key[8:])), sum)
}

// splitGears gives a new span the gears of its rides, and takes them from the
// earlier one that had them; nil = none had.
func (t *Tx) splitGears(s stretch, earlier []byte) error {
	sum := newGearSum()
	if err := t.sumGears(sum, s, 1, wear.Gears.Told); err != nil {
		return err
	}
	g := sum.gears()
	if earlier != nil {
		less := newGearSum()
		less.add(g, -1)
		if err := t.addGearRow(earlier, less); err != nil {
			return err
		}
	}
	return putOrDelete(t.bucket(bktSpanGears), idAt(s.bike, s.from), packGears(g))
}

// fillGears gives each span the gears that its rides tell; end is where the last
// one ends.
func (t *Tx) fillGears(bike wear.ID, line wear.Timeline, end wear.Instant) error {
	if t.bucket(bktSpanGears) == nil {
		return t.tellGears(bike, line, end)
	}
	i := 0
	for k, v := range t.under(bktSpanGears, id8(bike)) {
		for i < len(line) && line[i].From < instant(k[8:]) {
			i++
		}
		if i == len(line) || line[i].From != instant(k[8:]) {
			continue // of a span after today
		}
		var err error
		if line[i].Gears, err = unpackGearsInto(v, t.roomForGears); err != nil {
			return t.corrupt("spangears", k, err)
		}
	}
	return nil
}

// tellGears reads the gears of every span, in an older book that does not keep them.
func (t *Tx) tellGears(bike wear.ID, line wear.Timeline, end wear.Instant) error {
	for i := len(line) - 1; i >= 0; i-- {
		sum := newGearSum()
		if err := t.sumGears(sum, stretch{bike, line[i].From, end}, 1, wear.Gears.Told); err != nil {
			return err
		}
		line[i].Gears, end = sum.gears(), line[i].From
	}
	return nil
}

// deriveSpanGears sums the gears of a bike's rides by span.
func (t *Tx) deriveSpanGears(bike wear.ID, starts []wear.Instant, out emit) error {
	line := make(wear.Timeline, len(starts))
	for i, from := range starts {
		line[i].From = from
	}
	if err := t.tellGears(bike, line, wear.Never); err != nil {
		return err
	}
	for i := range line {
		if packed := packGears(line[i].Gears); packed != nil {
			if err := out(bktSpanGears, idAt(bike, line[i].From), packed); err != nil {
				return err
			}
		}
	}
	return nil
}

// fillGearing says of each span how many teeth ring and cassette had, and how the
// wheel rolls. Stays begin and end where spans do, so a span has one of each or
// none; a ring never sits on a wheel, and cassettes matter only where gears are told.
func (t *Tx) fillGearing(bike wear.ID, line wear.Timeline) error {
	told := geared(line)
	find := t.hostedBy
	if told || t.lastOn.id == bike {
		find = t.StaysOn
	}
	stays, err := find(bike)
	if err != nil {
		return err
	}
	for _, s := range stays {
		p, err := t.Part(s.Part)
		if err != nil {
			return err
		}
		if p.Kind != ringKind && p.Kind != cassetteKind {
			continue
		}
		for i := range line {
			switch {
			case !s.Holds(line[i].From):
			case p.Kind == ringKind:
				line[i].Ring = p.Teeth
			case told:
				line[i].Cogs = p.Cogs
			}
		}
	}
	return t.fillWheel(bike, line, told)
}

func geared(line wear.Timeline) bool {
	for i := range line {
		if len(line[i].Gears.ByDevelopment)+len(line[i].Gears.ByNumber) > 0 {
			return true
		}
	}
	return false
}

func (t *Tx) fillWheel(bike wear.ID, line wear.Timeline, told bool) error {
	if !told {
		return nil
	}
	b, err := t.Bike(bike)
	if err != nil {
		return err
	}
	settings, err := list[wear.Setting](t, bktSettings, settingsOf(wear.ForBike, "", bike))
	for i := range line {
		line[i].Wheel = b.WheelAt(settings, line[i].From)
	}
	return err
}

// spanGears fills the bucket of an older book.
func (t *Tx) spanGears() error {
	return t.bucket(bktBikes).ForEach(func(bike, _ []byte) error {
		return t.deriveSpanGears(idOf(bike), t.spanStarts(idOf(bike)), func(bucket, key, value []byte) error {
			return t.bucket(bucket).Put(bytes.Clone(key), value)
		})
	})
}
