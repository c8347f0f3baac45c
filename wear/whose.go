package wear

import (
	"cmp"
	"fmt"
	"slices"
)

// Clues are what a file tells of the bike that was ridden.
type Clues struct {
	At      Instant // start of the ride
	Folder  string  // where the file lay, with slashes
	File    string  // its name
	Device  Sensor
	Sensors []Sensor
	Profile string
	Indoor  bool
}

// Candidate is a bike that a ride may be of.
type Candidate struct {
	ID      ID
	Name    string
	Retired Instant // from here on it is ridden no more; Never = it still is
}

// BikeMatch is a match in force.
type BikeMatch struct {
	Match
	ID   uint64
	Bike ID
	From Instant // for rides from here on
}

// Signs are what a book knows to tell bikes by.
type Signs struct {
	Bikes   []Candidate
	Matches []BikeMatch
	// Told is, of each sensor bolted to a bike, how many rides whose bike the
	// user named speak for which bike.
	Told map[SensorKey]map[ID]int
}

// Whose is the bike of a ride, 0 where it fits none or two, the rule by which
// it was found, and what of it decided or why nothing did; no word where nothing
// in the file tells.
type Whose struct {
	Bike    ID
	Rule    Rule
	Because string
}

// Whose finds the bike of a ride: by the sensors bolted to it, the recording
// device's own name for it, the user's matches, or because there is no other.
// A match of a sensor or a profile alone says what that sensor or name is, and
// stands where they do. A bike that was retired by then is not asked about.
// Sensors of two bikes, or matches as narrow of two bikes, leave the ride
// without one. The order of the lists does not matter.
func (s *Signs) Whose(c Clues) Whose {
	bikes := s.ridden(c.At)
	bySensor, doubt := s.bySensor(c, bikes)
	for _, w := range []Whose{bySensor, s.byProfile(c, bikes), s.byMatch(c, bikes)} {
		if w != (Whose{}) {
			return w
		}
	}
	switch {
	case doubt != "":
		return Whose{Because: doubt}
	case len(bikes) == 1:
		return Whose{Bike: bikes[0].ID, Rule: OnlyBike}
	case len(bikes) == 0:
		return Whose{Because: "there was no bike then"}
	}
	return Whose{Because: fmt.Sprintf("nothing in the file tells which of %d bikes", len(bikes))}
}

// ridden are the bikes that were not retired at an instant, by their IDs.
func (s *Signs) ridden(at Instant) []Candidate {
	bikes := make([]Candidate, 0, len(s.Bikes))
	for _, b := range s.Bikes {
		if at < b.Retired {
			bikes = append(bikes, b)
		}
	}
	slices.SortFunc(bikes, byID)
	return bikes
}

func byID(a, b Candidate) int { return cmp.Compare(a.ID, b.ID) }

// only are the bikes for which something holds.
func only(bikes []Candidate, holds func(Candidate) bool) []Candidate {
	var list []Candidate
	for _, b := range bikes {
		if holds(b) {
			list = append(list, b)
		}
	}
	return list
}
