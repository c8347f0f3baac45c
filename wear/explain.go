package wear

// Anchor is the moment that a job counts from, and why.
type Anchor struct {
	At    Instant // Ever = from the bike's first ride on
	Why   string  // after "since": "it was fitted", "the last sign-off of clean", "ring-2 was fitted", …
	First bool    // the first check after a fit is still open
}

// GroundUse is what one ground adds to a count since the anchor.
type GroundUse struct {
	Ground Ground
	Rides  int64
	Amount float64 // in the count's unit, as ridden
	Factor float64 // of the kind for this ground, motor included
	Used   float64 // Amount × Factor
}

// CountLine is one count of a job.
type CountLine struct {
	By          string // turns, moving, days, …
	Unit        string
	Used, Limit float64
	Share       float64
	Data        Data
	Grounds     []GroundUse // empty for days
	Decides     bool
	Formula     string // of a derived count: "turns × 32 / 14"
}

// StayUse is what a part did on one stay: all of it, in SI units and unweighted.
type StayUse struct {
	Stay    Stay
	Sum     Sum
	Opening bool // the stay began with an opening figure, not part of Sum
}

// Recent is how the bike was ridden lately, in the unit of the deciding count.
type Recent struct {
	Days   float64 // the calendar time looked at
	Used   float64 // weighted like the count
	PerDay float64
	Unit   string
	Last   Instant // start of the last ride; Ever = none
}

// Explanation is how the figure of one finding came about.
type Explanation struct {
	Finding  Finding
	Rule     string // "after 1 ride of 1 h, at the latest 5 h, then every 25 h"
	Anchor   Anchor
	Counts   []CountLine // of the job, or for a reading what the rate rests on
	Stays    []StayUse   // the part's life
	Life     Load        // all stays and opening figures together, unweighted
	Readings []Reading   // that count, oldest first
	Looks    []Look
	SignOffs []SignOff // of this job
	Recent   Recent
	Forecast *Forecast // of a part that can be measured; nil for every other job
	Method   string    // how the date came
	How      []string  // each step of left and date in words
	Changes  []string  // what would change the verdict
}
