package report

import "pawl/wear"

// Date is the calendar day of an instant, with its year.
func (s Style) Date(i wear.Instant) string { return s.fullDay(i) }

// Moment is date and time of day of an instant.
func (s Style) Moment(i wear.Instant) string { return s.minute(i) }

// Distance is a way in km or miles.
func (s Style) Distance(metres float64) string { return s.distance(metres) }

// Torque is a torque with its unit, N·m whatever the other units are.
func (s Style) Torque(newtonMetres float64) string { return torque(newtonMetres) }

// Reading is a reading in words.
func (s Style) Reading(r wear.Reading) string { return readingText(r) }
