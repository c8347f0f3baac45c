package store

import (
	"bytes"
	"cmp"
	"slices"
	"strings"

	"pawl/wear"
)

// FindBike returns the bike of that name, or of the only name that begins so,
// whatever the case. The error is an [UnknownError] or an [AmbiguousError].
func (t *Tx) FindBike(name string) (wear.Bike, error) {
	id, err := t.find(bikeNoun, name)
	if err != nil {
		return wear.Bike{}, err
	}
	return t.Bike(id)
}

// find looks a name or its beginning up in the whole book.
func (t *Tx) find(noun, name string) (wear.ID, error) {
	key := nameKey(noun, strings.TrimSpace(name))
	if v := t.bucket(bktNames).Get(key); v != nil {
		return idOf(v), nil
	}
	var ids []wear.ID
	c := t.bucket(bktNames).Cursor()
	for k, v := c.Seek(key); len(key) > 1 && k != nil && bytes.HasPrefix(k, key) && len(ids) < 6; k, v = c.Next() {
		ids = append(ids, idOf(v))
	}
	switch len(ids) {
	case 0:
		return 0, &UnknownError{noun, name, near(name, t.names(noun))}
	case 1:
		return ids[0], nil
	}
	fits := make([]string, len(ids))
	for i, id := range ids {
		fits[i] = t.nameOf(noun, id)
	}
	return 0, &AmbiguousError{noun, name, fits}
}

func (t *Tx) nameOf(noun string, id wear.ID) string {
	if noun == bikeNoun {
		return t.bikeName(id)
	}
	return t.partName(id)
}

// names lists all names of bikes or parts.
func (t *Tx) names(noun string) []string {
	var all []string
	c := t.bucket(bktNames).Cursor()
	for k, v := c.Seek([]byte{noun[0]}); k != nil && k[0] == noun[0]; k, v = c.Next() {
		all = append(all, t.nameOf(noun, idOf(v)))
	}
	return all
}

// FindPart returns a part by name. A kind means the part of that kind on the
// bike at that instant; else it is a name or the only beginning of one among the
// parts on the bike, or the full name of any part that was ever on it. Bike 0 is
// the whole book, where only names count.
func (t *Tx) FindPart(bike wear.ID, name string, at wear.Instant) (wear.Part, error) {
	if bike == 0 {
		id, err := t.find(partNoun, name)
		if err != nil {
			return wear.Part{}, err
		}
		return t.Part(id)
	}
	parts, err := t.PartsOn(bike, at)
	if err != nil {
		return wear.Part{}, err
	}
	name = strings.ToLower(strings.TrimSpace(name))
	for _, p := range parts {
		if p.Kind == name || strings.ToLower(p.Name) == name {
			return p, nil
		}
	}
	if earlier, ok := t.onceOn(bike, name); ok {
		return earlier, nil
	}
	return shortest(parts, name)
}

// shortest finds the only part whose lower-case name or kind begins so.
func shortest(parts []wear.Part, name string) (wear.Part, error) {
	var fits []wear.Part
	var fit, all []string
	for _, p := range parts {
		all = append(all, p.Name, p.Kind)
		if name != "" && (strings.HasPrefix(p.Kind, name) || strings.HasPrefix(strings.ToLower(p.Name), name)) {
			fits = append(fits, p)
			fit = append(fit, p.Name)
		}
	}
	switch len(fits) {
	case 0:
		return wear.Part{}, &UnknownError{partNoun, name, near(name, all)}
	case 1:
		return fits[0], nil
	}
	return wear.Part{}, &AmbiguousError{partNoun, name, fit}
}

// onceOn finds a part by its full name if it was ever on the bike.
func (t *Tx) onceOn(bike wear.ID, name string) (wear.Part, bool) {
	v := t.bucket(bktNames).Get(nameKey(partNoun, name))
	if v == nil {
		return wear.Part{}, false
	}
	stays, err := t.StaysOf(idOf(v))
	if err != nil || !slices.ContainsFunc(stays, func(s wear.Stay) bool { return s.Host == bike }) {
		return wear.Part{}, false
	}
	part, err := t.Part(idOf(v))
	return part, err == nil
}

// near lists up to three names that look like the one asked for.
func near(name string, names []string) []string {
	type guess struct {
		name string
		off  int
	}
	var guesses []guess
	want := strings.ToLower(name)
	for _, n := range names {
		have := strings.ToLower(n)
		off := distance(want, have)
		if len(want) > 2 && (strings.Contains(have, want) || strings.Contains(want, have)) {
			off = 1
		}
		if off <= 1+len(want)/4 {
			guesses = append(guesses, guess{n, off})
		}
	}
	slices.SortFunc(guesses, func(a, b guess) int { return cmp.Or(a.off-b.off, naturally(a.name, b.name)) })
	var best []string
	for _, g := range guesses[:min(3, len(guesses))] {
		best = append(best, g.name)
	}
	return best
}

// distance is how many letters must be put in, left out or changed (Levenshtein 1965).
func distance(a, b string) int {
	from, to := []rune(a), []rune(b)
	row := make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range from {
		diagonal := row[0]
		row[0] = i + 1
		for j, y := range to {
			swap := diagonal
			if x != y {
				swap++
			}
			diagonal = row[j+1]
			row[j+1] = min(swap, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(to)]
}

// naturally compares names so that chain-2 comes before chain-10.
func naturally(a, b string) int {
	for a != "" && b != "" {
		da, db := digits(a), digits(b)
		if da > 0 && db > 0 {
			na, nb := strings.TrimLeft(a[:da], "0"), strings.TrimLeft(b[:db], "0")
			if c := cmp.Or(cmp.Compare(len(na), len(nb)), cmp.Compare(na, nb), cmp.Compare(da, db)); c != 0 {
				return c
			}
			a, b = a[da:], b[db:]
			continue
		}
		if a[0] != b[0] {
			return cmp.Compare(a[0], b[0])
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Compare(len(a), len(b))
}

// digits counts the digits that a text begins with.
func digits(s string) int {
	return len(s) - len(strings.TrimLeft(s, "0123456789"))
}
