package desk

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// BikeRequest says what a bike is. Zero figures are left to the sheet.
type BikeRequest struct {
	Bike    wear.Bike
	Sheet   wear.Sheet
	On      string // when the sheet's parts came on; "" = with the bike
	Used    Used
	NoMotor bool                 // whatever the sheet says
	Parts   map[string]wear.Part // what to say otherwise than the sheet, by kind
}

// AddBike enters a bike and fits the parts of its build sheet.
func (d *Desk) AddBike(ctx context.Context, req BikeRequest) (b wear.Bike, parts []wear.Part, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		from := wear.Ever
		if req.On != "" {
			if from, err = d.when(req.On, tx.Zone()); err != nil {
				return err
			}
		}
		tx.Begin("bike add", req.Bike.Name, d.Who)
		b, parts, err = d.newBike(tx, req, from)
		return err
	})
	return b, parts, err
}

// newBike enters a bike whose parts are there from an instant on.
func (d *Desk) newBike(tx *store.Tx, req BikeRequest, from wear.Instant) (b wear.Bike, parts []wear.Part, err error) {
	bike := req.Sheet.Dress(req.Bike)
	if req.NoMotor {
		bike.Motor = wear.NoMotor
	}
	bike.Name, bike.Note = plainText(bike.Name), plainText(bike.Note)
	bike.Added = wear.At(d.Now)
	if b, err = tx.AddBike(bike); err != nil {
		return b, nil, err
	}
	parts, err = fitSheet(tx, b, from, req)
	return b, parts, err
}

func fitSheet(tx *store.Tx, b wear.Bike, from wear.Instant, req BikeRequest) ([]wear.Part, error) {
	var fitted []wear.Part
	wheels := map[string]wear.ID{} // by kind; a sheet has them before what they carry
	opening := req.Used.load(b)
	for _, p := range req.Sheet.Parts {
		if said, ok := req.Parts[p.Kind]; ok {
			p = successor(p, said)
		}
		p, err := tx.AddPart(p)
		if err != nil {
			return nil, err
		}
		stay := wear.Stay{Part: p.ID, Host: b.ID, From: from, To: wear.Never, Opening: opening, Came: true}
		if wheel, carried := wheels[req.Sheet.On[p.Kind]]; carried {
			stay.Host = wheel
		}
		if wear.Carries(p.Kind) {
			wheels[p.Kind] = p.ID
		}
		if err := tx.AddStay(stay); err != nil {
			return nil, err
		}
		fitted = append(fitted, p)
	}
	return fitted, nil
}

// BikeState is a bike, what it has done, and what is on it.
type BikeState struct {
	Bike     wear.Bike
	Owner    string // of lists; "" = nobody's, or not asked
	Total    wear.Sum
	Use      wear.Use
	First    wear.Instant
	Parts    int // on it now
	Findings []wear.Finding
	Standing wear.Standing
	Status   *wear.Status // that says so; nil = none was ever entered
}

// BikePage is one bike with its parts.
type BikePage struct {
	BikeState
	Parts []PartState
	Setup SetupPage
	Rings RingsPage
	Cogs  *wear.Cogs // nil = no cassette of which the cogs are given

	Meters []wear.Odometer // the newest reading of each of its meters
}

// BikeFilter says which bikes are asked about: all, unless it says otherwise.
type BikeFilter struct {
	Depot string   // see [wear.Bike.At]
	Tags  []string // all of them
	Rows  Rows     // of a list: the figures that are asked
}

// Takes reports whether a bike is asked about.
func (f BikeFilter) Takes(b wear.Bike) bool { return b.At(f.Depot) && b.Tagged(f.Tags...) }

// Bikes lists the bikes with what they have done.
func (d *Desk) Bikes(ctx context.Context, today string) (list []BikeState, at wear.Instant, err error) {
	return d.BikesOf(ctx, BikeFilter{}, today)
}

// BikesOf is Bikes of some. That no bike has the depot or a tag is a mistake.
func (d *Desk) BikesOf(ctx context.Context, which BikeFilter, today string) (list []BikeState, at wear.Instant, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		list = nil
		if at, err = d.today(today, tx.Zone()); err != nil {
			return err
		}
		bikes, err := tx.Bikes()
		if err != nil {
			return err
		}
		if err := which.meant(bikes); err != nil {
			return err
		}
		for _, b := range bikes {
			if !which.Takes(b) {
				continue
			}
			if !which.Rows.asks(len(list)) {
				list = append(list, BikeState{Bike: b})
				continue
			}
			s, err := bikeState(tx, b, at)
			if err != nil {
				return err
			}
			if s.Owner, err = ownerOf(tx, b); err != nil {
				return err
			}
			list = append(list, s)
		}
		return nil
	})
	return list, at, err
}

// ownerOf is the name of the person whose a bike is, "" where it is nobody's.
func ownerOf(tx *store.Tx, b wear.Bike) (string, error) {
	if b.Owner == 0 {
		return "", nil
	}
	p, err := tx.Person(b.Owner)
	if isUnknown(err) {
		return "", nil
	}
	return p.Name, err
}

// meant refuses a depot or a tag that no bike has.
func (f BikeFilter) meant(bikes []wear.Bike) error {
	if u := unmetBy(bikes, []string{f.Depot}, f.Tags); u != nil {
		return mistake(u.tip, "%s %q: no bike has it", u.noun, u.word)
	}
	return nil
}

// unmet is a depot or tag that no bike has, and what to type instead.
type unmet struct{ noun, word, tip string }

// shownWords is how many depots or tags a hint lists.
const shownWords = 8

// unmetBy is the first depot or tag asked for that none of the bikes has; nil =
// each has one. Nothing asked for and "none" are met.
func unmetBy(bikes []wear.Bike, depots, tags []string) *unmet {
	var allDepots, allTags []string
	for _, b := range bikes {
		allDepots, allTags = append(allDepots, b.Depot), append(allTags, b.Tags...)
	}
	for _, x := range []struct {
		noun       string
		asked, all []string
	}{{"depot", depots, allDepots}, {"tag", tags, allTags}} {
		for _, word := range x.asked {
			if word != "" && word != none && !slices.ContainsFunc(x.all, func(has string) bool { return strings.EqualFold(has, word) }) {
				return &unmet{x.noun, plainText(word), wordTip(x.noun, word, x.all)}
			}
		}
	}
	return nil
}

// wordTip is the word that was meant, else the first of those that there are.
func wordTip(noun, word string, all []string) string {
	all = slices.DeleteFunc(slices.Clone(all), func(s string) bool { return s == "" })
	slices.Sort(all)
	all = slices.Compact(all)
	switch near := wear.Nearest(word, all); {
	case near != "":
		return fmt.Sprintf("did you mean %q?", near)
	case len(all) == 0:
		return "no bike has a " + noun + " yet: pawl bike change --help"
	case len(all) > shownWords:
		return fmt.Sprintf("the first of %d are: %s", len(all), strings.Join(all[:shownWords], ", "))
	}
	return noun + "s: " + strings.Join(all, ", ")
}

// Bike is one bike with its parts.
func (d *Desk) Bike(ctx context.Context, name, today string) (s BikePage, at wear.Instant, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		if at, err = d.today(today, tx.Zone()); err != nil {
			return err
		}
		b, err := tx.FindBike(name)
		if err != nil {
			return err
		}
		if s.BikeState, err = bikeState(tx, b, at); err != nil {
			return err
		}
		parts, err := tx.PartsOn(b.ID, at)
		if err != nil {
			return err
		}
		for _, p := range parts {
			ps, err := partState(tx, p, at)
			if err != nil {
				return err
			}
			s.Parts = append(s.Parts, ps)
		}
		readings, err := tx.Odometers(b.ID)
		if err != nil {
			return err
		}
		s.Meters = newestOf(readings, at)
		return s.drive(tx, at)
	})
	return s, at, err
}

// newestOf are the newest readings of each meter up to an instant.
func newestOf(readings []wear.Odometer, at wear.Instant) (list []wear.Odometer) {
	for _, of := range []wear.Meter{wear.WayMeter, wear.HourMeter} {
		chain := slices.DeleteFunc(wear.Readings(readings, of), func(o wear.Odometer) bool { return o.At > at })
		if n := len(chain); n > 0 {
			list = append(list, chain[n-1])
		}
	}
	return list
}

// drive adds what a page says of the drive: guide set-up, cogs and rings.
func (s *BikePage) drive(tx *store.Tx, at wear.Instant) error {
	c, err := tx.Case(s.Bike.ID, at)
	if err != nil {
		return err
	}
	if s.Setup, err = setupPage(tx, c); err != nil {
		return err
	}
	if cogs, err := wear.CogsOf(c, wear.Default()); err == nil {
		s.Cogs = &cogs
	}
	s.Rings, err = ringsPage(c, s.Setup, s.Findings, nil)
	return err
}

func bikeState(tx *store.Tx, b wear.Bike, at wear.Instant) (BikeState, error) {
	s := BikeState{Bike: b}
	c, err := tx.Case(b.ID, at)
	if err != nil {
		return s, err
	}
	s.Use, s.First, s.Parts = c.Use, c.First, len(c.Parts)
	for _, span := range c.Lines[b.ID] {
		s.Total = s.Total.Add(span.Sums.All())
	}
	s.Findings = wear.Assess(c, wear.Default())
	s.Standing, s.Status = c.Standing()
	return s, nil
}

// ChangeBike changes the figures of a bike; edit gets the bike as it is. Where
// a figure changes that estimates rest on, the estimates of its rides are made
// anew from their originals.
func (d *Desk) ChangeBike(ctx context.Context, name string, edit func(*wear.Bike) error) (b wear.Bike, again int, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		if b, err = tx.FindBike(name); err != nil {
			return err
		}
		before := b
		if err := edit(&b); err != nil {
			return err
		}
		b.Note = plainText(b.Note)
		if b.Name = plainText(b.Name); b.Name == "" {
			return mistake("pawl bike change BIKE --name NAME", "a bike needs a name")
		}
		if reflect.DeepEqual(b, before) {
			return mistake("pawl bike change --help lists what can be changed", "bike %q: nothing to change", b.Name)
		}
		tx.Begin("bike change", before.Name, d.Who)
		if err := tx.ChangeBike(b); err != nil {
			return err
		}
		if b.Wheel != before.Wheel {
			if err := keepWheel(tx, before, b.Wheel, wear.Ever); err != nil {
				return err
			}
		}
		again = 0
		if ingest.ModelOf(before) == ingest.ModelOf(b) {
			return nil
		}
		again, err = reduceAllAnew(tx, b)
		return err
	})
	return b, again, err
}

// reduceAllAnew makes the loads of all rides of a bike anew.
func reduceAllAnew(tx *store.Tx, b wear.Bike) (int, error) {
	var rides []wear.Ride
	for r, err := range tx.Rides(store.RideFilter{Bike: &b.ID, From: wear.Ever, To: wear.Never}) {
		if err != nil {
			return 0, err
		}
		rides = append(rides, r)
	}
	learn := newLearner(tx)
	for _, r := range rides {
		anew, err := learn.anew(r, b)
		if err != nil {
			return 0, err
		}
		if err := anew.put(tx); err != nil {
			return 0, err
		}
	}
	return len(rides), nil
}
