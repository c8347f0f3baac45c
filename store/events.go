package store

import (
	"fmt"
	"slices"

	"pawl/wear"
)

// What happens to a bike as a whole; a part's own facts are in dated.go.
var (
	incidents = dated[wear.Incident]{bktIncidents, "incident", func(i *wear.Incident) head {
		return head{&i.ID, &i.Bike, nil, &i.At, &i.Void}
	}}
	statuses = dated[wear.Status]{bktStatuses, "status", func(s *wear.Status) head {
		return head{&s.ID, &s.Bike, nil, &s.At, &s.Void}
	}}
	odometers = dated[wear.Odometer]{bktOdometers, "odometer reading", func(o *wear.Odometer) head {
		return head{&o.ID, &o.Bike, nil, &o.At, &o.Void}
	}}
	setups = dated[wear.GuideSetup]{bktSetups, "guide set-up", func(g *wear.GuideSetup) head {
		return head{&g.ID, &g.Bike, nil, &g.At, &g.Void}
	}}
	visits = dated[wear.Visit]{bktVisits, "visit", func(v *wear.Visit) head {
		return head{&v.ID, &v.Bike, nil, &v.At, &v.Void}
	}}
	turnRounds = dated[wear.TurnRound]{bktTurns, "turn-round", func(r *wear.TurnRound) head {
		return head{&r.ID, &r.Bike, nil, &r.At, &r.Void}
	}}
)

// AddIncident adds what happened to a bike, or to one part of it, and gives it
// its ID. It begins a span: counts can start from it.
func (t *Tx) AddIncident(i wear.Incident) (wear.Incident, error) {
	if !slices.Contains(wear.Happenings, i.What) {
		return i, &ConflictError{"incident", string(i.What), "not a thing that happens", fmt.Sprintf("one of %v", wear.Happenings)}
	}
	if i.Part != 0 {
		if _, err := t.Part(i.Part); err != nil {
			return i, err
		}
	}
	return incidents.add(t, i)
}

// VoidIncident takes an incident back; it stays in the history.
func (t *Tx) VoidIncident(bike wear.ID, id uint64) error { return incidents.void(t, bike, id) }

// Incidents returns all incidents of a bike, those taken back included, by
// instant, then ID.
func (t *Tx) Incidents(bike wear.ID) ([]wear.Incident, error) { return incidents.of(t, bike) }

// AddStatus adds a change of a bike's standing and gives it its ID.
func (t *Tx) AddStatus(s wear.Status) (wear.Status, error) {
	known := []wear.Standing{wear.InService, wear.Held, wear.Retired}
	if !slices.Contains(known, s.Is) {
		return s, &ConflictError{"standing", string(s.Is), "not known", fmt.Sprintf("one of %v", known)}
	}
	if s.Until != 0 && s.Until <= s.At {
		return s, &ConflictError{"standing", string(s.Is), "would end before it begins", "check both dates"}
	}
	return statuses.add(t, s)
}

// VoidStatus takes a change of standing back.
func (t *Tx) VoidStatus(bike wear.ID, id uint64) error { return statuses.void(t, bike, id) }

// Statuses returns all changes of a bike's standing, those taken back included,
// by instant, then ID.
func (t *Tx) Statuses(bike wear.ID) ([]wear.Status, error) { return statuses.of(t, bike) }

// AddOdometer adds a reading of a bike's odometer and gives it its ID. Whether
// it fits its neighbours is for the caller to ask.
func (t *Tx) AddOdometer(o wear.Odometer) (wear.Odometer, error) {
	if err := t.metered(o); err != nil {
		return o, err
	}
	return odometers.add(t, o)
}

// ChangeOdometer replaces a reading of an odometer.
func (t *Tx) ChangeOdometer(o wear.Odometer) error {
	if err := t.metered(o); err != nil {
		return err
	}
	return odometers.change(t, o)
}

// metered refuses odometers and hour meters that show less than nothing.
func (t *Tx) metered(o wear.Odometer) error {
	shown := []int64{o.Metres, o.Climb, o.Minutes, o.Ran, o.Began}
	if slices.Min(shown) < 0 || slices.Max(shown) > most || o.Of > wear.HourMeter {
		return &ConflictError{"odometer of", t.bikeName(o.Bike), fmt.Sprintf("%d m, climb %d m, %d min: absurd", o.Metres, o.Climb, max(o.Minutes, o.Ran)), "read it again"}
	}
	return nil
}

// VoidOdometer takes a reading of an odometer back.
func (t *Tx) VoidOdometer(bike wear.ID, id uint64) error { return odometers.void(t, bike, id) }

// Odometers returns all readings of a bike's odometer, those taken back
// included, by instant, then ID.
func (t *Tx) Odometers(bike wear.ID) ([]wear.Odometer, error) { return odometers.of(t, bike) }

// AddSetup adds what was set, measured or checked on a bike's chain guide and
// gives it its ID.
func (t *Tx) AddSetup(g wear.GuideSetup) (wear.GuideSetup, error) {
	if err := g.Check(); err != nil {
		return g, &ConflictError{"guide set-up of", t.bikeName(g.Bike), err.Error(), "check the figure"}
	}
	return setups.add(t, g)
}

// VoidSetup takes a set-up back; it stays in the history.
func (t *Tx) VoidSetup(bike wear.ID, id uint64) error { return setups.void(t, bike, id) }

// Setups returns all set-ups of a bike's guide, those taken back included, by
// instant, then ID.
func (t *Tx) Setups(bike wear.ID) ([]wear.GuideSetup, error) { return setups.of(t, bike) }

// AddVisit adds a day on which a bike comes to the workshop and gives it its ID.
func (t *Tx) AddVisit(v wear.Visit) (wear.Visit, error) { return visits.add(t, v) }

// VoidVisit takes a visit back; it stays in the history.
func (t *Tx) VoidVisit(bike wear.ID, id uint64) error { return visits.void(t, bike, id) }

// Visits returns all visits of a bike, those taken back included, by instant,
// then ID.
func (t *Tx) Visits(bike wear.ID) ([]wear.Visit, error) { return visits.of(t, bike) }

// AddTurnRound adds the check of a bike between two hires and gives it its ID.
func (t *Tx) AddTurnRound(r wear.TurnRound) (wear.TurnRound, error) { return turnRounds.add(t, r) }

// VoidTurnRound takes one back; it stays in the history.
func (t *Tx) VoidTurnRound(bike wear.ID, id uint64) error { return turnRounds.void(t, bike, id) }

// TurnRounds returns all of a bike, those taken back included, by instant, then ID.
func (t *Tx) TurnRounds(bike wear.ID) ([]wear.TurnRound, error) { return turnRounds.of(t, bike) }
