package desk

import (
	"context"
	"crypto/sha256"
	"fmt"
	"iter"
	"math"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// RideRequest is a ride typed in. NaN is not given.
type RideRequest struct {
	Bike   string
	On     string
	Km     float64
	Climb  float64 // m
	Hours  float64
	Ground wear.Ground
	Title  string
}

// AddRide enters a ride that no device recorded.
func (d *Desk) AddRide(ctx context.Context, req RideRequest) (r wear.Ride, b wear.Bike, err error) {
	if err := req.check(); err != nil {
		return r, b, err
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		bike, at, err := d.bikeAndDay(tx, req.Bike, req.On)
		if err != nil {
			return err
		}
		b = bike
		if r, err = d.typedRide(tx, req, bike, at); err != nil {
			return err
		}
		if req.Ground != wear.Unmarked {
			r.Marked = wear.ByUser
		} else if err := usualGround(tx, &r); err != nil {
			return err
		}
		tx.Begin("ride add", bike.Name, d.Who)
		known, err := tx.AddRide(r, wear.Gears{})
		if err == nil && known {
			err = refusal("two such rides on one day: give each its time, --on 2026-05-17T18:30",
				"ride of bike %q: the same figures are in the book for that day", bike.Name)
		}
		if err == nil {
			err = d.settleRides(tx, []wear.Ride{r})
		}
		return err
	})
	return r, b, err
}

func (r RideRequest) check() error {
	for _, f := range []struct {
		name    string
		v, most float64
	}{{"--km", r.Km, 2000}, {"--climb", r.Climb, 30000}, {"--hours", r.Hours, 72}} {
		if f.v < 0 || f.v > f.most || math.IsInf(f.v, 0) {
			return mistake(fmt.Sprintf("%s is from 0 to %g", f.name, f.most), "%s %g: cannot be meant", f.name, f.v)
		}
	}
	if r.Km/r.Hours > 60 { // not where one of them is not given
		return mistake("check --km and --hours", "%g km in %g hours: %.0f km/h cannot be meant", r.Km, r.Hours, r.Km/r.Hours)
	}
	if r.Km == 0 && !(r.Hours > 0) || r.Hours == 0 && !(r.Km > 0) {
		return mistake("pawl ride add BIKE --on DATE --km 42 --climb 900 --hours 3.1", "a ride of nothing")
	}
	if math.IsNaN(r.Km) && math.IsNaN(r.Hours) {
		return mistake("pawl ride add BIKE --on DATE --km 42 --climb 900 --hours 3.1", "a ride needs --km, --hours or both")
	}
	return nil
}

// typedRide is the ride as it goes into the book. A ride typed for a bare date
// lies at the end of that day, so one started before is not counted as later.
func (d *Desk) typedRide(tx *store.Tx, req RideRequest, b wear.Bike, at wear.Instant) (wear.Ride, error) {
	out, err := d.learnerOf(tx).typed(b, ingest.Given{Km: req.Km, Climb: req.Climb, Descent: math.NaN(), Hours: req.Hours})
	return wear.Ride{
		ID: rideKey(b.ID, at, req.Km, req.Climb, req.Hours, req.Ground), Bike: b.ID, Start: at, Elapsed: out.Elapsed, Ground: req.Ground,
		Rule: wear.Told, Format: wear.Typed, Version: ingest.SumsVersion,
		Recorded: out.Recorded, Estimated: out.Estimated, Lacking: out.Lacking, Notes: out.Notes, Title: plainText(req.Title),
	}, err
}

// rideKey names a ride that no file tells: by bike, moment and figures.
func rideKey(facts ...any) wear.RideID {
	sum := sha256.Sum256(fmt.Append(nil, facts...))
	return wear.RideID(sum[:12])
}

// RideState is a ride and the name of its bike.
type RideState struct {
	Ride wear.Ride
	Bike string // "" = not known yet
	File string // name of the file; "" = typed
}

// Rides hands over rides in order of start, of one bike or of all, while the
// book is open: each must be done with before the next is asked for.
func (d *Desk) Rides(ctx context.Context, bike string, show func(iter.Seq2[RideState, error]) error) error {
	return d.Book.View(ctx, func(tx *store.Tx) error {
		filter := store.RideFilter{From: wear.Ever, To: wear.Never}
		if bike != "" {
			b, err := tx.FindBike(bike)
			if err != nil {
				return err
			}
			filter.Bike = &b.ID
		}
		names, err := bikeNames(tx)
		if err != nil {
			return err
		}
		return show(rideStates(tx, filter, names))
	})
}

// Ride is one ride, by its id as short as it is plain.
func (d *Desk) Ride(ctx context.Context, name string) (s RideState, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		r, err := tx.FindRide(name)
		if err != nil {
			return err
		}
		s = RideState{Ride: r}
		if r.Bike != 0 {
			b, err := tx.Bike(r.Bike)
			if err != nil {
				return err
			}
			s.Bike = b.Name
		}
		if r.File != (wear.Hash{}) {
			file, _, err := tx.File(r.File)
			s.File = file.Name
			return err
		}
		return nil
	})
	return s, err
}

func bikeNames(tx *store.Tx) (map[wear.ID]string, error) {
	bikes, err := tx.Bikes()
	names := make(map[wear.ID]string, len(bikes))
	for _, b := range bikes {
		names[b.ID] = b.Name
	}
	return names, err
}

func rideStates(tx *store.Tx, f store.RideFilter, names map[wear.ID]string) iter.Seq2[RideState, error] {
	return func(yield func(RideState, error) bool) {
		for r, err := range tx.Rides(f) {
			s := RideState{Ride: r, Bike: names[r.Bike]}
			if err == nil && r.File != (wear.Hash{}) {
				var file store.FileFact
				file, _, err = tx.File(r.File)
				s.File = file.Name
			}
			if !yield(s, err) || err != nil {
				return
			}
		}
	}
}

// reduced is a ride whose load was made anew, and where in the gears it went.
type reduced struct {
	wear.Ride
	gears *wear.Gears // nil where no file tells
}

// put writes the ride down.
func (r reduced) put(tx *store.Tx) error {
	if err := tx.ChangeRide(r.Ride); err != nil || r.gears == nil {
		return err
	}
	return tx.ChangeGears(r.ID, *r.gears)
}

// reduceAnew makes the load of a ride from its original with the figures of a
// bike. A typed ride keeps its load; see also [learner.anew].
func reduceAnew(tx *store.Tx, r wear.Ride, b wear.Bike) (reduced, error) {
	if typedIn(r) || r.File == (wear.Hash{}) {
		return reduced{Ride: r}, nil
	}
	t, err := trackOf(tx, r)
	if err != nil {
		return reduced{Ride: r}, err
	}
	m := ingest.ModelOf(b)
	m.Uplift = r.Uplift
	out := ingest.Reduce(t, m)
	r.Recorded, r.Estimated, r.Lacking = out.Recorded, out.Estimated, out.Lacking
	r.Notes, r.Version = out.Notes, ingest.SumsVersion
	return reduced{r, &out.Gears}, nil
}

// trackOf reads a ride from its original.
func trackOf(tx *store.Tx, r wear.Ride) (*ingest.Track, error) {
	raw, err := tx.Original(r.File)
	if err != nil {
		return nil, err
	}
	on := r.Start
	tracks, _, _, err := ingest.Read(raw, ingest.Options{On: &on, Hours: float64(r.Elapsed) / 3.6e6, Salvage: r.Salvaged})
	if err != nil {
		return nil, fmt.Errorf("original of ride %s: %w", r.ID, err)
	}
	for _, t := range tracks {
		if t.Leg == int(r.Leg) {
			return t, nil
		}
	}
	return nil, fmt.Errorf("original of ride %s: holds no leg %d", r.ID, r.Leg)
}
