package wear

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// bySensor asks the sensors bolted to the bike. Doubt is what one says that
// speaks for two bikes, or for one that was retired: it keeps the ride from the
// only bike where nothing else tells.
func (s *Signs) bySensor(c Clues, bikes []Candidate) (w Whose, doubt string) {
	votes := map[ID][]string{}
	retired := ""
	for _, key := range bolted(c.Sensors) {
		switch of := s.bikesOf(key, c, bikes); {
		case len(of) == 1:
			if v, name := votes[of[0].ID], key.String(); !slices.Contains(v, name) {
				votes[of[0].ID] = append(v, name)
			}
		case len(of) > 1 && doubt == "":
			doubt = s.Doubt(key, of)
		case len(of) == 0 && retired == "":
			retired = s.ofRetired(key, c)
		}
	}
	var said []string
	for _, b := range bikes {
		if v := votes[b.ID]; v != nil {
			w = Whose{b.ID, BySensor, strings.Join(v, ", ")}
			said = append(said, w.Because+" of "+b.Name)
		}
	}
	if len(said) > 1 {
		w = Whose{Because: fmt.Sprintf("its sensors are of %d bikes: %s", len(said), some(said, " and "))}
	}
	return w, cmp.Or(doubt, retired)
}

// ofRetired says of a sensor that only a retired bike had that it moved, to
// whichever bike; "" where it tells nothing.
func (s *Signs) ofRetired(key SensorKey, c Clues) string {
	of := s.bikesOf(key, c, s.Bikes)
	if len(of) == 0 {
		return ""
	}
	return fmt.Sprintf("%s is of %s, which was retired", key, slices.MinFunc(of, byID).Name)
}

// bikesOf are the bikes that a sensor speaks for: the one that the user matched
// it to last, else those of which rides told it.
func (s *Signs) bikesOf(key SensorKey, c Clues, bikes []Candidate) []Candidate {
	if m := s.sensorMatch(key, c.At); m != nil {
		return only(bikes, func(b Candidate) bool { return b.ID == m.Bike })
	}
	if c.Indoor && key.trainersSend() || len(s.Told[key]) == 0 {
		return nil
	}
	return only(bikes, func(b Candidate) bool { return s.Told[key][b.ID] > 0 })
}

// sensorMatch is the latest match of a sensor alone: it is on one bike at a
// time. Nil where there is none.
func (s *Signs) sensorMatch(key SensorKey, at Instant) (last *BikeMatch) {
	for i := range s.Matches {
		m := &s.Matches[i]
		if !m.alone("sensor") || m.From > at || !key.Names(m.Sensor) {
			continue
		}
		if last == nil || cmp.Or(cmp.Compare(m.From, last.From), cmp.Compare(m.ID, last.ID)) > 0 {
			last = m
		}
	}
	return last
}

// Doubt says how many rides speak for which bike of a sensor.
func (s *Signs) Doubt(key SensorKey, bikes []Candidate) string {
	said := make([]string, len(bikes))
	for i, b := range bikes {
		said[i] = fmt.Sprintf("%s (%s)", b.Name, countRides(s.Told[key][b.ID]))
	}
	return fmt.Sprintf("%s was on %d bikes: %s", key, len(bikes), some(said, " and "))
}

func countRides(n int) string {
	if n == 1 {
		return "1 ride"
	}
	return fmt.Sprintf("%d rides", n)
}

// Torn lists the sensors of a ride that rides of two bikes now speak for, each
// with the rides that do: questions that only the user can answer.
func (s *Signs) Torn(c Clues) (doubts []string) {
	bikes := s.ridden(c.At)
	for _, key := range bolted(c.Sensors) {
		if of := s.bikesOf(key, c, bikes); len(of) > 1 {
			doubts = append(doubts, s.Doubt(key, of))
		}
	}
	return doubts
}
