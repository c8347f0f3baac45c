package desk

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// counted is a number and its noun: "1 ride", "12 rides".
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// startOfDay is the first instant of the day of an instant.
func startOfDay(at wear.Instant, zone *time.Location) wear.Instant {
	y, m, d := at.Time().In(zone).Date()
	return wear.StartOfDay(y, m, d, zone)
}

// leastRest is the least rest between two odometer readings, in cm, that
// becomes a ride: less is the wheel's circumference being set a little wrong.
const leastRest = 50_000

// addOdometer enters a reading of a bike's odometer and settles what lies
// between it and its neighbours.
func addOdometer(tx *store.Tx, bike wear.Bike, o wear.Odometer) (_ wear.Odometer, warning string, err error) {
	before, after, err := neighbours(tx, bike.ID, o.At)
	switch {
	case err != nil:
		return o, "", err
	case before != nil && before.At == o.At && before.Metres == o.Metres:
		return o, "", errSame
	case before != nil && !o.Replaced && o.Metres < before.Metres:
		return o, "", refusal("check the row; a new odometer is told by the word new in a column of that name",
			"the odometer runs back: %s on %s, %s here", km(before.Metres), day(before.At, tx.Zone()), km(o.Metres))
	case after != nil && !after.Replaced && o.Metres > after.Metres:
		return o, "", refusal("check the row", "the odometer runs back: %s here, %s on %s",
			km(o.Metres), km(after.Metres), day(after.At, tx.Zone()))
	}
	if o, err = tx.AddOdometer(o); err != nil {
		return o, "", err
	}
	if o, warning, err = settle(tx, bike, before, o); err != nil || after == nil {
		return o, warning, err
	}
	_, _, err = settle(tx, bike, &o, *after)
	return o, warning, err
}

// neighbours are the readings of a bike next to an instant, nil where there
// is none.
func neighbours(tx *store.Tx, bike wear.ID, at wear.Instant) (before, after *wear.Odometer, err error) {
	list, err := tx.Odometers(bike)
	if err != nil {
		return nil, nil, err
	}
	for _, o := range list {
		switch {
		case o.Void:
		case o.At <= at:
			before = &o
		case after == nil:
			after = &o
		}
	}
	return before, after, nil
}

// settle makes the ride that is left between two readings: the difference
// less the rides that are known. A rest below zero is a question.
func settle(tx *store.Tx, bike wear.Bike, before *wear.Odometer, o wear.Odometer) (_ wear.Odometer, warning string, err error) {
	rest := int64(0)
	if before != nil {
		known, err := knownBetween(tx, bike.ID, *before, o)
		if err != nil {
			return o, "", err
		}
		from := before.Metres
		if o.Replaced {
			from = 0 // a new odometer begins at nought
		}
		rest = (o.Metres-from)*100 - known
		if rest < -leastRest {
			warning = fmt.Sprintf("bike %q: its rides from %s to %s are %s longer than its odometer says: is one of another bike?",
				bike.Name, day(before.At, tx.Zone()), day(o.At, tx.Zone()), km(-rest/100))
		}
	}
	o, err = putRest(tx, bike, o, rest)
	return o, warning, err
}

// knownBetween is the distance in cm of the counted rides between two
// readings, their own rests not among them.
func knownBetween(tx *store.Tx, bike wear.ID, from, to wear.Odometer) (cm int64, err error) {
	filter := store.RideFilter{Bike: &bike, From: from.At + 1, To: to.At + 1}
	for r, err := range tx.Rides(filter) {
		if err != nil {
			return 0, err
		}
		if r.State == wear.Counted && !r.Ground.Indoor() && r.ID != from.Ride && r.ID != to.Ride {
			cm += r.Total()[wear.Distance]
		}
	}
	return cm, nil
}

// putRest makes, changes or takes back the ride that is the rest of a reading.
func putRest(tx *store.Tx, bike wear.Bike, o wear.Odometer, rest int64) (wear.Odometer, error) {
	if rest < leastRest {
		if o.Ride == (wear.RideID{}) {
			return o, nil
		}
		r, err := tx.Ride(o.Ride)
		if err != nil {
			return o, err
		}
		if r.State == wear.Counted {
			r.State = wear.Void
			r.Notes = append(r.Notes, nothingLeft)
		}
		return o, tx.ChangeRide(r)
	}
	r := restRide(bike, o, float64(rest)/1e5)
	if o.Ride != (wear.RideID{}) {
		old, err := tx.Ride(o.Ride)
		if err != nil {
			return o, err
		}
		r.ID, r.Ground, r.Marked = old.ID, old.Ground, old.Marked
		if old.State != wear.Counted && !slices.Contains(old.Notes, nothingLeft) {
			r.State = old.State // the user took it back
		}
		return o, tx.ChangeRide(r)
	}
	if err := usualGround(tx, &r); err != nil {
		return o, err
	}
	if _, err := tx.AddRide(r, wear.Gears{}); err != nil {
		return o, err
	}
	o.Ride = r.ID
	return o, tx.ChangeOdometer(o)
}

// nothingLeft is the note of a rest that the known rides have used up.
const nothingLeft = "the known rides are all that the odometer says"

// isRest reports whether a ride is what an odometer leaves.
func isRest(r wear.Ride) bool {
	return r.Format == wear.Table && strings.HasPrefix(r.Title, restTitle)
}

// restTitle begins the title of such a ride.
const restTitle = "odometer at "

func restRide(bike wear.Bike, o wear.Odometer, distance float64) wear.Ride {
	climb, hours := math.NaN(), math.NaN()
	if o.Climb > 0 {
		climb = float64(o.Climb)
	}
	if o.Minutes > 0 {
		hours = float64(o.Minutes) / 60
	}
	out := ingest.Typed(distance, climb, climb, hours, ingest.ModelOf(bike))
	return wear.Ride{
		ID: ingest.TableRideID(bike.ID, o.At, float64(o.Metres)), Bike: bike.ID, Start: o.At, Elapsed: out.Elapsed,
		Rule: wear.Told, Format: wear.Table, Version: ingest.SumsVersion,
		Recorded: out.Recorded, Estimated: out.Estimated, Lacking: out.Lacking, Notes: out.Notes,
		Title: restTitle + km(o.Metres),
	}
}

// settleRides settles the odometers of the bikes of rides that came, went or
// changed, where they lie between two readings.
func (d *Desk) settleRides(tx *store.Tx, rides []wear.Ride) error {
	type gap struct {
		bike wear.ID
		at   wear.Instant
	}
	done := map[gap]bool{}
	for _, r := range rides {
		if r.Bike == 0 || isRest(r) {
			continue
		}
		before, after, err := neighbours(tx, r.Bike, r.Start-1)
		if err != nil {
			return err
		}
		if before == nil || after == nil || done[gap{r.Bike, after.At}] {
			continue
		}
		done[gap{r.Bike, after.At}] = true
		bike, err := tx.Bike(r.Bike)
		if err != nil {
			return err
		}
		_, warning, err := settle(tx, bike, before, *after)
		if err != nil {
			return err
		}
		if warning != "" {
			d.Warnings = append(d.Warnings, warning)
		}
	}
	return nil
}

func km(metres int64) string { return fmt.Sprintf("%.1f km", float64(metres)/1000) }

func day(at wear.Instant, zone *time.Location) string { return at.Time().In(zone).Format(dateForm) }
