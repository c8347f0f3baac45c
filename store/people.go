package store

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pawl/wear"
)

const personNoun = "person"

// tomb keeps a person who was forgotten from coming back.
type tomb struct {
	At wear.Instant `cbor:"1,keyasint"`
}

// AddPerson adds a person, with a new ID unless it has one of another book. A
// person who was forgotten, and an e-mail address that another has, are refused.
// No entry remembers it: it needs no Begin, and undo leaves it.
func (t *Tx) AddPerson(p wear.Person) (wear.Person, error) {
	if p.ID == 0 {
		id, err := t.newID()
		if err != nil {
			return p, err
		}
		p.ID = id
	}
	if t.Forgotten(p.ID) {
		return p, &ConflictError{personNoun, fmt.Sprintf("%x", uint64(p.ID)), "was forgotten", "leave it out; add the person anew only with his consent"}
	}
	if t.row(bktPeople, id8(p.ID)) != nil {
		return p, &ConflictError{personNoun, p.Name, "is in the book", "change it instead"}
	}
	return p, t.putPerson(p)
}

// ChangePerson replaces what is known of a person; nothing keeps what was before.
func (t *Tx) ChangePerson(p wear.Person) error {
	if _, err := t.Person(p.ID); err != nil {
		return err
	}
	return t.putPerson(p)
}

func (t *Tx) putPerson(p wear.Person) error {
	if err := nameable(personNoun, p.Name); err != nil {
		return err
	}
	if err := t.freeEmail(p); err != nil {
		return err
	}
	for _, at := range []wear.Instant{p.Consent.Given, p.Consent.Ended, p.Added} { // 0 is none, and dateable
		if err := dateable(personNoun, at); err != nil {
			return err
		}
	}
	raw, err := codec.Marshal(p)
	if err != nil {
		return err
	}
	return t.keep(bktPeople, id8(p.ID), raw)
}

// freeEmail refuses what is no plain address, and one that another person has.
func (t *Tx) freeEmail(p wear.Person) error {
	if p.Email == "" {
		return nil
	}
	if plain, ok := wear.PlainEmail(p.Email); !ok || plain != p.Email {
		return &ConflictError{"e-mail", p.Email, "not an address", "write it as name@example.org"}
	}
	holder := t.row(bktEmails, emailKey(p.Email))
	if holder == nil || idOf(holder) == p.ID {
		return nil
	}
	other, err := t.Person(idOf(holder))
	if err != nil {
		return err
	}
	return &ConflictError{"e-mail", p.Email, fmt.Sprintf("is the address of %q", other.Name), "give another address, or change that person"}
}

// Person returns the person of that ID.
func (t *Tx) Person(id wear.ID) (wear.Person, error) {
	p, found, err := get[wear.Person](t, bktPeople, id8(id))
	if err == nil && !found {
		err = &UnknownError{Noun: personNoun, Name: fmt.Sprintf("%x", uint64(id))}
	}
	return p, err
}

// People returns all people in the natural order of their names.
func (t *Tx) People() ([]wear.Person, error) {
	all, err := list[wear.Person](t, bktPeople, nil)
	slices.SortFunc(all, func(a, b wear.Person) int {
		return cmp.Or(wear.Naturally(a.Name, b.Name), cmp.Compare(a.ID, b.ID))
	})
	return all, err
}

// FindPerson returns the person of that e-mail address, else of that name, else
// the only one whose name begins so, whatever the case. The error is an
// [UnknownError] or an [AmbiguousError].
func (t *Tx) FindPerson(text string) (wear.Person, error) {
	want := strings.ToLower(strings.TrimSpace(text))
	if id := t.row(bktEmails, []byte(want)); want != "" && id != nil {
		return t.Person(idOf(id))
	}
	people, err := t.People()
	if err != nil {
		return wear.Person{}, err
	}
	var names []string
	var exact, fits []wear.Person
	for _, p := range people {
		names = append(names, p.Name)
		name := strings.ToLower(p.Name)
		if name == want {
			exact = append(exact, p)
		}
		if want != "" && strings.HasPrefix(name, want) {
			fits = append(fits, p)
		}
	}
	if len(exact) > 0 {
		fits = exact
	}
	switch len(fits) {
	case 0:
		return wear.Person{}, &UnknownError{personNoun, text, wear.Near(text, names)}
	case 1:
		return fits[0], nil
	}
	return wear.Person{}, &AmbiguousError{personNoun, text, tellApart(fits)}
}

// tellApart names a few people of like names.
func tellApart(people []wear.Person) []string {
	var fits []string
	for _, p := range people[:min(len(people), mostFits+1)] {
		fits = append(fits, strings.TrimSpace(p.Name+" "+p.Email))
	}
	return fits
}

// Forgotten reports whether a person of that ID was in the book and is not to
// come back.
func (t *Tx) Forgotten(id wear.ID) bool { return t.row(bktTombs, id8(id)) != nil }

// ownable reports whether a bike can be said to be somebody's: nobody's, a
// person's, or, as undo may find it, that of one who was forgotten.
func (t *Tx) ownable(owner wear.ID) bool {
	return owner == 0 || t.row(bktPeople, id8(owner)) != nil || t.Forgotten(owner)
}

func emailKey(email string) []byte { return []byte(strings.ToLower(email)) }

// index is a row of what is derived; no key = no row.
type index struct{ bucket, key, value []byte }

// emailRow is where a person is found by the e-mail address.
func emailRow(raw []byte) (index, error) {
	var p wear.Person
	if err := decoder.Unmarshal(raw, &p); err != nil || p.Email == "" {
		return index{}, err
	}
	return index{bktEmails, emailKey(p.Email), id8(p.ID)}, nil
}

// followIndex replaces the row that a fact gave by the one that it gives.
func (t *Tx) followIndex(c change, row func([]byte) (index, error)) error {
	if c.before != nil {
		old, err := row(c.before)
		if err != nil {
			return err
		}
		if old.key != nil {
			if err := t.bucket(old.bucket).Delete(old.key); err != nil {
				return err
			}
		}
	}
	if c.after == nil {
		return nil
	}
	r, err := row(c.after)
	if err != nil || r.key == nil {
		return err
	}
	return t.bucket(r.bucket).Put(r.key, r.value)
}

// derivePeople derives the rows by which people and messages are found.
func (t *Tx) derivePeople(out emit) error {
	for _, of := range []struct {
		bucket []byte
		row    func([]byte) (index, error)
	}{{bktPeople, emailRow}, {bktOutbox, mailOfRow}, {bktOutbox, mailStateRow}} {
		for k, v := range t.under(of.bucket, nil) {
			r, err := of.row(v)
			if err != nil {
				return t.corrupt(string(of.bucket), k, err)
			}
			if r.key == nil {
				continue
			}
			if err := out(r.bucket, r.key, r.value); err != nil {
				return err
			}
		}
	}
	return nil
}

// checkPeople decodes people and tombs, and finds the owners of bikes.
func (t *Tx) checkPeople(r *AuditReport) error {
	for k, v := range t.under(bktPeople, nil) {
		p, err := decode[wear.Person](t, bktPeople, k, v)
		if err != nil {
			return err
		}
		switch {
		case p.ID != idOf(k):
			r.problem("person %x: is kept under another number", k)
		case t.Forgotten(p.ID):
			r.problem("person %x: was forgotten", k)
		}
	}
	for k, v := range t.under(bktTombs, nil) {
		if _, err := decode[tomb](t, bktTombs, k, v); err != nil {
			return err
		}
	}
	bikes, err := t.Bikes()
	for _, b := range bikes {
		if !t.ownable(b.Owner) {
			r.problem("bike %q: its owner %x is not in the book", b.Name, uint64(b.Owner))
		}
	}
	return err
}
