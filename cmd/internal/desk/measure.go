package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"pawl/store"
	"pawl/wear"
)

// Measured is a reading as it stands in the book.
type Measured struct {
	Reading wear.Reading
	Part    wear.Part
	Notes   []string // what was assumed of it, and what is odd
}

// Measure enters what a tool said of a part. Kind, instant and note of the
// sitting come from the fact.
func (d *Desk) Measure(ctx context.Context, f Fact, s wear.Sitting) (m Measured, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		tx.Begin("measure", f.Bike+" "+f.Part, d.Who)
		m, err = d.measure(tx, f, s)
		return err
	})
	return m, err
}

func (d *Desk) measure(tx *store.Tx, f Fact, s wear.Sitting) (m Measured, err error) {
	bike, part, at, err := d.partToMeasure(tx, f)
	if err != nil {
		return m, err
	}
	s.Kind, s.At, s.Note, s.Which = part.Kind, at, plainText(f.Note), plainText(s.Which)
	known, err := knownOf(tx, bike, part)
	if err != nil {
		return m, err
	}
	reading, notes, err := s.Read(known)
	if err != nil {
		return m, asRefusal(err)
	}
	if twice(known.Readings, reading) {
		notes = append(notes, "the same reading of that day is in the book already; pawl undo takes this one back")
	}
	reading.Part, reading.Bike = part.ID, bike.ID
	reading, err = tx.AddReading(reading)
	return Measured{reading, part, notes}, err
}

// partToMeasure finds the part of that day; where there was none yet, the one
// that was fitted since, so that the refusal can name it.
func (d *Desk) partToMeasure(tx *store.Tx, f Fact) (wear.Bike, wear.Part, wear.Instant, error) {
	bike, part, at, err := d.bikePartAndDay(tx, f)
	if err == nil || bike.ID == 0 {
		return bike, part, at, err
	}
	later, e := findPart(tx, bike, f.Part, wear.At(d.Now))
	if e != nil {
		return bike, part, at, err
	}
	stays, e := tx.StaysOf(later.ID)
	if e != nil || slices.ContainsFunc(stays, func(s wear.Stay) bool { return s.From <= at }) {
		return bike, part, at, err
	}
	return bike, later, at, nil
}

// asRefusal makes a refusal of what the book contradicts, and wrong use of the rest.
func asRefusal(err error) error {
	var no *wear.ContradictionError
	if errors.As(err, &no) {
		return refusal(no.Tip, "%v", err)
	}
	return asMistake(err)
}

// knownOf is what a new reading of a part is held against.
func knownOf(tx *store.Tx, bike wear.Bike, part wear.Part) (k wear.Known, err error) {
	k = wear.Known{Bike: bike.Name, Part: part.Name, Zone: tx.Zone()}
	if k.Stays, err = tx.StaysOf(part.ID); err != nil {
		return k, err
	}
	if k.Readings, err = tx.Readings(part.ID); err != nil {
		return k, err
	}
	k.Plate, err = plateOf(tx, bike, part)
	return k, err
}

// plateOf is the plate of a part as last measured: its own, else that of an
// earlier part of its kind and model on the bike; 0 = not known.
func plateOf(tx *store.Tx, bike wear.Bike, part wear.Part) (float64, error) {
	if kind, ok := wear.Default().Kind(part.Kind); !ok || kind.Measurable() != wear.Lining {
		return 0, nil
	}
	stays, err := tx.StaysOn(bike.ID)
	if err != nil {
		return 0, err
	}
	like := []wear.ID{part.ID}
	for _, s := range slices.Backward(stays) {
		p, err := tx.Part(s.Part)
		if err != nil {
			return 0, err
		}
		if p.Kind == part.Kind && p.Model == part.Model && p.ID != part.ID {
			like = append(like, p.ID)
		}
	}
	for _, id := range like {
		if plate, err := lastPlate(tx, id); err != nil || plate > 0 {
			return plate, err
		}
	}
	return 0, nil
}

func lastPlate(tx *store.Tx, part wear.ID) (float64, error) {
	readings, err := tx.Readings(part)
	for _, r := range slices.Backward(readings) {
		if !r.Void && r.Plate > 0 {
			return r.Plate, err
		}
	}
	return 0, err
}

// twice reports whether a reading is there already.
func twice(readings []wear.Reading, r wear.Reading) bool {
	return slices.ContainsFunc(readings, func(o wear.Reading) bool { return !o.Void && same(o, r) })
}

// same reports whether two readings say the same of the same instant.
func same(a, b wear.Reading) bool {
	gauge := func(r wear.Reading) wear.Gauge {
		if r.Gauge == nil {
			return wear.Gauge{}
		}
		return *r.Gauge
	}
	return a.At == b.At && a.Of == b.Of && a.Value == b.Value && a.Tool == b.Tool && a.Which == b.Which && gauge(a) == gauge(b)
}

// VoidReading takes back the reading of a day; what is said of it tells one of
// several. It stays in the history.
func (d *Desk) VoidReading(ctx context.Context, f Fact, s wear.Sitting) (m Measured, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		bike, part, at, err := d.bikePartAndDay(tx, f)
		if err != nil {
			return err
		}
		all, err := tx.Readings(part.ID)
		if err != nil {
			return err
		}
		v := voiding{part: part, on: f.On, at: at, zone: tx.Zone()}
		r, err := v.choose(all, s)
		if err != nil {
			return err
		}
		tx.Begin("measure void", bike.Name+" "+part.Name, d.Who)
		m = Measured{Reading: r, Part: part}
		return tx.VoidReading(part.ID, r.ID)
	})
	return m, err
}

// voiding looks for the reading that is to be taken back.
type voiding struct {
	part wear.Part
	on   string
	at   wear.Instant
	zone *time.Location
}

func (v voiding) choose(all []wear.Reading, s wear.Sitting) (wear.Reading, error) {
	var found []wear.Reading
	for _, r := range all {
		if r.Void || !v.then(r.At) {
			continue
		}
		means, err := s.Means(r)
		if err != nil {
			return r, asMistake(err)
		}
		if means {
			found = append(found, r)
		}
	}
	if len(found) == 0 {
		return wear.Reading{}, v.none(all)
	}
	last := found[len(found)-1]
	if slices.ContainsFunc(found, func(r wear.Reading) bool { return !same(r, last) }) {
		return last, v.several(found)
	}
	return last, nil
}

// then reports whether an instant is the one meant: that day, or with a time
// that minute.
func (v voiding) then(at wear.Instant) bool {
	if v.on == "" || bare(v.on) {
		return day(at, v.zone) == day(v.at, v.zone)
	}
	return at.Time().Truncate(time.Minute).Equal(v.at.Time().Truncate(time.Minute))
}

func (v voiding) none(all []wear.Reading) error {
	tip := fmt.Sprintf("pawl part show %q lists its readings", v.part.Name)
	for _, r := range slices.Backward(all) {
		if !r.Void {
			tip = fmt.Sprintf("its last one is --on %s: %s", day(r.At, v.zone), r.Words())
			break
		}
	}
	return refusal(tip, "part %q: no such reading on %s", v.part.Name, day(v.at, v.zone))
}

func (v voiding) several(found []wear.Reading) error {
	list := make([]string, len(found))
	for i, r := range found {
		list[i] = fmt.Sprintf("%s at %s", r.Words(), r.At.Time().In(v.zone).Format("15:04"))
	}
	return mistake("say which: its --tool, its figure, or its time as --on "+day(v.at, v.zone)+"T18:30",
		"part %q: %d readings on %s: %s", v.part.Name, len(found), day(v.at, v.zone), strings.Join(list, "; "))
}
