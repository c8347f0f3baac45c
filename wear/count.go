package wear

import (
	"math"
	"strconv"
	"strings"
)

// CountOf is what a count of a job counts: a quantity of the rides, their
// number, days, or something derived from turns and teeth.
type CountOf uint8

// What can be counted.
const (
	CountTurns CountOf = iota
	CountHours
	CountKm
	CountBraking
	CountRides
	CountLong // rides of LongRide or more
	CountDays
	CountIdler    // turns × ring / idler
	CountPulley   // turns × ring / pulley
	CountContacts // of the busiest cog's teeth: turns × share × ring / cog
	nCounts
)

type countKind struct {
	key   string  // in the schedule's TOML
	unit  string  // in findings, SI
	scale float64 // from TOML to unit
	of    Quantity
	words string // after the figure as the TOML gives it
}

var countKinds = [nCounts]countKind{
	CountTurns:    {"turns", "turns", 1, Turns, "turns of the crank"},
	CountHours:    {"hours", "s", 3600, Moving, "h"},
	CountKm:       {"km", "m", 1000, Distance, "km"},
	CountBraking:  {"MJ", "J", 1e6, Braking, "MJ of braking"},
	CountRides:    {"rides", "rides", 1, NQuantities, "ride"},
	CountLong:     {"long_rides", "rides", 1, NQuantities, "ride of 1 h"},
	CountDays:     {"days", "days", 1, NQuantities, "days"},
	CountIdler:    {"idler_turns", "idler turns", 1, Turns, "turns of the idler"},
	CountPulley:   {"pulley_turns", "pulley turns", 1, Turns, "turns of the pulley"},
	CountContacts: {"contacts", "contacts", 1, Turns, "contacts of a tooth"},
}

// String is the count's key in the schedule.
func (c CountOf) String() string { return countKinds[c].key }

// Unit is the unit of the count in findings.
func (c CountOf) Unit() string { return countKinds[c].unit }

// Derived reports whether the count is made from turns and teeth.
func (c CountOf) Derived() bool { return c >= CountIdler }

// Count is a limit on a count.
type Count struct {
	Of    CountOf
	Limit float64 // in Of.Unit()
}

// String says the count: "25,000 turns of the crank", "5 h", "1 ride of 1 h".
func (c Count) String() string {
	k := countKinds[c.Of]
	n := c.Limit / k.scale
	words := k.words
	if n != 1 && strings.HasPrefix(words, "ride") {
		words = "rides" + words[len("ride"):]
	}
	return Thousands(n) + " " + words
}

// about says an amount of a count as a person would: turns whole, hours and
// kilometres to a tenth.
func about(of CountOf, v float64) string {
	k := countKinds[of]
	n := v / k.scale
	if k.scale == 1 || math.Abs(n) >= 100 {
		n = math.Round(n)
	}
	return Count{of, math.Round(n*10) / 10 * k.scale}.String()
}

// Thousands writes a figure with commas and no more decimals than it has, at
// most two.
func Thousands(v float64) string {
	s := strconv.FormatFloat(math.Round(math.Abs(v)*100)/100, 'f', -1, 64)
	whole, rest, found := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if found {
		whole += "." + rest
	}
	if v < 0 && s != "0" {
		whole = "-" + whole
	}
	return whole
}

// sayCounts joins counts of which the first reached decides.
func sayCounts(cs []Count, or string) string {
	words := make([]string, len(cs))
	for i, c := range cs {
		words[i] = c.String()
	}
	return strings.Join(words, or)
}
