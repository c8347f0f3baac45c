package desk

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// Used is what a part or a bike had done before pawl knew it. NaN is not given.
type Used struct{ Km, Climb, Hours float64 }

// Nothing is the figure of a new part.
func Nothing() Used { return Used{math.NaN(), math.NaN(), math.NaN()} }

// load is the opening figure: what was not given is estimated from what was,
// as for a typed ride.
func (u Used) load(b wear.Bike) wear.Load {
	if math.IsNaN(u.Km) && math.IsNaN(u.Climb) && math.IsNaN(u.Hours) {
		return wear.Load{}
	}
	out := ingest.Typed(ingest.Given{Km: u.Km, Climb: u.Climb, Descent: u.Climb, Hours: u.Hours}, ingest.ModelOf(b), wear.Usual{})
	return out.Recorded.Add(out.Estimated)
}

// FitRequest says which part goes on a bike.
type FitRequest struct {
	Bike  string
	Kind  string
	Shelf string    // the name of a part from the shelf; "" = a new one
	New   wear.Part // the new part's model, teeth, …
	Used  Used
	On    string
	Old   string // what becomes of the part that it takes the place of: a cause, "shelf", or "" = ask
	Bare  bool   // a new wheel carries nothing yet; else new parts of the kinds that the old one carries
}

// FitResult says what was done.
type FitResult struct {
	Bike    wear.Bike
	Part    wear.Part
	At      wear.Instant
	Old     *wear.Part // what came off
	Until   wear.Instant
	ByNext  *wear.Part  // the part that took its place later, where the fit is in the past
	Dressed []wear.Part // what was fitted on a new wheel
}

// Fit puts a part on a bike, now or at a past date. Where a part of the kind
// is on the bike then, it comes off; where another was fitted later, the new
// one stays until then.
func (d *Desk) Fit(ctx context.Context, req FitRequest) (res FitResult, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		bike, at, err := d.bikeAndDay(tx, req.Bike, req.On)
		if err != nil {
			return err
		}
		if _, ok := wear.Default().Kind(req.Kind); !ok {
			return unknownKind(req.Kind)
		}
		tx.Begin("fit", bike.Name+" "+req.Kind, d.Who)
		res, err = fit(tx, bike, at, req)
		return err
	})
	return res, err
}

func fit(tx *store.Tx, bike wear.Bike, at wear.Instant, req FitRequest) (FitResult, error) {
	res := FitResult{Bike: bike, At: at, Until: wear.Never}
	host, err := hostOf(tx, bike.ID, req.Kind, at)
	if err != nil {
		return res, err
	}
	old, next, err := around(tx, host, req.Kind, at)
	if err != nil {
		return res, err
	}
	if old != nil {
		if err := another(tx, old, req.Shelf); err != nil {
			return res, err
		}
		if res.Old, err = takeOff(tx, old, at, req.Old); err != nil {
			return res, err
		}
	}
	if next != nil {
		later, err := tx.Part(next.Part)
		if err != nil {
			return res, err
		}
		res.Until, res.ByNext = next.From, &later
	}
	if res.Part, err = partToFit(tx, req); err != nil {
		return res, err
	}
	stay := wear.Stay{Part: res.Part.ID, Host: host, From: at, To: res.Until, Opening: req.Used.load(bike)}
	if err := tx.AddStay(stay); err != nil {
		return res, err
	}
	if old != nil && req.Shelf == "" && wear.Carries(req.Kind) && !req.Bare {
		res.Dressed, err = dress(tx, res, at)
	}
	return res, err
}

// dress fits new parts on a new wheel, of the kinds that the old one carries.
func dress(tx *store.Tx, res FitResult, at wear.Instant) ([]wear.Part, error) {
	carried, err := tx.PartsOnWheel(res.Old.ID, at)
	if err != nil {
		return nil, err
	}
	var fitted []wear.Part
	for _, p := range carried {
		p, err := tx.AddPart(successor(p, wear.Part{}))
		if err != nil {
			return nil, err
		}
		if err := tx.AddStay(wear.Stay{Part: p.ID, Host: res.Part.ID, From: at, To: wear.Never}); err != nil {
			return nil, err
		}
		fitted = append(fitted, p)
	}
	return fitted, nil
}

// another refuses to fit the part that is on already.
func another(tx *store.Tx, on *wear.Stay, shelf string) error {
	if shelf == "" {
		return nil
	}
	p, err := tx.FindPart(0, shelf, wear.Never)
	if err == nil && p.ID == on.Part {
		err = refusal("pawl part show "+p.Name, "part %q is on that bike already", p.Name)
	}
	return err
}

// hostOf is where a part of a kind goes on a bike: the wheel that is on it
// then, where such a part sits on a wheel, else the bike itself.
func hostOf(tx *store.Tx, bike wear.ID, kind string, at wear.Instant) (wear.ID, error) {
	wheelKind, carried := wear.CarriedBy(kind)
	if !carried {
		return bike, nil
	}
	parts, err := tx.PartsOn(bike, at)
	if err != nil {
		return bike, err
	}
	for _, p := range parts {
		if p.Kind == wheelKind {
			return p.ID, nil
		}
	}
	return bike, nil
}

// around finds the stay of the kind on a bike or wheel that covers the
// instant, and the next one after it.
func around(tx *store.Tx, host wear.ID, kind string, at wear.Instant) (covers, next *wear.Stay, err error) {
	stays, err := tx.Hosted(host)
	if err != nil {
		return nil, nil, err
	}
	for _, s := range stays {
		p, err := tx.Part(s.Part)
		if err != nil {
			return nil, nil, err
		}
		switch {
		case p.Kind != kind:
		case s.Holds(at):
			covers = &s
		case s.From > at && (next == nil || s.From < next.From):
			next = &s
		}
	}
	return covers, next, nil
}

// partToFit is the part named from the shelf, or a new one.
func partToFit(tx *store.Tx, req FitRequest) (wear.Part, error) {
	if req.Shelf == "" {
		p := req.New
		p.Kind, p.Name, p.Model, p.Material = req.Kind, plainText(p.Name), plainText(p.Model), plainText(p.Material)
		if err := p.Check(wear.Default()); err != nil {
			return p, asMistake(err)
		}
		return tx.AddPart(p)
	}
	p, err := tx.FindPart(0, req.Shelf, wear.Never)
	if err == nil && p.Kind != req.Kind {
		err = mistake("", "part %q is a %s, not a %s", p.Name, p.Kind, req.Kind)
	}
	if err == nil && p.End != nil {
		err = refusal("fit a new one, or name another part", "part %q has ended: %s", p.Name, p.End.Cause)
	}
	return p, err
}

// shelf is what becomes of a part that may be used again.
const shelf = "shelf"

// takeOff ends a stay at the instant and, unless the part goes to the shelf,
// the part's life too.
func takeOff(tx *store.Tx, s *wear.Stay, at wear.Instant, fate string) (*wear.Part, error) {
	p, err := tx.Part(s.Part)
	if err != nil {
		return nil, err
	}
	if fate == "" {
		return nil, refusal("add --old worn, broke, crash, early, lost, sold or shelf",
			"part %q is on the bike then: say what became of it", p.Name)
	}
	cause, err := parseFate(fate)
	if err != nil {
		return nil, err
	}
	if cause != "" {
		if err := staysGone(tx, p, at); err != nil {
			return nil, err
		}
	}
	ended := *s
	ended.To = at
	if err := tx.ChangeStay(*s, ended); err != nil {
		return nil, err
	}
	if cause != "" {
		p.End = &wear.End{At: at, Cause: cause}
		if err := tx.ChangePart(p); err != nil {
			return nil, err
		}
	}
	return &p, nil
}

// staysGone refuses to end the life of a part that was on a bike later.
func staysGone(tx *store.Tx, p wear.Part, at wear.Instant) error {
	stays, err := tx.StaysOf(p.ID)
	if err != nil {
		return err
	}
	for _, s := range stays {
		if s.From >= at {
			return refusal("say shelf: pawl part show "+p.Name, "part %q was fitted again on %s: its life did not end before",
				p.Name, day(s.From, tx.Zone()))
		}
	}
	return nil
}

// parseFate is the cause of a part's end, "" for the shelf.
func parseFate(text string) (wear.Cause, error) {
	if text == shelf {
		return "", nil
	}
	if c := wear.Cause(text); slices.Contains(wear.Causes, c) {
		return c, nil
	}
	return "", mistake("worn, broke, crash, early, lost, sold, or shelf for a part that may be used again",
		"cause %q: not a cause", text)
}

// Remove takes a part off a bike. Cause is a cause of its end, or "shelf".
func (d *Desk) Remove(ctx context.Context, f Fact, cause string) (p wear.Part, at wear.Instant, err error) {
	if cause == "" {
		return p, 0, mistake("add --cause worn, broke, crash, early, lost, sold or shelf", "no cause given")
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		bike, part, day, err := d.bikePartAndDay(tx, f)
		if err != nil {
			return err
		}
		at = day
		host, err := hostOf(tx, bike.ID, part.Kind, at)
		if err != nil {
			return err
		}
		covers, _, err := around(tx, host, part.Kind, at)
		if err != nil {
			return err
		}
		if covers == nil || covers.Part != part.ID {
			return refusal("pawl part show "+part.Name+" says where it was", "part %q is not on bike %q then", part.Name, bike.Name)
		}
		tx.Begin("remove", bike.Name+" "+part.Name, d.Who)
		off, err := takeOff(tx, covers, at, cause)
		if err == nil {
			p = *off
		}
		return err
	})
	return p, at, err
}

// Swap puts a wheel from the shelf on a bike; the one that was on goes to the
// shelf. Both keep what they carry.
func (d *Desk) Swap(ctx context.Context, bike, kind, wheel, on string) (FitResult, error) {
	if !wear.Carries(kind) {
		return FitResult{}, mistake("front-wheel or rear-wheel; pawl fit changes any other part", "kind %q: not a wheel", kind)
	}
	return d.Fit(ctx, FitRequest{Bike: bike, Kind: kind, Shelf: wheel, Used: Nothing(), On: on, Old: shelf})
}

// PartState is a part, where it is and what it has done.
type PartState struct {
	Part  wear.Part
	Bike  wear.Bike // zero on the shelf
	Since wear.Instant
	Total wear.Sum // of its whole life, opening figures as estimated
	Stays []wear.StayUse
	Case  wear.PartCase
	Hosts map[wear.ID]string // names of the bikes of its stays
}

// Parts lists the parts of a bike, or all, with what they have done.
func (d *Desk) Parts(ctx context.Context, bike, today string) (list []PartState, at wear.Instant, err error) {
	return d.PartsOf(ctx, bike, Rows{}, today)
}

// PartsOf is Parts with the figures of some.
func (d *Desk) PartsOf(ctx context.Context, bike string, rows Rows, today string) (list []PartState, at wear.Instant, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		if at, err = d.today(today, tx.Zone()); err != nil {
			return err
		}
		parts, err := d.partsOf(tx, bike, at)
		if err != nil {
			return err
		}
		list = make([]PartState, len(parts))
		for i, p := range parts {
			list[i] = PartState{Part: p}
			if !rows.asks(i) {
				continue
			}
			if list[i], err = partState(tx, p, at); err != nil {
				return err
			}
		}
		return nil
	})
	return list, at, err
}

func (d *Desk) partsOf(tx *store.Tx, bike string, at wear.Instant) ([]wear.Part, error) {
	if bike == "" {
		return tx.Parts()
	}
	b, err := tx.FindBike(bike)
	if err != nil {
		return nil, err
	}
	return tx.PartsOn(b.ID, at)
}

// Part is one part and what it has done.
func (d *Desk) Part(ctx context.Context, name, today string) (s PartState, at wear.Instant, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		if at, err = d.today(today, tx.Zone()); err != nil {
			return err
		}
		p, err := tx.FindPart(0, name, at)
		if err != nil {
			return err
		}
		s, err = partState(tx, p, at)
		return err
	})
	return s, at, err
}

func partState(tx *store.Tx, p wear.Part, at wear.Instant) (PartState, error) {
	s := PartState{Part: p, Hosts: map[wear.ID]string{}}
	pc, lines, err := tx.PartCase(p.ID, at)
	if err != nil {
		return s, err
	}
	s.Case = pc
	for _, st := range pc.Stays {
		u := wear.StayUse{Stay: st, Sum: wear.Done(lines[st.Host], st), Opening: st.Opening != wear.Load{}}
		s.Stays = append(s.Stays, u)
		s.Total = s.Total.Add(u.Sum)
		s.Total.Estimated = s.Total.Estimated.Add(st.Opening)
		b, err := tx.Bike(st.Host)
		if err != nil {
			return s, err
		}
		s.Hosts[b.ID] = b.Name
		if st.Holds(at) {
			s.Bike, s.Since = b, st.From
		}
	}
	return s, nil
}

func unknownKind(kind string) error {
	var names []string
	for _, k := range wear.Default().Kinds() {
		names = append(names, k.Name)
	}
	near := wear.Nearest(kind, names)
	tip := "kinds: " + strings.Join(names, ", ")
	if near != "" {
		tip = fmt.Sprintf("did you mean %q?", near)
	}
	return mistake(tip, "kind %q: no such kind of part", kind)
}
