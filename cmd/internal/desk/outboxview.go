package desk

import (
	"context"
	"errors"
	"time"

	"pawl/store"
	"pawl/wear"
)

// OutboxState is a message and whose it is.
type OutboxState struct {
	Name    string // "" = forgotten
	Message wear.Message
}

// Outbox lists all messages, oldest first.
func (d *Desk) Outbox(ctx context.Context) (list []OutboxState, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		list = nil
		names := map[wear.ID]string{}
		people, err := tx.People()
		if err != nil {
			return err
		}
		for _, p := range people {
			names[p.ID] = p.Name
		}
		for m, err := range tx.Outbox() {
			if err != nil {
				return err
			}
			list = append(list, OutboxState{names[m.Person], m})
		}
		return nil
	})
	return list, err
}

// WriteOutbox stores a message for everyone who is to be told something, hands
// every message that may be sent to write, and counts as sent what was written.
// It returns how many were; one that cannot be written stops no other.
func (d *Desk) WriteOutbox(ctx context.Context, req RemindRequest, write func(wear.Message) error) (n int, err error) {
	err = d.Book.Alone(ctx, "sending", func() error {
		if _, err := d.QueueReminders(ctx, req); err != nil {
			return err
		}
		s := sender{book: d.Book, now: func() time.Time { return d.Now }, res: &SendResult{}}
		due, err := s.due(ctx)
		if err != nil {
			return err
		}
		var failed []error
		for _, which := range due {
			wrote, err := d.writeOne(ctx, s, which, write)
			if err != nil {
				failed = append(failed, err)
			}
			if wrote {
				n++
			}
		}
		return errors.Join(failed...)
	})
	return n, err
}

// writeOne hands a message to write, if it may be sent.
func (d *Desk) writeOne(ctx context.Context, s sender, which wear.Message, write func(wear.Message) error) (bool, error) {
	m, err := s.begin(ctx, which)
	if err != nil || m.State != wear.Trying {
		return false, err
	}
	if err := write(m); err != nil {
		m.State, m.Tries, m.Why = wear.Waiting, m.Tries-1, "could not be written to a file"
		return false, errors.Join(err, s.note(ctx, m))
	}
	return true, s.note(ctx, finish(m, wear.Accepted, "written to a file", wear.At(d.Now)))
}
