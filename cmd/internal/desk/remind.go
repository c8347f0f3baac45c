package desk

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

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
	Stale []wear.Message // that wait and do not say what is so now
	Why   string         // why nothing is told; "" = something is
}

// Reminders says what would be told to whom.
func (d *Desk) Reminders(ctx context.Context, req RemindRequest) (list []Reminder, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		list, err = d.reminders(tx, req)
		return err
	})
	return list, err
}

// reminders reads what there is of each person in turn, since a transaction serves
// one goroutine, and judges it on all cores.
func (d *Desk) reminders(tx *store.Tx, req RemindRequest) ([]Reminder, error) {
	people, err := peopleNamed(tx, req.Who)
	if err != nil {
		return nil, err
	}
	owned, err := bikesByOwner(tx)
	if err != nil {
		return nil, err
	}
	list := make([]Reminder, len(people))
	var work errgroup.Group
	work.SetLimit(runtime.GOMAXPROCS(0))
	for i, p := range people {
		var f remindFacts
		if f, err = d.remindFacts(tx, p, owned[p.ID]); err != nil {
			break
		}
		work.Go(func() error {
			list[i] = f.decide(req.Rules)
			return nil
		})
	}
	_ = work.Wait() // judging does not fail
	return list, err
}

func peopleNamed(tx *store.Tx, who string) ([]wear.Person, error) {
	if who == "" {
		return tx.People()
	}
	p, err := tx.FindPerson(who)
	return []wear.Person{p}, err
}

// remindFacts are a reminder of which nothing is decided yet, and what decides it.
type remindFacts struct {
	Reminder
	cases   []wear.Case // of the bikes
	visits  []wear.Visit
	earlier []wear.Message
}

// remindFacts reads what decides on a reminder; nothing about who may not be written
// to, whose messages are withdrawn when they are to go out.
func (d *Desk) remindFacts(tx *store.Tx, p wear.Person, bikes []wear.Bike) (f remindFacts, err error) {
	now := wear.At(d.Now)
	f.Letter = Letter{Person: p, Visits: map[string]wear.Instant{}, Today: now, Zone: tx.Zone()}
	for _, b := range bikes {
		f.Bikes = append(f.Bikes, b.Name)
	}
	if f.earlier, err = tx.Messages(p.ID); err != nil {
		return f, err
	}
	switch {
	case len(bikes) == 0:
		f.Why = "no bike is theirs"
	case p.Email == "":
		f.Why = "no e-mail"
	case !p.Consent.Holds(now):
		f.Why = "no consent"
	case refused(p, f.earlier):
		f.Why = "the mail server refused their address"
	default:
		for _, b := range bikes {
			if err := d.addBike(tx, &f, b); err != nil {
				return f, err
			}
		}
	}
	return f, nil
}

// refused reports whether a message was refused since the address was entered: the
// next would be too.
func refused(p wear.Person, messages []wear.Message) bool {
	return slices.ContainsFunc(messages, func(m wear.Message) bool { return m.State == wear.Rejected && m.Ended >= p.Reached })
}

// addBike adds what there is of a bike, and when it comes.
func (d *Desk) addBike(tx *store.Tx, f *remindFacts, b wear.Bike) error {
	c, err := tx.Case(b.ID, f.Today)
	if err != nil {
		return err
	}
	coming, err := d.visitsAhead(tx, b.ID)
	for _, v := range coming {
		f.Visits[b.Name] = v.At
	}
	f.cases, f.visits = append(f.cases, c), append(f.visits, coming...)
	return err
}

// decide decides what a person is told of their bikes. What waits is stale where no
// bike is theirs any more; where they may not be written to, sending withdraws it.
func (f *remindFacts) decide(rules wear.RemindRules) Reminder {
	r := f.Reminder
	if r.Why != "" && len(r.Bikes) > 0 {
		return r
	}
	earlier, waiting := apartWaiting(f.earlier)
	if r.Stale = waiting; r.Why != "" {
		return r
	}
	var findings []wear.Finding
	for _, c := range f.cases {
		findings = append(findings, wear.Assess(c, wear.Default())...)
	}
	r.Told = wear.Remind(r.Person, findings, f.visits, earlier, rules, r.Today)
	switch {
	case len(waiting) == 1 && stillSo(waiting[0], r):
		r.Told, r.Stale, r.Why = nil, nil, "a message waits in the outbox"
	case len(r.Told) == 0:
		r.Why = "nothing new"
	default:
		r.Findings = withDeclined(r.Told, findings)
	}
	return r
}

// apartWaiting parts the messages that wait, and may yet be written anew, from
// those that were told or may have been.
func apartWaiting(messages []wear.Message) (earlier, waiting []wear.Message) {
	for _, m := range messages {
		if m.State == wear.Waiting && !m.Twice {
			waiting = append(waiting, m)
		} else {
			earlier = append(earlier, m)
		}
	}
	return earlier, waiting
}

// staleAfter is how long a message may wait until what it says of days is old;
// *common practice, no published source*.
const staleAfter = 3 * wear.Day

// stillSo reports whether a message that waits says what would be said now.
func stillSo(m wear.Message, r Reminder) bool {
	return m.To == r.Person.Email && r.Today-m.At <= staleAfter && slices.Equal(m.Tells, wear.Mentions(r.Told))
}

// withDeclined adds to what is told what was offered and declined.
func withDeclined(told, all []wear.Finding) []wear.Finding {
	list := slices.Clone(told)
	for _, f := range all {
		same := func(t wear.Finding) bool { return t.PartID == f.PartID && t.Job == f.Job && t.BikeID == f.BikeID }
		if f.Declined != 0 && !slices.ContainsFunc(told, same) {
			list = append(list, f)
		}
	}
	return list
}

// queueBatch is how many messages are stored at once.
const queueBatch = 100

// QueueReminders stores a message for everyone who is to be told something, to
// be sent by [Desk.SendOutbox] or written to files. What is stored counts as
// told: a second run stores nothing again. What waits and is no longer so is
// withdrawn, and written anew where something is left to tell.
func (d *Desk) QueueReminders(ctx context.Context, req RemindRequest) (queued []wear.Message, err error) {
	list, err := d.Reminders(ctx, req)
	if err != nil {
		return nil, err
	}
	var due []Reminder
	for _, r := range list {
		if r.Why == "" || len(r.Stale) > 0 {
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
		f, err := d.remindFacts(tx, p, owned[p.ID])
		if err != nil {
			return nil, err
		}
		r := f.decide(req.Rules)
		for _, m := range r.Stale {
			if err := tx.ChangeMessage(finish(m, wear.Withdrawn, "what it said is no longer so", wear.At(d.Now))); err != nil {
				return nil, err
			}
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
