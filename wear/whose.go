package wear

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
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
// it was found, and what of it decided or why nothing did.
type Whose struct {
	Bike    ID
	Rule    Rule
	Because string
}

// Whose finds the bike of a ride: by the sensors bolted to it, the recording
// device's own name for it, the user's matches, or because there is no other.
// A bike that was retired by then is not asked about. Sensors of two bikes, or
// matches as narrow of two bikes, leave the ride without one.
func (s *Signs) Whose(c Clues) Whose {
	bikes := s.ridden(c.At)
	bySensor, doubt := s.bySensor(c, bikes)
	if bySensor != (Whose{}) {
		return bySensor
	}
	for _, b := range bikes {
		if sameName(c.Profile, b.Name) {
			return Whose{b.ID, ByProfile, fmt.Sprintf("profile %q", c.Profile)}
		}
	}
	byMatch := s.byMatch(c, bikes)
	switch {
	case byMatch != (Whose{}):
		return byMatch
	case doubt != "":
		return Whose{Because: doubt}
	case len(bikes) == 1:
		return Whose{Bike: bikes[0].ID, Rule: OnlyBike}
	case len(bikes) == 0:
		return Whose{Because: "there was no bike then"}
	}
	return Whose{Because: "nothing in the file tells which of " + fmt.Sprint(len(bikes)) + " bikes"}
}

// ridden are the bikes that were not retired at an instant.
func (s *Signs) ridden(at Instant) []Candidate {
	return slices.DeleteFunc(slices.Clone(s.Bikes), func(b Candidate) bool { return b.Retired <= at })
}

// bySensor asks the sensors bolted to the bike. Doubt is what a sensor that
// speaks for two bikes says.
func (s *Signs) bySensor(c Clues, bikes []Candidate) (w Whose, doubt string) {
	votes := map[ID][]string{}
	var order []ID
	for _, key := range witnesses(c.Sensors, c.Indoor) {
		for _, b := range s.speaksFor(key, c, bikes) {
			if votes[b.ID] == nil {
				order = append(order, b.ID)
			}
			votes[b.ID] = append(votes[b.ID], key.String())
		}
		if doubt == "" {
			doubt = s.doubtOf(key, c, bikes)
		}
	}
	switch len(order) {
	case 0:
		return Whose{}, doubt
	case 1:
		return Whose{order[0], BySensor, strings.Join(votes[order[0]], ", ")}, ""
	}
	said := make([]string, len(order))
	for i, id := range order {
		said[i] = strings.Join(votes[id], ", ") + " of " + nameOf(bikes, id)
	}
	return Whose{Because: "its sensors are of two bikes: " + strings.Join(said, ", ")}, ""
}

// speaksFor is the bike of a sensor: what the user matched last, else the only
// bike of which rides told it. A sensor of two bikes speaks for none.
func (s *Signs) speaksFor(key SensorKey, c Clues, bikes []Candidate) []Candidate {
	if m := s.sensorMatch(key, c); m != nil {
		return slices.DeleteFunc(slices.Clone(bikes), func(b Candidate) bool { return b.ID != m.Bike })
	}
	told := s.told(key, bikes)
	if len(told) == 1 {
		return told
	}
	return nil
}

func (s *Signs) told(key SensorKey, bikes []Candidate) []Candidate {
	return slices.DeleteFunc(slices.Clone(bikes), func(b Candidate) bool { return s.Told[key][b.ID] == 0 })
}

// sensorMatch is the latest match of a sensor alone; nil where there is none.
func (s *Signs) sensorMatch(key SensorKey, c Clues) (last *BikeMatch) {
	for i := range s.Matches {
		m := &s.Matches[i]
		if n, _ := m.breadth(); n != 1 || m.Sensor == "" || m.From > c.At || !key.Names(m.Sensor) {
			continue
		}
		if last == nil || cmp.Or(cmp.Compare(m.From, last.From), cmp.Compare(m.ID, last.ID)) > 0 {
			last = m
		}
	}
	return last
}

// doubtOf says for which bikes a sensor speaks that was told of two.
func (s *Signs) doubtOf(key SensorKey, c Clues, bikes []Candidate) string {
	told := s.told(key, bikes)
	if len(told) < 2 || s.sensorMatch(key, c) != nil {
		return ""
	}
	return s.Doubt(key, told)
}

// Doubt says how many rides speak for which bike of a sensor.
func (s *Signs) Doubt(key SensorKey, bikes []Candidate) string {
	said := make([]string, len(bikes))
	for i, b := range bikes {
		said[i] = fmt.Sprintf("%s (%s)", b.Name, countRides(s.Told[key][b.ID]))
	}
	return fmt.Sprintf("%s was on two bikes: %s", key, strings.Join(said, " and "))
}

// Torn lists the sensors of a ride that rides of two bikes now speak for, each
// with the rides that do: questions that only the user can answer.
func (s *Signs) Torn(c Clues) (doubts []string) {
	bikes := s.ridden(c.At)
	for _, key := range witnesses(c.Sensors, c.Indoor) {
		if doubt := s.doubtOf(key, c, bikes); doubt != "" {
			doubts = append(doubts, doubt)
		}
	}
	return doubts
}

func countRides(n int) string {
	if n == 1 {
		return "1 ride"
	}
	return fmt.Sprintf("%d rides", n)
}

// byMatch asks the matches: the one with the most conditions wins, of those the
// one of the deepest folder; as narrow ones of two bikes leave the ride without.
func (s *Signs) byMatch(c Clues, bikes []Candidate) Whose {
	var best []BikeMatch
	for _, m := range s.Matches {
		if m.From > c.At || !m.holds(c) || nameOf(bikes, m.Bike) == "" {
			continue
		}
		switch narrower := compareBreadth(m, best); {
		case narrower > 0:
			best = []BikeMatch{m}
		case narrower == 0:
			best = append(best, m)
		}
	}
	if len(best) == 0 {
		return Whose{}
	}
	for _, m := range best[1:] {
		if m.Bike != best[0].Bike {
			return Whose{Because: fmt.Sprintf("two matches: %s of %s and %s of %s",
				best[0].Match, nameOf(bikes, best[0].Bike), m.Match, nameOf(bikes, m.Bike))}
		}
	}
	return Whose{best[0].Bike, ByMatch, best[0].Match.String()}
}

// compareBreadth is above 0 where m is narrower than the best until now.
func compareBreadth(m BikeMatch, best []BikeMatch) int {
	if len(best) == 0 {
		return 1
	}
	n, depth := m.breadth()
	bestN, bestDepth := best[0].breadth()
	return cmp.Or(n-bestN, depth-bestDepth)
}

func nameOf(bikes []Candidate, id ID) string {
	for _, b := range bikes {
		if b.ID == id {
			return b.Name
		}
	}
	return ""
}
