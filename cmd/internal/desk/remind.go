package desk

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"strings"
	"time"

	"pawl/store"
	"pawl/wear"
)

// RemindRequest says whom to remind, and how.
type RemindRequest struct {
	Who   string // a person; "" = all
	Rules wear.RemindRules
	From  string // the sender's address: messages are named in its domain
	// Write writes what is sent: subject, text, HTML and calendar.
	Write func(Letter) (wear.Message, error)
}

// Letter is what a message is to tell.
type Letter struct {
	Person   wear.Person
	Findings []wear.Finding          // what is told, and what was offered and declined
	Visits   map[string]wear.Instant // by the bike's name, the planned day
	Today    wear.Instant
	Zone     *time.Location
}

// Reminder is what a person is to be told now, or why nothing is.
type Reminder struct {
	Letter
	Bikes []string
	Told  []wear.Finding
	Why   string // why nothing is told; "" = something is
}

// Reminders says what would be told to whom.
func (d *Desk) Reminders(ctx context.Context, req RemindRequest) (list []Reminder, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		list, err = d.reminders(tx, req)
		return err
	})
	return list, err
}

func (d *Desk) reminders(tx *store.Tx, req RemindRequest) (list []Reminder, err error) {
	people, err := peopleNamed(tx, req.Who)
	if err != nil {
		return nil, err
	}
	owned, err := bikesByOwner(tx)
	if err != nil {
		return nil, err
	}
	for _, p := range people {
		r, err := d.reminder(tx, p, owned[p.ID], req.Rules)
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}

func peopleNamed(tx *store.Tx, who string) ([]wear.Person, error) {
	if who == "" {
		return tx.People()
	}
	p, err := tx.FindPerson(who)
	return []wear.Person{p}, err
}

// reminder decides what a person is told of their bikes.
func (d *Desk) reminder(tx *store.Tx, p wear.Person, bikes []wear.Bike, rules wear.RemindRules) (Reminder, error) {
	now := wear.At(d.Now)
	r := Reminder{Letter: Letter{Person: p, Visits: map[string]wear.Instant{}, Today: now, Zone: tx.Zone()}}
	for _, b := range bikes {
		r.Bikes = append(r.Bikes, b.Name)
	}
	switch {
	case len(bikes) == 0:
		r.Why = "no bike is theirs"
	case p.Email == "":
		r.Why = "no e-mail"
	case !p.Consent.Holds(now):
		r.Why = "no consent"
	}
	if r.Why != "" {
		return r, nil // nothing is worked out about who is never written to
	}
	findings, visits, err := d.stateOf(tx, bikes, r.Visits)
	if err != nil {
		return r, err
	}
	earlier, err := tx.Messages(p.ID)
	if err != nil {
		return r, err
	}
	if r.Told = wear.Remind(p, findings, visits, earlier, rules, now); len(r.Told) == 0 {
		r.Why = "nothing new"
		return r, nil
	}
	r.Findings = r.Told
	for _, f := range findings {
		if f.Verdict == wear.Fine && f.Declined != 0 {
			r.Findings = append(r.Findings, f)
		}
	}
	return r, nil
}

// stateOf is what there is to do on bikes and when they come. The days of
// visits that lie ahead are put into ahead, by the bike's name.
func (d *Desk) stateOf(tx *store.Tx, bikes []wear.Bike, ahead map[string]wear.Instant) (fs []wear.Finding, visits []wear.Visit, err error) {
	for _, b := range bikes {
		c, err := tx.Case(b.ID, wear.At(d.Now))
		if err != nil {
			return nil, nil, err
		}
		fs = append(fs, wear.Assess(c, wear.Default())...)
		coming, err := d.visitsAhead(tx, b.ID)
		if err != nil {
			return nil, nil, err
		}
		for _, v := range coming {
			ahead[b.Name] = v.At
		}
		visits = append(visits, coming...)
	}
	return fs, visits, nil
}

// queueBatch is how many messages are stored at once.
const queueBatch = 100

// QueueReminders stores a message for everyone who is to be told something, to
// be sent by [Desk.SendOutbox] or written to files. What is stored counts as
// told: a second run stores nothing again.
func (d *Desk) QueueReminders(ctx context.Context, req RemindRequest) (queued []wear.Message, err error) {
	list, err := d.Reminders(ctx, req)
	if err != nil {
		return nil, err
	}
	var due []Reminder
	for _, r := range list {
		if r.Why == "" {
			due = append(due, r)
		}
	}
	for len(due) > 0 {
		batch := due[:min(queueBatch, len(due))]
		due = due[len(batch):]
		err := d.Book.Update(ctx, func(tx *store.Tx) error {
			stored, err := d.queue(tx, batch, req)
			queued = append(queued, stored...)
			return err
		})
		if err != nil {
			return queued, err
		}
	}
	return queued, nil
}

// queue stores the messages of a batch. Each is decided on once more: another
// program may have stored one meanwhile.
func (d *Desk) queue(tx *store.Tx, batch []Reminder, req RemindRequest) (stored []wear.Message, err error) {
	owned, err := bikesByOwner(tx)
	if err != nil {
		return nil, err
	}
	for _, planned := range batch {
		p, err := tx.Person(planned.Person.ID)
		if isUnknown(err) {
			continue // forgotten meanwhile
		}
		if err != nil {
			return nil, err
		}
		r, err := d.reminder(tx, p, owned[p.ID], req.Rules)
		if err != nil {
			return nil, err
		}
		if r.Why != "" {
			continue
		}
		m, err := d.compose(r, req)
		if err != nil {
			return nil, err
		}
		if m, err = tx.AddMessage(m); err != nil {
			return nil, err
		}
		stored = append(stored, m)
	}
	return stored, nil
}

func isUnknown(err error) bool {
	var unknown *store.UnknownError
	return errors.As(err, &unknown)
}

// compose writes the message of a reminder.
func (d *Desk) compose(r Reminder, req RemindRequest) (wear.Message, error) {
	m, err := req.Write(r.Letter)
	if err != nil {
		return m, err
	}
	m.Person, m.At, m.To, m.State = r.Person.ID, wear.At(d.Now), r.Person.Email, wear.Waiting
	m.Tells = wear.Mentions(r.Told)
	m.MessageID = messageID(m, req.From)
	return m, nil
}

// messageID names a message by what it tells to whom and when, in the sender's
// domain: the same at every try, and nothing of this machine in it.
func messageID(m wear.Message, from string) string {
	_, domain, ok := strings.Cut(from, "@")
	if !ok {
		domain = "pawl.invalid"
	}
	sum := sha256.Sum256(fmt.Append(nil, m.Person, m.At, m.Tells))
	return fmt.Sprintf("%x@%s", sum[:16], domain)
}
