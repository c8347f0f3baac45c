package store

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"pawl/wear"
)

// traits are what a person is told by: name and e-mail address, in small letters.
type traits []string

func traitsOf(p wear.Person) traits {
	all := traits{strings.ToLower(p.Name)}
	if p.Email != "" {
		all = append(all, strings.ToLower(p.Email))
	}
	for _, former := range p.Former {
		if former != "" {
			all = append(all, strings.ToLower(former))
		}
	}
	return all
}

// in reports whether one of them is anywhere in the bytes, whatever the case.
func (all traits) in(raw []byte) bool {
	if len(raw) == 0 {
		return false
	}
	lower := bytes.ToLower(raw)
	for _, one := range all {
		if bytes.Contains(lower, []byte(one)) {
			return true
		}
	}
	return false
}

// name reports whether a text names the person: "Ann" does not name her in
// "annual", nor joann@example.org the one whose address is ann@example.org.
func (all traits) name(text string) bool {
	text = strings.ToLower(text)
	for _, one := range all {
		for rest, before := text, ' '; ; {
			i := strings.Index(rest, one)
			if i < 0 {
				break
			}
			if i > 0 {
				before, _ = utf8.DecodeLastRuneInString(rest[:i])
			}
			after, _ := utf8.DecodeRuneInString(rest[i+len(one):])
			if !wordRune(before) && !wordRune(after) {
				return true
			}
			var n int
			before, n = utf8.DecodeRuneInString(rest[i:])
			rest = rest[i+n:]
		}
	}
	return false
}

func wordRune(r rune) bool {
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r))
}

// StillNamed lists what would name a person once he is forgotten, with where it
// is: facts of other people's making, which Forget leaves to the user to mend.
func (t *Tx) StillNamed(person wear.ID) ([]string, error) {
	p, err := t.Person(person)
	if err != nil {
		return nil, err
	}
	return t.stillNamed(p, traitsOf(p))
}

func (t *Tx) stillNamed(p wear.Person, who traits) ([]string, error) {
	var where []string
	for _, s := range t.shelves(p) {
		for k, v := range t.under(s.bucket, nil) {
			if !s.deep && !who.in(v) {
				continue // most are, and reading costs
			}
			texts, err := s.texts(k, v)
			if err != nil {
				return where, t.corrupt(string(s.bucket), k, err)
			}
			for _, text := range texts {
				if who.name(text) {
					where = append(where, s.where(k, v))
					break
				}
			}
		}
	}
	return where, nil
}

// shelf says how to read the texts of a bucket, and how to name its rows.
type shelf struct {
	bucket []byte
	deep   bool // a text may be elsewhere than in the row
	texts  func(k, v []byte) ([]string, error)
	where  func(k, v []byte) string
}

// shelves are all that may name a person, without what is his own.
func (t *Tx) shelves(p wear.Person) []shelf {
	all := []shelf{
		{bktBikes, false, t.bikeTexts(p.ID), func(k, _ []byte) string { return fmt.Sprintf("bike %q", t.bikeName(idOf(k))) }},
		{bktParts, false, rowTexts, func(k, _ []byte) string { return fmt.Sprintf("part %q", t.partName(idOf(k))) }},
		{bktRides, true, t.rideTexts, t.whereRide},
		{bktFiles, true, t.fileTexts, t.whereFile},
		{bktSettings, false, rowTexts, t.whereSetting},
		{bktStock, false, rowTexts, func(k, v []byte) string { return "stock" }},
		{bktRefusals, false, rowTexts, t.whereRefusal},
		{bktPeople, false, t.personTexts(p.ID), func(k, _ []byte) string { return fmt.Sprintf("person %q", t.personName(idOf(k))) }},
		{bktOutbox, false, t.messageTexts(p.ID), t.whereMessage},
	}
	for _, d := range []struct {
		bucket []byte
		noun   string
		of     func(wear.ID) string
	}{
		{bktReadings, readings.noun, t.partName}, {bktLooks, looks.noun, t.partName}, {bktSignOffs, signOffs.noun, t.partName},
		{bktIncidents, incidents.noun, t.bikeName}, {bktStatuses, "standing", t.bikeName}, {bktSetups, setups.noun, t.bikeName},
		{bktVisits, visits.noun, t.bikeName}, {bktTurns, turnRounds.noun, t.bikeName},
	} {
		all = append(all, shelf{d.bucket, false, rowTexts, func(k, _ []byte) string {
			return fmt.Sprintf("%s of %q, %s", d.noun, d.of(idOf(k)), t.day(instant(k[8:])))
		}})
	}
	return all
}

// day is the day of an instant as the book's zone has it.
func (t *Tx) day(at wear.Instant) string { return at.Time().In(t.zone).Format("2006-01-02") }

// rowTexts are all texts of a row in CBOR, whatever it is of.
func rowTexts(_, raw []byte) ([]string, error) {
	var row any
	if err := decoder.Unmarshal(raw, &row); err != nil {
		return nil, err
	}
	return textsOf(row, nil), nil
}

func textsOf(v any, all []string) []string {
	switch v := v.(type) {
	case string:
		return append(all, v)
	case []any:
		for _, one := range v {
			all = textsOf(one, all)
		}
	case map[any]any:
		for _, one := range v {
			all = textsOf(one, all)
		}
	}
	return all
}

// bikeTexts passes over the bikes of the person: Forget takes him out of them.
func (t *Tx) bikeTexts(owner wear.ID) func(k, v []byte) ([]string, error) {
	return func(k, v []byte) ([]string, error) {
		if b, err := t.Bike(idOf(k)); err != nil || b.Owner == owner {
			return nil, err
		}
		return rowTexts(k, v)
	}
}

func (t *Tx) personTexts(but wear.ID) func(k, v []byte) ([]string, error) {
	return func(k, v []byte) ([]string, error) {
		if idOf(k) == but {
			return nil, nil
		}
		return rowTexts(k, v)
	}
}

func (t *Tx) messageTexts(but wear.ID) func(k, v []byte) ([]string, error) {
	return func(k, v []byte) ([]string, error) {
		if m, err := t.Message(uint64(idOf(k))); err != nil || m.Person == but {
			return nil, err
		}
		return rowTexts(k, v)
	}
}

func (t *Tx) rideTexts(k, v []byte) ([]string, error) {
	r, err := t.unpackRide(k, v)
	texts := append([]string{r.Title, r.Profile, r.Because, r.Device.Name}, r.Notes...)
	for _, s := range r.Sensors {
		texts = append(texts, s.Name)
	}
	return texts, err
}

func (t *Tx) fileTexts(k, v []byte) ([]string, error) {
	row, err := decode[fileRow](t, bktFiles, k, v)
	if err != nil {
		return nil, err
	}
	folder, err := t.wordOf(row.LayIn)
	return []string{row.Name, row.Why, folder}, err
}

func (t *Tx) whereRide(k, v []byte) string {
	id, _ := rideIDOf(k, v)
	return fmt.Sprintf("ride %s of %s", id, t.day(instant(k[8:])))
}

func (t *Tx) whereFile(k, v []byte) string {
	row, _ := decode[fileRow](t, bktFiles, k, v)
	return fmt.Sprintf("file %q", row.Name)
}

func (t *Tx) whereSetting(k, v []byte) string {
	s, _ := decode[wear.Setting](t, bktSettings, k, v)
	switch s.Scope {
	case wear.ForBook:
		return s.Name + " of the book"
	case wear.ForBike:
		return fmt.Sprintf("%s of bike %q", s.Name, t.bikeName(s.Of))
	case wear.ForPart:
		return fmt.Sprintf("%s of part %q", s.Name, t.partName(s.Of))
	}
	return fmt.Sprintf("%s of %s %q", s.Name, s.Scope, s.Key)
}

func (t *Tx) whereRefusal(k, v []byte) string {
	r, _ := decode[Refusal](t, bktRefusals, k, v)
	return fmt.Sprintf("refused file %q", r.Path)
}

func (t *Tx) whereMessage(k, _ []byte) string {
	m, _ := t.Message(uint64(idOf(k)))
	return fmt.Sprintf("message to %q, %s", t.personName(m.Person), t.day(m.At))
}

// personName is a person's name, for messages.
func (t *Tx) personName(id wear.ID) string {
	p, err := t.Person(id)
	if err != nil {
		return fmt.Sprintf("%x", uint64(id))
	}
	return p.Name
}

// sharedNumber is the inverse of the key of a shared row.
func sharedNumber(k []byte) uint32 { return binary.BigEndian.Uint32(k) }
