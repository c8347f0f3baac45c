package desk

import (
	"context"
	"errors"
	"regexp"
	"time"

	"pawl/store"
	"pawl/wear"
)

// pauses are how long a message waits after the server asked for another try; one
// more refusal after the last, and it is given up. Servers that let strangers in
// only at a second try want minutes to an hour: common practice, no published source.
var pauses = [...]time.Duration{15 * time.Minute, time.Hour, 4 * time.Hour, 12 * time.Hour}

// SendResult counts what became of the messages that were due.
type SendResult struct {
	Accepted  int
	Rejected  int // for good, or once too often
	Withdrawn int // the person may not be written to any more, or has another address
	Later     int // the server asked for another try
	Twice     int // sent again after a try of which nobody knows how it ended
	Left      int // not tried: the run stopped before
}

// SendOutbox sends what waits in the outbox and is due. Each message is marked
// before it is tried and after, in transactions of their own, so that a run that
// breaks off at any moment loses none, and sends none again without saying so.
// It returns what it did also with an error: a *PostError where the server is
// dead, or that of ctx, which is looked at between messages. One run at a time.
func (d *Desk) SendOutbox(ctx context.Context, poster Poster, now func() time.Time) (res SendResult, err error) {
	err = d.Book.Alone(ctx, "sending", func() error {
		s := sender{book: d.Book, poster: poster, now: now, res: &res}
		return s.run(ctx)
	})
	return res, err
}

// sender is one run.
type sender struct {
	book   *store.Book
	poster Poster
	now    func() time.Time
	res    *SendResult
}

func (s *sender) run(ctx context.Context) error {
	due, err := s.due(ctx)
	if err != nil {
		return err
	}
	s.res.Left = len(due)
	for _, m := range due {
		if err := ctx.Err(); err != nil {
			return err
		}
		m, err := s.begin(ctx, m)
		if err != nil {
			return err
		}
		s.res.Left--
		if m.State != wear.Trying {
			continue
		}
		if err := s.try(ctx, m); err != nil {
			return err
		}
	}
	return nil
}

// due lists the messages whose time has come, and those that a run which broke
// off left as being tried: nobody else sends at this moment.
func (s *sender) due(ctx context.Context) (due []wear.Message, err error) {
	now := wear.At(s.now())
	err = s.book.View(ctx, func(tx *store.Tx) error {
		for m, err := range tx.Outbox(wear.Waiting, wear.Trying) {
			if err != nil {
				return err
			}
			if m.State == wear.Trying || m.Next <= now {
				due = append(due, wear.Message{ID: m.ID, Person: m.Person})
			}
		}
		return nil
	})
	if errors.Is(err, store.ErrNoBook) {
		return nil, nil
	}
	return due, err
}

// begin marks a message as being tried, and returns it; or withdraws it, where
// the person is not to be written to any more, or not at that address: then the
// next run of reminders writes anew.
func (s *sender) begin(ctx context.Context, which wear.Message) (m wear.Message, err error) {
	withdrawn := 0
	err = s.book.Update(ctx, func(tx *store.Tx) error {
		var found bool
		m, found, err = messageOf(tx, which)
		if err != nil || !found || m.State != wear.Waiting && m.State != wear.Trying {
			return err // taken back meanwhile, or its person was forgotten
		}
		now := wear.At(s.now())
		why, err := forbids(tx, m, now)
		switch {
		case err != nil:
			return err
		case why != "":
			m, withdrawn = finish(m, wear.Withdrawn, why, now), 1
		default:
			m.Twice = m.Twice || m.State == wear.Trying
			m.State, m.Tries = wear.Trying, m.Tries+1
		}
		return tx.ChangeMessage(m)
	})
	if err == nil {
		s.res.Withdrawn += withdrawn
	}
	return m, err
}

// messageOf reads a message as it is now.
func messageOf(tx *store.Tx, which wear.Message) (wear.Message, bool, error) {
	all, err := tx.Messages(which.Person)
	for _, m := range all {
		if m.ID == which.ID {
			return m, true, err
		}
	}
	return wear.Message{}, false, err
}

// forbids says why a message must not be sent; "" = it may.
func forbids(tx *store.Tx, m wear.Message, now wear.Instant) (string, error) {
	p, err := tx.Person(m.Person)
	switch {
	case err != nil:
		return "", err
	case !p.Consent.Holds(now):
		return "there is no consent that holds", nil
	case p.Email != m.To:
		return "the person has another address now", nil
	}
	return "", nil
}

// finish brings a message to its end: what it said goes.
func finish(m wear.Message, state wear.Sending, why string, now wear.Instant) wear.Message {
	m.State, m.Why, m.Ended, m.Next = state, why, now, 0
	m.To, m.Subject, m.Text, m.HTML, m.Calendar = "", "", "", "", ""
	return m
}

// try posts a message and notes what came of it. Its error ends the run.
func (s *sender) try(ctx context.Context, m wear.Message) error {
	if m.Twice {
		s.res.Twice++
	}
	m, stop := s.outcome(m, s.poster.Post(ctx, m))
	if err := s.note(context.WithoutCancel(ctx), m); err != nil {
		return err
	}
	return stop
}

// outcome is what a message becomes by what the server said, and the error that
// ends the run: no other message would fare better.
func (s *sender) outcome(m wear.Message, failed error) (wear.Message, error) {
	now := wear.At(s.now())
	if failed == nil {
		s.res.Accepted++
		return finish(m, wear.Accepted, "", now), nil
	}
	var p *PostError
	posted := errors.As(failed, &p)
	if !posted || p.Dead { // not the message's fault: the try does not count
		s.res.Left++
		m.State, m.Tries, m.Why = wear.Waiting, m.Tries-1, nameless(failed.Error(), m.To)
		return m, failed
	}
	why := nameless(p.Msg, m.To)
	m.Twice = m.Twice || p.Unsure
	if p.Permanent || m.PutOff == len(pauses) {
		s.res.Rejected++
		return finish(m, wear.Rejected, why, now), nil
	}
	s.res.Later++
	m.State, m.Why = wear.Waiting, why
	m.Next = now + wear.Instant(pauses[m.PutOff].Milliseconds())
	m.PutOff++
	return m, nil
}

// nameless is what a server said without the address, which must not outlive the
// message.
func nameless(text, address string) string {
	return regexp.MustCompile("(?i)"+regexp.QuoteMeta(address)).ReplaceAllLiteralString(text, "this address")
}

// note writes down what came of a try. A book that another program holds is
// waited for: without the note the message would go out again.
func (s *sender) note(ctx context.Context, m wear.Message) error {
	const waits = 6 // each as long as the book's patience
	var held *store.HeldError
	var err error
	for range waits {
		err = s.book.Update(ctx, func(tx *store.Tx) error {
			old, found, err := messageOf(tx, m)
			if err != nil || !found || old.State != wear.Trying && m.State != wear.Accepted {
				return err // forgotten or taken back meanwhile
			}
			return tx.ChangeMessage(m)
		})
		if !errors.As(err, &held) {
			break
		}
	}
	return err
}
