package store

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"iter"
	"slices"

	"pawl/wear"
)

const messageNoun = "message"

// AddMessage puts a message to a person into the outbox and gives it its ID. Like
// what is kept of people it needs no Begin, and undo leaves it.
func (t *Tx) AddMessage(m wear.Message) (wear.Message, error) {
	if _, err := t.Person(m.Person); err != nil {
		return m, err
	}
	if err := dateable(messageNoun, m.At); err != nil {
		return m, err
	}
	id, err := t.newID()
	if err != nil {
		return m, err
	}
	m.ID = uint64(id)
	return m, t.putMessage(m)
}

// ChangeMessage replaces a message: how far it has come. To whom it is and when it
// was stored stay, and so does its end.
func (t *Tx) ChangeMessage(m wear.Message) error {
	old, err := t.Message(m.ID)
	switch {
	case err != nil:
		return err
	case m.Person != old.Person || m.At != old.At:
		return &ConflictError{messageNoun, messageName(m), "is to another person, or of another day", "add another message"}
	case ended(old) && !ended(m):
		return &ConflictError{messageNoun, messageName(m), fmt.Sprintf("is %s, and what it said is gone", old.State), "add another message"}
	}
	return t.putMessage(m)
}

func (t *Tx) putMessage(m wear.Message) error {
	if why := unsound(m); why != "" {
		return &ConflictError{messageNoun, messageName(m), why, "take what it says out of a message that has come to its end"}
	}
	raw, err := codec.Marshal(m)
	if err != nil {
		return err
	}
	return t.keep(bktOutbox, be64(nil, m.ID), raw)
}

func messageName(m wear.Message) string { return fmt.Sprintf("%x", m.ID) }

// ended reports whether a message was sent, refused for good or taken back.
func ended(m wear.Message) bool {
	return m.State == wear.Accepted || m.State == wear.Rejected || m.State == wear.Withdrawn
}

// unsound says what is wrong with a message; "" = nothing.
func unsound(m wear.Message) string {
	switch {
	case m.State > wear.Withdrawn:
		return fmt.Sprintf("state %d is not known", uint8(m.State))
	case ended(m) && m.To+m.Subject+m.Text+m.HTML+m.Calendar != "":
		return fmt.Sprintf("is %s, but still holds what it said", m.State)
	}
	return ""
}

// Message returns the message of that ID.
func (t *Tx) Message(id uint64) (wear.Message, error) {
	m, found, err := get[wear.Message](t, bktOutbox, be64(nil, id))
	if err == nil && !found {
		err = &UnknownError{Noun: messageNoun, Name: fmt.Sprintf("%x", id)}
	}
	return m, err
}

// Messages returns all messages to a person, oldest first.
func (t *Tx) Messages(person wear.ID) ([]wear.Message, error) {
	var all []wear.Message
	for k := range t.under(bktMailOf, id8(person)) {
		m, err := t.Message(binary.BigEndian.Uint64(k[8:]))
		if err != nil {
			return nil, err
		}
		all = append(all, m)
	}
	slices.SortFunc(all, func(a, b wear.Message) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.ID, b.ID)) })
	return all, nil
}

// Outbox goes through the messages of some states, or of all where none is given,
// in order of ID. They may be changed meanwhile: each is told as it then is.
func (t *Tx) Outbox(states ...wear.Sending) iter.Seq2[wear.Message, error] {
	return func(yield func(wear.Message, error) bool) {
		for _, id := range t.messageIDs(states) {
			m, found, err := get[wear.Message](t, bktOutbox, be64(nil, id))
			if (found || err != nil) && (!yield(m, err) || err != nil) {
				return
			}
		}
	}
}

func (t *Tx) messageIDs(states []wear.Sending) []uint64 {
	var ids []uint64
	if len(states) == 0 {
		for k := range t.under(bktOutbox, nil) {
			ids = append(ids, binary.BigEndian.Uint64(k))
		}
		return ids
	}
	for _, state := range states {
		for k := range t.under(bktMailState, []byte{byte(state)}) {
			ids = append(ids, binary.BigEndian.Uint64(k[1:]))
		}
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// mailOfRow is where a message is found by its person.
func mailOfRow(raw []byte) (index, error) {
	var m wear.Message
	err := decoder.Unmarshal(raw, &m)
	return index{bktMailOf, be64(id8(m.Person), m.ID), []byte{byte(m.State)}}, err
}

// mailStateRow is where it is found by its state.
func mailStateRow(raw []byte) (index, error) {
	var m wear.Message
	err := decoder.Unmarshal(raw, &m)
	return index{bktMailState, be64([]byte{byte(m.State)}, m.ID), id8(m.Person)}, err
}

// checkOutbox decodes all messages and finds their people.
func (t *Tx) checkOutbox(r *AuditReport) error {
	for k, v := range t.under(bktOutbox, nil) {
		m, err := decode[wear.Message](t, bktOutbox, k, v)
		if err != nil {
			return err
		}
		if m.ID != binary.BigEndian.Uint64(k) {
			r.problem("message %x: is kept under another number", k)
		}
		if t.row(bktPeople, id8(m.Person)) == nil {
			r.problem("message %x: its person %x is not in the book", k, uint64(m.Person))
		}
		if why := unsound(m); why != "" {
			r.problem("message %x: %s", k, why)
		}
	}
	return nil
}
