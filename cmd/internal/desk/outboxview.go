package desk

import (
	"context"

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
// every message that waits to write, and counts as sent what was written. What must
// not be sent any more is withdrawn instead. It returns how many were written.
func (d *Desk) WriteOutbox(ctx context.Context, req RemindRequest, write func(wear.Message) error) (n int, err error) {
	err = d.Book.Alone(ctx, "sending", func() error {
		if _, err := d.QueueReminders(ctx, req); err != nil {
			return err
		}
		waiting, err := d.waiting(ctx)
		if err != nil {
			return err
		}
		for _, m := range waiting {
			m, may, err := d.permitted(ctx, m)
			if err != nil {
				return err
			}
			if !may {
				continue
			}
			if err := write(m); err != nil {
				return err
			}
			if err := d.written(ctx, m); err != nil {
				return err
			}
			n++
		}
		return nil
	})
	return n, err
}

// waiting are the messages that were not sent yet.
func (d *Desk) waiting(ctx context.Context) (list []wear.Message, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		list = nil
		for m, err := range tx.Outbox(wear.Waiting, wear.Trying) {
			if err != nil {
				return err
			}
			list = append(list, m)
		}
		return nil
	})
	return list, err
}

// permitted is a message as it is now, and whether it may go out; where it must not
// be sent any more it is withdrawn. Of one that a run which broke off left as being
// tried the server may have a copy.
func (d *Desk) permitted(ctx context.Context, which wear.Message) (m wear.Message, may bool, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		var found bool
		m, found, err = messageOf(tx, which)
		if may = found && (m.State == wear.Waiting || m.State == wear.Trying); err != nil || !may {
			return err
		}
		now := wear.At(d.Now)
		why, err := forbids(tx, m, now)
		if err != nil {
			return err
		}
		if why != "" {
			may = false
			return tx.ChangeMessage(finish(m, wear.Withdrawn, why, now))
		}
		m.Twice = m.Twice || m.State == wear.Trying
		return nil
	})
	return m, may, err
}

// written marks a message that was written to a file as sent.
func (d *Desk) written(ctx context.Context, m wear.Message) error {
	m = finish(m, wear.Accepted, "written to a file", wear.At(d.Now))
	return d.Book.Update(ctx, func(tx *store.Tx) error { return tx.ChangeMessage(m) })
}
