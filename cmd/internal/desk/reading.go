package desk

import (
	"context"
	"errors"
	"math"
	"strconv"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// MeterRequest is what the meters of a bike show on a day, typed in.
type MeterRequest struct {
	Bike, On     string
	Odometer     string // "1234km" or "767mi"; "" = not read
	HourMeter    string // "96h" or "96:30"; "" = not read
	NewOdometer  bool   // this is the first reading of a new one
	NewHourMeter bool
	BeganAt      string  // what the new odometer showed when it was fitted; "" = nothing
	Climb        float64 // m since the reading before; NaN = not given
	Hours        float64 // ridden since the reading before; NaN = not given
}

// MeterResult is what came of a reading.
type MeterResult struct {
	Bike     wear.Bike
	Readings []wear.Odometer
	Rides    []wear.Ride // what was left between this and its neighbours; none after a first reading
	First    bool        // nothing was read before it
}

// AddMeters enters what the meters of a bike show. What they counted since the
// reading before, less the rides that are known, becomes a ride.
func (d *Desk) AddMeters(ctx context.Context, req MeterRequest) (res MeterResult, err error) {
	readings, err := req.readings()
	if err != nil {
		return res, err
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		bike, at, err := d.bikeAndDay(tx, req.Bike, req.On)
		if err != nil {
			return err
		}
		res = MeterResult{Bike: bike}
		for _, o := range readings {
			o.Bike, o.At = bike.ID, at
			res.Readings = append(res.Readings, o)
		}
		tx.Begin("ride add", bike.Name, d.Who)
		m, err := d.metersOf(tx, bike)
		if err != nil {
			return err
		}
		rests, err := m.add(res.Readings...)
		if errors.Is(err, errSame) {
			return refusal("nothing is to be entered", "%s of bike %q: that reading is in the book", meterNoun(readings[0]), bike.Name)
		}
		if err != nil {
			return err
		}
		d.Warnings = append(d.Warnings, m.warnings...)
		first := wear.Readings(m.list, readings[0].Of)[0]
		res.First = first.At == at
		for _, id := range distinct(rests) {
			r, err := tx.Ride(id)
			if err != nil {
				return err
			}
			res.Rides = append(res.Rides, r)
		}
		return nil
	})
	return res, err
}

const meterTip = "pawl ride add BIKE --odometer 1234km --hour-meter 96h --on DATE"

// readings are the facts of the request, without bike and day.
func (r MeterRequest) readings() (list []wear.Odometer, err error) {
	if r.Odometer != "" {
		o := wear.Odometer{Replaced: r.NewOdometer, Climb: wholeOrNone(r.Climb), Minutes: wholeOrNone(60 * r.Hours)}
		if o.Metres, err = parseOdometer("odometer", r.Odometer); err != nil {
			return nil, err
		}
		if r.BeganAt != "" {
			if o.Began, err = parseOdometer("began-at", r.BeganAt); err != nil {
				return nil, err
			}
		}
		list = append(list, o)
	}
	if r.HourMeter != "" {
		h := wear.Odometer{Of: wear.HourMeter, Replaced: r.NewHourMeter}
		if h.Ran, err = parseHourMeter(r.HourMeter); err != nil {
			return nil, err
		}
		if r.Odometer == "" {
			h.Climb = wholeOrNone(r.Climb)
		}
		list = append(list, h)
	}
	return list, r.check()
}

// check refuses words that belong to a meter that was not read.
func (r MeterRequest) check() error {
	switch {
	case r.Odometer == "" && (r.NewOdometer || r.BeganAt != ""):
		return mistake("pawl ride add BIKE --odometer 12km --new-odometer", "--new-odometer and --began-at belong to --odometer")
	case r.BeganAt != "" && !r.NewOdometer:
		return mistake("pawl ride add BIKE --odometer 5012km --new-odometer --began-at 5000km", "--began-at belongs to --new-odometer")
	case r.HourMeter == "" && r.NewHourMeter:
		return mistake("pawl ride add BIKE --hour-meter 2h --new-hour-meter", "--new-hour-meter belongs to --hour-meter")
	case r.HourMeter != "" && r.Hours > 0:
		return mistake(meterTip, "--hours are ridden, --hour-meter is what the meter shows: give one of them")
	case r.Climb < 0 || r.Climb > 100_000 || r.Hours < 0 || r.Hours > 2000:
		return mistake(meterTip, "climb or hours since the reading before: cannot be meant")
	}
	return nil
}

func wholeOrNone(x float64) int64 {
	if !(x > 0) {
		return 0
	}
	return int64(math.Round(x))
}

var (
	odometerForm  = onUse(`^([0-9]+(?:\.[0-9]+)?)\s*(km|mi|)$`)
	hourMeterForm = onUse(`^([0-9]+(?:\.[0-9]+)?)(?::([0-5][0-9]))?\s*h?$`)
)

// The most that a meter can show.
const (
	mostOdometer  = 500_000 // km
	mostHourMeter = 100_000 // h
)

// parseOdometer reads what an odometer shows, in metres; a mile is the
// international one. Without a unit it is km.
func parseOdometer(flag, text string) (int64, error) {
	m := odometerForm().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0, mistake("write what the odometer shows as 1234km, 1234.5km or 767mi", "--%s %q: not understood", flag, text)
	}
	v, _ := strconv.ParseFloat(m[1], 64) // the form admits numbers only
	if m[2] == "mi" {
		v *= 1.609344
	}
	if v > mostOdometer {
		return 0, mistake("read it again", "--%s %q: more than %d km cannot be meant", flag, text, mostOdometer)
	}
	return int64(math.Round(1000 * v)), nil
}

// parseHourMeter reads what an hour meter shows, in minutes.
func parseHourMeter(text string) (int64, error) {
	m := hourMeterForm().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil || m[2] != "" && strings.Contains(m[1], ".") {
		return 0, mistake("write what the hour meter shows as 96h, 96.5h or 96:30", "--hour-meter %q: not understood", text)
	}
	v, _ := strconv.ParseFloat(m[1], 64) // the form admits numbers only
	minutes, _ := strconv.Atoi(m[2])     // "" is none
	if v > mostHourMeter {
		return 0, mistake("read it again", "--hour-meter %q: more than %d h cannot be meant", text, mostHourMeter)
	}
	return int64(math.Round(60*v)) + int64(minutes), nil
}
