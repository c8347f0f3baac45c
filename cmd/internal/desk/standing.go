package desk

import (
	"context"
	"fmt"
	"slices"

	"pawl/store"
	"pawl/wear"
)

// StatusRequest says how a bike stands from a day on.
type StatusRequest struct {
	Bike   string
	Is     wear.Standing
	On     string
	Until  string // the last day of a release
	By     string
	Reason string
}

// SetStatus holds a bike back, releases it, or retires it. A release of a bike
// that a stop keeps in has a name, a reason and an end: it lets the bike out until
// then, and the stop stays.
func (d *Desk) SetStatus(ctx context.Context, req StatusRequest) (s wear.Status, b wear.Bike, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		bike, at, err := d.bikeAndDay(tx, req.Bike, req.On)
		if err != nil {
			return err
		}
		b = bike
		s = wear.Status{Bike: b.ID, At: at, Is: req.Is, By: plainText(req.By), Reason: plainText(req.Reason)}
		if req.Until != "" {
			if s.Until, err = parseInstant(req.Until, tx.Zone()); err != nil {
				return err
			}
			if s.Until <= at {
				return mistake("--until is a day after it", "date %q: over before it begins", req.Until)
			}
		}
		if err := d.answered(tx, b, s); err != nil {
			return err
		}
		tx.Begin("bike "+string(req.Is), b.Name, d.Who)
		s, err = tx.AddStatus(s)
		return err
	})
	return s, b, err
}

// answered refuses a change of standing for which nobody answers: of a hired bike
// without name and reason, and a release that lifts a stop without an end. Of one
// that lifts a stop it notes what stays.
func (d *Desk) answered(tx *store.Tx, b wear.Bike, s wear.Status) error {
	if s.Is == wear.Retired {
		return nil
	}
	verb, tip := "release", fmt.Sprintf("pawl bike release %q --by NAME --reason WHY", b.Name)
	if s.Is == wear.Held {
		verb, tip = "hold", fmt.Sprintf("pawl bike hold %q --by NAME --reason WHY", b.Name)
	}
	if b.Fleet && (s.By == "" || s.Reason == "") {
		return mistake(tip, "bike %q is hired out: a %s bears a name and a reason", b.Name, verb)
	}
	if s.Is == wear.Held {
		return nil
	}
	c, err := tx.Case(b.ID, s.At)
	if err != nil {
		return err
	}
	stops := wear.AssessOnly(c, wear.Default(), wear.Stop)
	if len(stops) == 0 {
		return nil
	}
	stop := stops[0]
	if s.By == "" || s.Reason == "" || s.Until == 0 {
		return refusal(tip+" --until DATE lets it out until then; the stop stays",
			"bike %q: %s, %s is a stop: a release bears a name, a reason and an end", b.Name, stop.Part, stop.Title)
	}
	more := ""
	if n := len(stops) - 1; n > 0 {
		more = fmt.Sprintf(", and %d more", n)
	}
	d.Warnings = append(d.Warnings, fmt.Sprintf("the stop stays: %s, %s%s; pawl due %q says what clears it", stop.Part, stop.Title, more, b.Name))
	return nil
}

// NoteIncident enters that something happened to a bike, or to a part of it.
func (d *Desk) NoteIncident(ctx context.Context, f Fact, what wear.Happening) (i wear.Incident, b wear.Bike, err error) {
	if !slices.Contains(wear.Happenings, what) {
		return i, b, mistake("--crash, --drop, --strike or --recall", "nothing is said to have happened")
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		bike, at, err := d.bikeAndDay(tx, f.Bike, f.On)
		if err != nil {
			return err
		}
		b = bike
		i = wear.Incident{Bike: b.ID, At: at, What: what, Note: plainText(f.Note), By: plainText(f.By)}
		if f.Part != "" {
			p, err := findPart(tx, b, f.Part, at)
			if err != nil {
				return err
			}
			i.Part = p.ID
		}
		tx.Begin("bike note", b.Name+" "+string(what), d.Who)
		i, err = tx.AddIncident(i)
		return err
	})
	return i, b, err
}

// SheetOf is the build of a bike as it stands, to make another like it.
func (d *Desk) SheetOf(ctx context.Context, bike string) (s wear.Sheet, b wear.Bike, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		if b, err = tx.FindBike(bike); err != nil {
			return err
		}
		s = wear.Sheet{Name: b.Sheet, Title: "like " + b.Name, Bike: b, On: map[string]string{}}
		parts, err := tx.PartsOn(b.ID, wear.At(d.Now))
		if err != nil {
			return err
		}
		slices.SortStableFunc(parts, wheelsFirst)
		for _, p := range parts {
			s.Parts = append(s.Parts, successor(p, wear.Part{}))
			if wheel, ok := wear.CarriedBy(p.Kind); ok {
				s.On[p.Kind] = wheel
			}
		}
		return nil
	})
	return s, b, err
}

// wheelsFirst puts wheels before what they carry.
func wheelsFirst(a, b wear.Part) int {
	rank := func(p wear.Part) int {
		if wear.Carries(p.Kind) {
			return 0
		}
		return 1
	}
	return rank(a) - rank(b)
}
