package wear

import (
	"math"
	"time"
)

// Instant is a moment: milliseconds of UTC since 1970-01-01.
type Instant int64

// Ever is before every fact, Never after every fact: the ends of an open stay.
const (
	Ever  Instant = math.MinInt64
	Never Instant = math.MaxInt64
)

// At is the instant of a time.
func At(t time.Time) Instant { return Instant(t.UnixMilli()) }

// Time is the instant as a time in UTC. It must be neither Ever nor Never.
func (i Instant) Time() time.Time { return time.UnixMilli(int64(i)).UTC() }

// EndOfDay is the last millisecond of the day of t in zone: what a bare date
// means where a fact is dated.
func EndOfDay(t time.Time, zone *time.Location) Instant {
	y, m, d := t.In(zone).Date()
	return StartOfDay(y, m, d+1, zone) - 1
}

// StartOfDay is the first instant of a day in zone, also where the clocks go
// forward at midnight and the day begins at one o'clock.
func StartOfDay(year int, month time.Month, day int, zone *time.Location) Instant {
	noon := time.Date(year, month, day, 12, 0, 0, 0, zone)
	start := time.Date(year, month, day, 0, 0, 0, 0, zone)
	if start.Day() != noon.Day() {
		start = start.Add(time.Hour)
	}
	return At(start)
}

// Day is the length of a day in ms.
const Day = 86_400_000

// DaysSince is the elapsed calendar time from a to b in days.
func (i Instant) DaysSince(a Instant) float64 { return float64(i-a) / Day }
