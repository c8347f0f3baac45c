package report

import (
	"time"

	"pawl/wear"
)

// day is the calendar day of an instant, without the year where that is the
// year of today.
func (s Style) day(i, today wear.Instant) string {
	if i == wear.Ever || i == wear.Never {
		return unknown
	}
	t := i.Time().In(s.zone())
	if today != wear.Ever && t.Year() == today.Time().In(s.zone()).Year() {
		return t.Format("2 Jan")
	}
	return t.Format("2 Jan 2006")
}

// fullDay is the calendar day of an instant with its year.
func (s Style) fullDay(i wear.Instant) string { return s.day(i, wear.Ever) }

// minute is date and time of day of an instant.
func (s Style) minute(i wear.Instant) string {
	if i == wear.Ever || i == wear.Never {
		return unknown
	}
	return i.Time().In(s.zone()).Format("2006-01-02 15:04")
}

// stay tells when a part came and went: "fitted 3 Mar 2026 – now".
func (s Style) stay(from, to wear.Instant) string {
	out := "came with the bike"
	if from != wear.Ever {
		out = "fitted " + s.fullDay(from)
	}
	if to == wear.Never {
		return out + " – now"
	}
	return out + " – " + s.fullDay(to)
}

// isoDay is the calendar day in ISO 8601, nil at either end of time.
func isoDay(i wear.Instant, zone *time.Location) *string {
	return iso(i, zone, time.DateOnly)
}

// isoTime is the instant in ISO 8601 with its offset, nil at either end of time.
func isoTime(i wear.Instant, zone *time.Location) *string {
	return iso(i, zone, time.RFC3339)
}

func iso(i wear.Instant, zone *time.Location, layout string) *string {
	if i == wear.Ever || i == wear.Never {
		return nil
	}
	text := i.Time().In(zone).Format(layout)
	return &text
}

// dayOf is the day of an instant, as 2026-11-03.
func (s Style) dayOf(at wear.Instant) string { return s.minute(at)[:len("2006-01-02")] }
