package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pawl/ingest"
	"pawl/wear"
)

// ReadPeople enters people from a table, or changes what differs: a person is
// told by e-mail, else by name. An empty cell says nothing.
func (d *Desk) ReadPeople(ctx context.Context, req ListRequest) (ListResult, error) {
	form := ingest.ListForm{Columns: personColumns, Must: "name", Figures: []string{}}
	return d.readList(ctx, req, listSource{form: form, verb: "person read", enter: (*listReader).person})
}

var personColumns = map[string]string{
	"name": "name", "person": "name", "customer": "name", "e mail": "email", "email": "email", "mail": "email",
	"units": "units", "consent on": "on", "consent": "on", "consent date": "on", "consent how": "how", "how": "how",
	"bikes": "bikes", "bike": "bikes", "note": "note", "notes": "note",
}

// person enters or changes the person of a row.
func (l *listReader) person(row ingest.ListRow) error {
	p, known, err := l.personOf(row)
	if err != nil {
		return err
	}
	before, was := l.personWords(p), p
	if err := l.setPersonCells(row, &p); err != nil {
		return err
	}
	if remember(was, &p); p.Email != was.Email {
		p.Reached = wear.At(l.Now)
	}
	bikes, err := l.bikesOf(row)
	if err != nil {
		return err
	}
	switch {
	case !known:
		p.Added = wear.At(l.Now)
		p, err = l.tx.AddPerson(p)
		l.added(p.Name + ": new")
	default:
		after := l.personWords(p)
		for _, b := range bikes {
			if b.Owner != p.ID {
				before, after = append(before, ""), append(after, "bike "+b.Name)
			}
		}
		if !l.changed(p.Name, before, after) {
			return nil
		}
		err = l.tx.ChangePerson(p)
	}
	if err != nil {
		return err
	}
	for _, b := range bikes {
		if b.Owner == p.ID {
			continue
		}
		if owner, err := l.tx.Person(b.Owner); err == nil {
			l.res.Says = append(l.res.Says, fmt.Sprintf("%s: takes bike %s of %s", p.Name, b.Name, owner.Name))
		}
		b.Owner = p.ID
		if err := l.tx.ChangeBike(b); err != nil {
			return err
		}
	}
	return nil
}

// personOf finds the person of a row: by e-mail, else by name.
func (l *listReader) personOf(row ingest.ListRow) (p wear.Person, known bool, err error) {
	name, _ := row.Cell("name")
	email, _ := row.Cell("email")
	if name == "" {
		return p, false, wrongCell(row, "name", "no name")
	}
	for _, who := range []string{email, name} {
		if who == "" {
			continue
		}
		p, err = l.tx.FindPerson(who)
		exact := err == nil && (strings.EqualFold(p.Email, who) || strings.EqualFold(p.Name, who))
		if exact && (email == "" || p.Email == "" || strings.EqualFold(p.Email, email) || who == email) {
			return p, true, nil
		}
		if err != nil && !isUnknown(err) && who == email {
			return p, false, err
		}
	}
	return wear.Person{}, false, nil
}

// personWords is what is known of a person, for comparing.
func (l *listReader) personWords(p wear.Person) []string {
	consent := "no consent"
	if p.Consent.Given != 0 {
		consent = "consent on " + day(p.Consent.Given, l.tx.Zone()) + ", " + p.Consent.How
	}
	units := "metric"
	if p.Imperial {
		units = "imperial"
	}
	return []string{"name " + p.Name, "e-mail " + p.Email, units, consent, "note " + p.Note}
}

func (l *listReader) setPersonCells(row ingest.ListRow, p *wear.Person) error {
	if text, _ := row.Cell("name"); text != "" {
		p.Name = plainText(text)
	}
	if text, _ := row.Cell("note"); text != "" {
		p.Note = plainText(text)
	}
	if text, _ := row.Cell("email"); text != "" {
		address, ok := wear.PlainEmail(text)
		if !ok {
			return wrongCell(row, "email", "%q is no e-mail address", text)
		}
		p.Email = address
	}
	switch units, _ := row.Cell("units"); strings.ToLower(units) {
	case "":
	case "metric":
		p.Imperial = false
	case "imperial":
		p.Imperial = true
	default:
		return wrongCell(row, "units", "%q is neither metric nor imperial", units)
	}
	return l.setConsentCells(row, p)
}

// setConsentCells enters consent; the date and how it was given belong together,
// and what was taken back since is not brought back by an old date.
func (l *listReader) setConsentCells(row ingest.ListRow, p *wear.Person) error {
	given, said, err := row.Day("on")
	how, _ := row.Cell("how")
	switch {
	case err != nil:
		return wrongCell(row, "on", "the day of consent %v", err)
	case said != (how != ""):
		return wrongCell(row, "how", "consent needs both a day and how it was given")
	case !said:
		return nil
	}
	at, err := l.endOfDay(given)
	if err != nil {
		return wrongCell(row, "on", "the day of consent %v", err)
	}
	if p.Consent.Ended != 0 && startOfDay(at, l.tx.Zone()) <= p.Consent.Ended {
		return nil // taken back that day or later
	}
	if day(at, l.tx.Zone()) == day(p.Consent.Given, l.tx.Zone()) && p.Consent.How == plainText(how) {
		return nil
	}
	p.Consent = wear.Consent{Given: at, How: plainText(how)}
	return nil
}

// bikesOf are the bikes that a row names, which must be in the book.
func (l *listReader) bikesOf(row ingest.ListRow) (bikes []wear.Bike, err error) {
	text, _ := row.Cell("bikes")
	for _, name := range l.bikeNamesIn(text) {
		b, err := l.tx.BikeOf(name)
		if isUnknown(err) {
			return nil, wrongCell(row, "bikes", "bike %q is not in the book: pawl bike read enters bikes", name)
		}
		if err != nil {
			return nil, err
		}
		bikes = append(bikes, b)
	}
	return bikes, nil
}

// bikeNamesIn parts the names of a cell: a comma may be within one.
func (l *listReader) bikeNamesIn(text string) (names []string) {
	for part := range strings.SplitSeq(text, ";") {
		part = strings.TrimSpace(part)
		if _, err := l.tx.BikeOf(part); err == nil || !strings.Contains(part, ",") {
			names = append(names, part)
			continue
		}
		for name := range strings.SplitSeq(part, ",") {
			names = append(names, strings.TrimSpace(name))
		}
	}
	return slices.DeleteFunc(names, func(name string) bool { return name == "" })
}
