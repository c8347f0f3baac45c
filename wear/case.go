package wear

import "time"

// Span is the time from one dated fact of a bike to the next, and what the
// counted rides that start in it amount to.
type Span struct {
	From Instant // inclusive; Ever for the first
	Sums Sums
	Ring int // teeth of the ring then on the bike; 0 = none or not known
}

// Timeline is a bike's spans in order of time, without gaps; the last is open.
type Timeline []Span

// PartCase is one part and all that is known of it up to the day of the case.
type PartCase struct {
	Part     Part
	On       string // the name of the wheel that carries it today; "" = it sits on the bike itself
	Stays    []Stay // in order of time
	Readings []Reading
	Looks    []Look
	SignOffs []SignOff
}

// Use is how a bike was ridden lately.
type Use struct {
	Sums Sums
	Days float64 // the calendar time that Sums cover; 0 = no rides yet
	Last Instant // start of the last counted ride; Ever = none
}

// Case is all that a verdict on one bike rests on: no fact dated after Today.
type Case struct {
	Bike      Bike
	Today     Instant
	Parts     []PartCase      // on the bike today, in order of kind, then name
	Past      []PartCase      // earlier parts of the bike (for "each new chain", "third worn chain")
	Lines     map[ID]Timeline // of this bike and of every bike that a part of it was on
	Use       Use
	Incidents []Incident     // of the bike, oldest first
	Statuses  []Status       // of the bike, oldest first
	Settings  []Setting      // that hold for this bike or its parts, widest scope first, then oldest first
	Gears     Gears          // where in the gears the bike's turns went, of all counted rides that tell
	First     Instant        // start of the bike's first counted ride; Ever = none
	Zone      *time.Location // the book's, in which notes say a day; nil = UTC
}
