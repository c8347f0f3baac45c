package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// PersonRequest says what of a person is to be entered or changed; nil is not said.
type PersonRequest struct {
	Name     *string
	Email    *string
	Imperial *bool
	Note     *string
	Consent  string // how it was given; "" = nothing is said of it
	On       string // when it was given or taken back
	Withdraw bool   // consent is taken back
	Bikes    []string
}

// PersonState is a person, the bikes that are theirs, and the latest message.
type PersonState struct {
	Person wear.Person
	Bikes  []string
	Last   *wear.Message // nil = none yet
}

// AddPerson enters a person.
func (d *Desk) AddPerson(ctx context.Context, req PersonRequest) (p wear.Person, err error) {
	if req.Name == nil || strings.TrimSpace(*req.Name) == "" {
		return p, mistake(`pawl person add "Kim Doe" --email kim@example.org --consent "form at the counter"`, "a person needs a name")
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		p = wear.Person{Added: wear.At(d.Now)}
		if err := d.setPerson(tx, &p, req); err != nil {
			return err
		}
		if p, err = tx.AddPerson(p); err != nil {
			return err
		}
		tx.Begin("bike change", counted(len(req.Bikes), "owner"), d.Who)
		return d.ownBikes(tx, p.ID, req.Bikes)
	})
	return p, err
}

// ChangePerson changes what is known of a person.
func (d *Desk) ChangePerson(ctx context.Context, who string, req PersonRequest) (p wear.Person, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		if p, err = tx.FindPerson(who); err != nil {
			return err
		}
		if err := d.setPerson(tx, &p, req); err != nil {
			return err
		}
		if err := tx.ChangePerson(p); err != nil {
			return err
		}
		tx.Begin("bike change", counted(len(req.Bikes), "owner"), d.Who)
		return d.ownBikes(tx, p.ID, req.Bikes)
	})
	return p, err
}

// setPerson puts what was said into the person.
func (d *Desk) setPerson(tx *store.Tx, p *wear.Person, req PersonRequest) error {
	before := *p
	if req.Name != nil {
		p.Name = plainText(*req.Name)
	}
	if req.Note != nil {
		p.Note = plainText(*req.Note)
	}
	if req.Imperial != nil {
		p.Imperial = *req.Imperial
	}
	if req.Email != nil {
		address, ok := wear.PlainEmail(*req.Email)
		if !ok && *req.Email != "" {
			return mistake("an address alone, as kim@example.org", "e-mail %q: not an address", *req.Email)
		}
		p.Email = address
		p.Reached = wear.At(d.Now) // also of the same one: it is to be tried again
	}
	remember(before, p)
	return d.setConsent(tx, p, req)
}

// remember keeps what a person was called and where they were reached before, so
// that it can be forgotten with them.
func remember(before wear.Person, p *wear.Person) {
	for _, was := range [][2]string{{before.Name, p.Name}, {before.Email, p.Email}} {
		if was[0] != "" && was[0] != was[1] && !slices.Contains(p.Former, was[0]) {
			p.Former = append(slices.Clone(p.Former), was[0])
		}
	}
}

// setConsent keeps when and how consent was given or taken back.
func (d *Desk) setConsent(tx *store.Tx, p *wear.Person, req PersonRequest) error {
	if req.Consent == "" && !req.Withdraw {
		return nil
	}
	at, err := d.when(req.On, tx.Zone())
	if err != nil {
		return err
	}
	if req.Withdraw {
		if p.Consent.Given == 0 {
			return refusal("nothing to take back", "person %q: never gave consent", p.Name)
		}
		p.Consent.Ended = at
		return nil
	}
	p.Consent = wear.Consent{Given: at, How: plainText(req.Consent)}
	return nil
}

// ownBikes makes bikes those of a person.
func (d *Desk) ownBikes(tx *store.Tx, owner wear.ID, names []string) error {
	for _, name := range names {
		b, err := tx.FindBike(name)
		if err != nil {
			return err
		}
		if p, err := tx.Person(b.Owner); err == nil && p.ID != owner {
			d.ask(fmt.Sprintf("bike %q was %s's", b.Name, p.Name))
		}
		b.Owner = owner
		if err := tx.ChangeBike(b); err != nil {
			return err
		}
	}
	return nil
}

// ownerNamed is the ID of a person; of "none" it is nobody's.
func ownerNamed(tx *store.Tx, who string) (wear.ID, error) {
	if who == "none" {
		return 0, nil
	}
	p, err := tx.FindPerson(who)
	return p.ID, err
}

// People lists the people and their bikes.
func (d *Desk) People(ctx context.Context) (list []PersonState, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		people, err := tx.People()
		if err != nil {
			return err
		}
		owned, err := bikesByOwner(tx)
		if err != nil {
			return err
		}
		list = nil
		for _, p := range people {
			s := PersonState{Person: p}
			for _, b := range owned[p.ID] {
				s.Bikes = append(s.Bikes, b.Name)
			}
			messages, err := tx.Messages(p.ID)
			if err != nil {
				return err
			}
			if n := len(messages); n > 0 {
				s.Last = &messages[n-1]
			}
			list = append(list, s)
		}
		return nil
	})
	return list, err
}

func bikesByOwner(tx *store.Tx) (map[wear.ID][]wear.Bike, error) {
	bikes, err := tx.Bikes()
	owned := map[wear.ID][]wear.Bike{}
	for _, b := range bikes {
		if b.Owner != 0 {
			owned[b.Owner] = append(owned[b.Owner], b)
		}
	}
	return owned, err
}

// ForgetPerson erases a person everywhere in the book; their bikes and what
// those did stay, without a name.
func (d *Desk) ForgetPerson(ctx context.Context, who string) (res store.ForgetReport, err error) {
	var p wear.Person
	err = d.Book.View(ctx, func(tx *store.Tx) (err error) {
		p, err = tx.FindPerson(who)
		return err
	})
	if err != nil {
		return res, err
	}
	// No message to them may be on its way.
	err = d.Book.Alone(ctx, "sending", func() (err error) {
		res, err = d.Book.Forget(ctx, p.ID, wear.At(d.Now))
		return err
	})
	return res, err
}

// SetOwner makes a bike that of a person; of "none" it is nobody's.
func (d *Desk) SetOwner(ctx context.Context, bike, who string) (b wear.Bike, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		if b, err = tx.FindBike(bike); err != nil {
			return err
		}
		if b.Owner, err = ownerNamed(tx, who); err != nil {
			return err
		}
		tx.Begin("bike change", b.Name, d.Who)
		return tx.ChangeBike(b)
	})
	return b, err
}

// PersonOffers are the people, for completion.
func (d *Desk) PersonOffers(ctx context.Context) (offers []Offer, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		people, err := tx.People()
		for _, p := range people {
			offers = append(offers, Offer{Text: p.Name, About: p.Email})
		}
		return err
	})
	return offers, err
}
