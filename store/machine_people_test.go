package store_test

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/store"
	"pawl/wear"
)

// people is the model of what undo leaves: who is known, who is forgotten, and
// what was sent.
type people struct {
	known     map[wear.ID]wear.Person
	forgotten map[wear.ID]bool
	messages  map[uint64]wear.Message
	n         int
}

func newPeople() people {
	return people{map[wear.ID]wear.Person{}, map[wear.ID]bool{}, map[uint64]wear.Message{}, 0}
}

func (x *machine) drawPerson(t *rapid.T) wear.Person {
	all := sorted(x.people.known, func(a, b wear.Person) int { return cmp.Compare(a.ID, b.ID) })
	if len(all) == 0 {
		t.Skip("nobody")
	}
	return rapid.SampledFrom(all).Draw(t, "person")
}

func sorted[K comparable, T any](all map[K]T, by func(a, b T) int) (list []T) {
	for _, one := range all {
		list = append(list, one)
	}
	slices.SortFunc(list, by)
	return list
}

func (x *machine) AddPerson(t *rapid.T) {
	x.people.n++
	p := wear.Person{Name: fmt.Sprintf("Somebody %d", x.people.n), Email: fmt.Sprintf("s%d@example.org", x.people.n)}
	require.NoError(t, x.book.Update(context.Background(), func(tx *store.Tx) (err error) {
		p, err = tx.AddPerson(p)
		return err
	}))
	x.people.known[p.ID] = p
}

func (x *machine) ChangePerson(t *rapid.T) {
	p := x.drawPerson(t)
	p.Imperial, p.Consent = !p.Imperial, wear.Consent{Given: drawInstant(t, "given"), How: "at the counter"}
	p.Email = rapid.SampledFrom([]string{"", p.Email, fmt.Sprintf("S%d@example.net", p.ID)}).Draw(t, "e-mail")
	require.NoError(t, x.book.Update(context.Background(), func(tx *store.Tx) error { return tx.ChangePerson(p) }))
	x.people.known[p.ID] = p
}

// ChangeOwner gives a bike to somebody, which undo takes back.
func (x *machine) ChangeOwner(t *rapid.T) {
	i := rapid.IntRange(0, len(x.m.bikes)-1).Draw(t, "bike")
	owner := x.drawPerson(t).ID
	x.entry(t, func(tx *store.Tx, m *model) error {
		b, err := tx.Bike(m.bikes[i].ID)
		if err != nil {
			return err
		}
		m.bikes[i].Owner = owner
		note := "x" // also where it is the owner's already, there is something to take back
		if b.Note == note {
			note = ""
		}
		b.Owner, b.Note = owner, note
		return tx.ChangeBike(b)
	})
}

func (x *machine) AddMessage(t *rapid.T) {
	m := wear.Message{Person: x.drawPerson(t).ID, At: drawInstant(t, "at"), To: "a@example.org", Text: "due: chain"}
	require.NoError(t, x.book.Update(context.Background(), func(tx *store.Tx) (err error) {
		m, err = tx.AddMessage(m)
		return err
	}))
	x.people.messages[m.ID] = m
}

func (x *machine) ChangeMessage(t *rapid.T) {
	all := sorted(x.people.messages, func(a, b wear.Message) int { return cmp.Compare(a.ID, b.ID) })
	if len(all) == 0 {
		t.Skip("no messages")
	}
	old := rapid.SampledFrom(all).Draw(t, "message")
	m := old
	m.State = wear.Sending(rapid.IntRange(0, 4).Draw(t, "state"))
	if m.State >= wear.Accepted {
		m.To, m.Text = "", ""
	}
	err := x.book.Update(context.Background(), func(tx *store.Tx) error { return tx.ChangeMessage(m) })
	if old.State >= wear.Accepted && m.State < wear.Accepted {
		require.ErrorContains(t, err, "what it said is gone")
		return
	}
	require.NoError(t, err)
	x.people.messages[m.ID] = m
}

// Forget writes the book anew; undo goes on behind it as if nothing had been.
func (x *machine) Forget(t *rapid.T) {
	p := x.drawPerson(t)
	report, err := x.book.Forget(context.Background(), p.ID, drawInstant(t, "at"))
	require.NoError(t, err)
	gone := 0
	for id, m := range x.people.messages {
		if m.Person == p.ID {
			delete(x.people.messages, id)
			gone++
		}
	}
	require.Equal(t, store.ForgetReport{Messages: gone}, report)
	delete(x.people.known, p.ID)
	x.people.forgotten[p.ID] = true
}

// checkPeople compares people, messages, and whose the bikes are: those of a
// person who was forgotten are nobody's, even where undo brings his number back.
func (x *machine) checkPeople(t *rapid.T, tx *store.Tx) {
	all, err := tx.People()
	require.NoError(t, err)
	require.Equal(t, sorted(x.people.known, func(a, b wear.Person) int { return wear.Naturally(a.Name, b.Name) }), all)
	for id := range x.people.forgotten {
		require.True(t, tx.Forgotten(id))
	}
	for _, p := range all {
		require.False(t, tx.Forgotten(p.ID))
		var want []wear.Message
		for _, m := range x.people.messages {
			if m.Person == p.ID {
				want = append(want, m)
			}
		}
		slices.SortFunc(want, func(a, b wear.Message) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.ID, b.ID)) })
		got, err := tx.Messages(p.ID)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	for _, states := range [][]wear.Sending{nil, {wear.Accepted, wear.Waiting}, {wear.Trying, wear.Trying}} {
		var want, got []uint64
		for id, m := range x.people.messages {
			if states == nil || slices.Contains(states, m.State) {
				want = append(want, id)
			}
		}
		slices.Sort(want)
		for m, err := range tx.Outbox(states...) {
			require.NoError(t, err)
			got = append(got, m.ID)
		}
		require.Equal(t, want, got)
	}
	for _, want := range x.m.bikes {
		b, err := tx.Bike(want.ID)
		require.NoError(t, err)
		require.Equal(t, x.living(want.Owner), x.living(b.Owner))
	}
}

func (x *machine) living(owner wear.ID) wear.ID {
	if x.people.forgotten[owner] {
		return 0
	}
	return owner
}
