package desk

import (
	"context"
	"math"
	"strconv"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// TripResult is whether bikes will last a trip.
type TripResult struct {
	Today wear.Instant
	Trip  wear.Trip
	Bikes []TripBike
}

// TripBike is one bike on a trip; Lines is nil where it is retired.
type TripBike struct {
	Bike  wear.Bike
	Is    wear.Standing
	Lines []wear.TripLine
}

// WillItLast holds a trip against every job of bikes, all where none is named.
func (d *Desk) WillItLast(ctx context.Context, bikes []string, trip, today string) (res TripResult, err error) {
	planned, err := wear.ParseTrip(trip)
	if err != nil {
		return res, asMistake(err)
	}
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		res = TripResult{Trip: planned}
		if res.Today, err = d.today(today, tx.Zone()); err != nil {
			return err
		}
		list, err := findBikes(tx, bikes)
		if err != nil {
			return err
		}
		for _, b := range list {
			c, err := tx.Case(b.ID, res.Today)
			if err != nil {
				return err
			}
			is, _ := c.Standing()
			res.Bikes = append(res.Bikes, TripBike{b, is, wear.WillItLast(c, wear.Default(), planned)})
		}
		return nil
	})
	return res, err
}

var leadForm = onUse(`^([0-9]{1,3})\s*(d|days?|w|weeks?)?$`)

// leadMost is how far ahead a part is ordered at most, in days.
const leadMost = 366

// ParseLead reads how long a part takes to come, "21d" or "3w", in days; NaN
// where nothing is said.
func ParseLead(text string) (float64, error) {
	if text == "" {
		return math.NaN(), nil
	}
	return ParseDays("lead", text)
}

// ParseDays reads a number of days, "21d" or "3w", up to a year.
func ParseDays(what, text string) (float64, error) {
	m := leadForm().FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return 0, mistake("days or weeks: 21d, 3w", "%s %q: not a time", what, text)
	}
	days, _ := strconv.ParseFloat(m[1], 64) // the form admits numbers only
	if strings.HasPrefix(m[2], "w") {
		days *= 7
	}
	if days < 1 || days > leadMost {
		return 0, mistake("days or weeks: 21d, 3w", "%s %q: not between 1 and %d days", what, text, leadMost)
	}
	return days, nil
}

// ahead is the schedule with another lead time; NaN is its own.
func ahead(lead float64) *wear.Schedule {
	if math.IsNaN(lead) {
		return wear.Default()
	}
	s := *wear.Default()
	s.LeadDays = lead
	return &s
}
