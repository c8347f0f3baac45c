package wear

import (
	"iter"
	"time"
)

// Span is the time from one dated fact of a bike to the next, and what the
// counted rides that start in it amount to.
type Span struct {
	From Instant // inclusive; Ever for the first
	Sums Sums
	Ring int // teeth of the ring then on the bike; 0 = none or not known
	Onset

	Cogs  []int   // of the cassette then on the bike, smallest first; none = not known
	Wheel float64 // m, rolling circumference; 0 = not given
	Gears Gears   // as Gears.Told has them, of the rides that start in it
}

// Onset is how a span begins: when a first check after work falls due can only
// be told ride by ride. Both are ms of moving time of counted outdoor rides.
type Onset struct {
	First  int64 // of the first ride; 0 = there is none
	ToLong int64 // of all rides up to the first long one, and with it; 0 = none is
}

// onsetMost is how far into a span a long ride is looked for, in ms: by then
// the hours alone have made any first check due.
const onsetMost = 24 * LongRide

// OnsetOf is the onset of a span whose rides come in order of start. It reads
// no further than it needs.
func OnsetOf(rides iter.Seq[Ride]) Onset {
	var o Onset
	var total int64
	for r := range rides {
		moving := r.Total()[Moving]
		if r.State != Counted || r.Ground.Indoor() || moving <= 0 {
			continue
		}
		if o.First == 0 {
			o.First = moving
		}
		if total += moving; moving >= LongRide {
			o.ToLong = total
			return o
		}
		if total > onsetMost {
			return o
		}
	}
	return o
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

	// Weeks are what each week with a ride came to, oldest first, of those that
	// WeekTells, the running one included: newer weeks weigh more, and the same
	// season a year ago counts. None where only Sums is known: then all of Days
	// weigh alike.
	Weeks []Week
}

// WeekTells reports whether the week so many before the running one, which is 0,
// tells how a bike is ridden: the last twelve, and the season that followed the same
// day a year ago.
func WeekTells(ago int) bool {
	return ago >= 0 && ago <= paceWeeks || ago >= paceYear-paceWeeks && ago < paceYear
}

// Week is what a bike did in the seven days from an instant on.
type Week struct {
	From Instant
	Sums Sums
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
	First     Instant        // start of the bike's first counted ride; Ever = none
	Zone      *time.Location // the book's, in which notes say a day; nil = UTC
}
