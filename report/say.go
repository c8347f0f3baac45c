package report

import "pawl/wear"

// Date is the calendar day of an instant, with its year.
func (s Style) Date(i wear.Instant) string { return s.fullDay(i) }

// Moment is date and time of day of an instant.
func (s Style) Moment(i wear.Instant) string { return s.minute(i) }

// Distance is a way in km or miles.
func (s Style) Distance(metres float64) string { return s.distance(metres) }

// Meter is what a reading of a meter shows: "odometer 1,234 km".
func (s Style) Meter(o wear.Odometer) string {
	if o.Of == wear.HourMeter {
		return "hour meter " + hours(60*float64(o.Ran))
	}
	return "odometer " + s.distance(float64(o.Metres))
}

// Torque is a torque with its unit, N·m whatever the other units are.
func (s Style) Torque(newtonMetres float64) string { return torque(newtonMetres) }

// Count is a number and its noun, in the plural but for one.
func Count(n int, noun string) string { return plural(n, noun, noun+"s") }

// Entries is a number of entries.
func Entries(n int) string { return plural(n, "entry", "entries") }

// Reading is a reading in words.
func (s Style) Reading(r wear.Reading) string { return readingText(r) }
