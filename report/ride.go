package report

import (
	"io"
	"strings"

	"pawl/wear"
)

// Ride writes all that is known of one ride to a terminal.
func Ride(w io.Writer, r RideLine, s Style) error {
	p := &page{Style: s}
	ride := r.Ride
	p.painted("", "ride "+ride.ID.String(), p.bold)
	bike := brief(r.Bike, longName)
	if bike == "" {
		bike = "not known yet: it counts nowhere"
	}
	how := ride.Rule.String()
	if ride.Rule == wear.NoRule {
		how = ride.Because
	} else if ride.Because != "" {
		how += ": " + ride.Because
	}
	for _, fact := range [][2]string{
		{"start", s.minute(ride.Start)},
		{"bike", bike + inBrackets(brief(how, longNote))},
		{"file", brief(r.File, longNote)},
		{"title", brief(ride.Title, longNote)},
		{"format", ride.Format.String()},
		{"ground", ride.Ground.String() + markedBy(ride.Marked)},
		{"state", rideState(ride)},
	} {
		if fact[1] != "" {
			p.fact(fact[0], fact[1])
		}
	}
	p.gap()
	for q := range wear.NQuantities {
		p.fact(q.String(), s.split(ride, q))
	}
	if len(ride.Notes) > 0 {
		p.gap()
	}
	for _, note := range ride.Notes {
		p.para("  note: ", brief(note, longNote))
	}
	return p.to(w)
}

func inBrackets(text string) string {
	if text == "" {
		return ""
	}
	return " (" + text + ")"
}

// fact is a line of a name and what is so.
func (p *page) fact(name, text string) {
	p.para("  "+name+strings.Repeat(" ", max(10-width(name), 1)), text)
}

func markedBy(m wear.Marked) string {
	switch m {
	case wear.ByUser:
		return ", marked"
	case wear.ByDefault:
		return ", the bike's usual one of that month"
	}
	return ""
}

// split is an amount and how much of it was recorded.
func (s Style) split(r wear.Ride, q wear.Quantity) string {
	rec, est := r.Recorded.SI(q), r.Estimated.SI(q)
	switch {
	case r.Lacking.Has(q):
		return "not known"
	case est == 0:
		return s.quantity(q, rec) + ", recorded"
	case rec == 0:
		return s.quantity(q, est) + ", estimated"
	}
	return s.quantity(q, rec+est) + ", " + share(rec/(rec+est)) + " recorded, the rest estimated"
}

// RideJSON writes one ride as JSON, with the fields that the list gives it.
func RideJSON(w io.Writer, r RideLine, s Style) error {
	return writeJSON(w, struct {
		envelope
		Ride rideJSON `json:"ride"`
	}{enclose(nil), s.rideJSON(r)})
}
