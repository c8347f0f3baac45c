package store

import (
	"bytes"
	"errors"
	"slices"
	"strings"

	"pawl/wear"
)

// FindBike returns the bike of that name, or of the only name that begins so,
// whatever the case. The error is an [UnknownError] or an [AmbiguousError].
func (t *Tx) FindBike(name string) (wear.Bike, error) {
	id, err := t.find(bikeNoun, name)
	if err != nil {
		return wear.Bike{}, t.orNear(err)
	}
	return t.Bike(id)
}

// BikeOf is [Tx.FindBike] for the many rows of a table: where there is no such bike
// it does not look for names like it, which takes as long as there are bikes.
func (t *Tx) BikeOf(name string) (wear.Bike, error) {
	id, err := t.find(bikeNoun, name)
	if err != nil {
		return wear.Bike{}, err
	}
	return t.Bike(id)
}

// orNear gives an error about a name that is not in the book the names like it.
func (t *Tx) orNear(err error) error {
	var unknown *UnknownError
	if errors.As(err, &unknown) {
		unknown.Near = wear.Near(unknown.Name, t.names(unknown.Noun))
	}
	return err
}

// BikeNamed returns the bike of exactly that name, whatever the case; known is
// false where there is none. Unlike [Tx.FindBike] it takes as long with many bikes
// as with few.
func (t *Tx) BikeNamed(name string) (b wear.Bike, known bool, err error) {
	id := t.bucket(bktNames).Get(nameKey(bikeNoun, name))
	if id == nil {
		return b, false, nil
	}
	b, err = t.Bike(idOf(id))
	return b, err == nil, err
}

// find looks a name or its beginning up in the whole book; of one that is not there
// it does not say which are like it.
func (t *Tx) find(noun, name string) (wear.ID, error) {
	key := nameKey(noun, strings.TrimSpace(name))
	if v := t.bucket(bktNames).Get(key); v != nil {
		return idOf(v), nil
	}
	var ids []wear.ID
	c := t.bucket(bktNames).Cursor()
	for k, v := c.Seek(key); len(key) > 1 && k != nil && bytes.HasPrefix(k, key) && len(ids) <= mostFits; k, v = c.Next() {
		ids = append(ids, idOf(v))
	}
	switch len(ids) {
	case 0:
		return 0, &UnknownError{Noun: noun, Name: name}
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
			return wear.Part{}, t.orNear(err)
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
		return wear.Part{}, &UnknownError{partNoun, name, wear.Near(name, all)}
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
	stays, err := t.WornOn(idOf(v))
	if err != nil || !slices.ContainsFunc(stays, func(s wear.Stay) bool { return s.Host == bike }) {
		return wear.Part{}, false
	}
	part, err := t.Part(idOf(v))
	return part, err == nil
}
