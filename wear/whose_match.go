package wear

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// byProfile asks the recording device's own name for the bike or sport profile:
// what the user matched it to, else the bike of that name.
func (s *Signs) byProfile(c Clues, bikes []Candidate) Whose {
	w := s.narrowest(c, bikes, func(m Match) bool { return m.alone("profile") })
	if w.Bike != 0 {
		w.Rule = ByProfile
	}
	if w != (Whose{}) {
		return w
	}
	named := only(bikes, func(b Candidate) bool { return sameName(c.Profile, b.Name) })
	if exact := only(named, func(b Candidate) bool { return c.Profile == b.Name }); len(exact) > 0 {
		named = exact
	}
	switch len(named) {
	case 0:
		return Whose{}
	case 1:
		return Whose{named[0].ID, ByProfile, fmt.Sprintf("profile %q", c.Profile)}
	}
	names := make([]string, len(named))
	for i, b := range named {
		names[i] = b.Name
	}
	return Whose{Because: fmt.Sprintf("profile %q may be %s", c.Profile, some(names, " or "))}
}

// byMatch asks the matches that say neither what a sensor nor what a profile is.
func (s *Signs) byMatch(c Clues, bikes []Candidate) Whose {
	return s.narrowest(c, bikes, func(m Match) bool { return !m.alone("sensor") && !m.alone("profile") })
}

// narrowest is the bike of the narrowest of some matches that hold; as narrow
// ones of two bikes leave the ride without.
func (s *Signs) narrowest(c Clues, bikes []Candidate, of func(Match) bool) Whose {
	var best []BikeMatch
	for _, m := range s.Matches {
		ridden := slices.ContainsFunc(bikes, func(b Candidate) bool { return b.ID == m.Bike })
		if !ridden || m.From > c.At || !of(m.Match) || !m.holds(c) {
			continue
		}
		if len(best) > 0 && m.narrower(best[0].Match) > 0 {
			best = nil
		}
		if len(best) == 0 || m.narrower(best[0].Match) == 0 {
			best = append(best, m)
		}
	}
	return oneOf(best, bikes)
}

// oneOf is the bike of matches that are as narrow as each other. Of those that
// say the same, the one that was in force last takes the place of the others.
func oneOf(best []BikeMatch, bikes []Candidate) Whose {
	last := map[string]BikeMatch{}
	for _, m := range best {
		says := m.Match.String()
		if o, same := last[says]; !same || cmp.Or(cmp.Compare(m.From, o.From), cmp.Compare(m.ID, o.ID)) >= 0 {
			last[says] = m
		}
	}
	best = slices.Collect(maps.Values(last))
	slices.SortFunc(best, func(a, b BikeMatch) int { return cmp.Or(cmp.Compare(a.Bike, b.Bike), cmp.Compare(a.ID, b.ID)) })
	best = slices.CompactFunc(best, func(a, b BikeMatch) bool { return a.Bike == b.Bike })
	switch len(best) {
	case 0:
		return Whose{}
	case 1:
		return Whose{best[0].Bike, ByMatch, best[0].Match.String()}
	}
	said := make([]string, len(best))
	for i, m := range best {
		said[i] = m.Match.String() + " of " + nameOf(bikes, m.Bike)
	}
	return Whose{Because: fmt.Sprintf("matches of %d bikes: %s", len(best), some(said, " and "))}
}

// fewNames is up to how many names a sentence gives.
const fewNames = 5

// some are the first of several names in a row, and how many others there are.
func some(names []string, between string) string {
	if n := len(names) - fewNames; n > 1 {
		names = append(slices.Clone(names[:fewNames]), fmt.Sprintf("%d others", n))
	}
	return strings.Join(names, between)
}

// nameOf is the name of one of the bikes.
func nameOf(bikes []Candidate, id ID) string {
	return only(bikes, func(b Candidate) bool { return b.ID == id })[0].Name
}
