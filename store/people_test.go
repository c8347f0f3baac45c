package store_test

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// everybody calls all that reads people and what is theirs.
func everybody(tx *store.Tx, bikes []wear.Bike) error {
	people, err := tx.People()
	for _, p := range people {
		_, err := tx.Messages(p.ID)
		if err != nil {
			return err
		}
	}
	for _, b := range bikes {
		if _, err := tx.Visits(b.ID); err != nil {
			return err
		}
	}
	for _, err := range tx.Outbox() {
		if err != nil {
			return err
		}
	}
	_, lost := tx.FindPerson("nobody@example.org")
	var unknown *store.UnknownError
	if !errors.As(lost, &unknown) || tx.Forgotten(1) {
		return errors.Join(errors.New("found a person who is not there"), lost)
	}
	return err
}

func addPerson(t testing.TB, b *store.Book, p wear.Person) wear.Person {
	t.Helper()
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) (err error) {
		p, err = tx.AddPerson(p)
		return err
	}))
	return p
}

func TestFindPerson(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	for _, p := range []wear.Person{
		{Name: "Ina Post", Email: "Ina.Post@example.org"}, {Name: "Ina Post 2"}, {Name: "Ina Post 10", Email: "ten@example.org"},
		{Name: "Öz Kar"}, {Name: "Jo", Email: "jo@example.org"}, {Name: "Jo", Email: "jo@example.net"}, {Name: "ten@example.or"},
	} {
		addPerson(t, b, p)
	}
	tests := []struct{ text, want, err string }{
		{"ina.post@EXAMPLE.org", "Ina Post", ""},
		{" ina post ", "Ina Post", ""},
		{"INA POST 1", "Ina Post 10", ""},
		{"öz", "Öz Kar", ""},
		{"ina", "", `person "ina": could be Ina Post Ina.Post@example.org or Ina Post 2 or Ina Post 10 ten@example.org`},
		{"jo", "", `person "jo": could be Jo jo@example.org or Jo jo@example.net`},
		{"Ina Pots", "", `person "Ina Pots": not in the book`},
		{"", "", `person "": not in the book`},
	}
	view(t, b, func(tx *store.Tx) {
		for _, tt := range tests {
			p, err := tx.FindPerson(tt.text)
			if tt.err != "" {
				require.EqualError(t, err, tt.err)
				continue
			}
			require.NoError(t, err, tt.text)
			assert.Equal(t, tt.want, p.Name)
		}
		all, err := tx.People()
		require.NoError(t, err)
		var names []string
		for _, p := range all {
			names = append(names, p.Name)
		}
		assert.Equal(t, []string{"Ina Post", "Ina Post 2", "Ina Post 10", "Jo", "Jo", "ten@example.or", "Öz Kar"}, names)
	})
}

// TestWrongPeople: each is refused, and none leaves anything.
func TestWrongPeople(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := withBike(t, b)
	ina := addPerson(t, b, wear.Person{Name: "Ina", Email: "ina@example.org"})
	gone := addPerson(t, b, wear.Person{Name: "Gone"})
	_, err := b.Forget(context.Background(), gone.ID, madeRide(1).Start)
	require.NoError(t, err)
	add := func(p wear.Person) func(*store.Tx) error {
		return func(tx *store.Tx) error { _, err := tx.AddPerson(p); return err }
	}
	post := func(m wear.Message) func(*store.Tx) error {
		return func(tx *store.Tx) error { _, err := tx.AddMessage(m); return err }
	}
	tests := map[string]struct {
		do   func(*store.Tx) error
		want string
	}{
		"no name":           {add(wear.Person{}), "needs a name"},
		"control character": {add(wear.Person{Name: "a\r\nb"}), "control characters"},
		"no address":        {add(wear.Person{Name: "A", Email: "A <a@example.org>"}), "not an address"},
		"taken address":     {add(wear.Person{Name: "A", Email: "INA@Example.org"}), `is the address of "Ina"`},
		"in the book":       {add(ina), "is in the book"},
		"forgotten":         {add(gone), "was forgotten"},
		"absurd consent":    {add(wear.Person{Name: "A", Consent: wear.Consent{Given: wear.Never}}), "dated before 1900 or after 2199"},
		"unknown person":    {func(tx *store.Tx) error { return tx.ChangePerson(wear.Person{ID: 9, Name: "A"}) }, "not in the book"},
		"unknown owner": {func(tx *store.Tx) error {
			tx.Begin("test", "", "")
			return tx.ChangeBike(wear.Bike{ID: bike, Name: "Ridge", Owner: 9})
		}, `person "9": not in the book`},
		"visit of no bike":    {func(tx *store.Tx) error { _, err := tx.AddVisit(wear.Visit{Bike: 9}); return err }, `bike "9": not in the book`},
		"message to nobody":   {post(wear.Message{Person: gone.ID}), "not in the book"},
		"sent, with its text": {post(wear.Message{Person: ina.ID, State: wear.Accepted, Text: "x"}), "is sent, but still holds what it said"},
		"rejected, with its address": {
			post(wear.Message{Person: ina.ID, State: wear.Rejected, To: "x"}), "is rejected, but still holds",
		},
		"unknown state":   {post(wear.Message{Person: ina.ID, State: wear.Withdrawn + 1}), "state 5 is not known"},
		"unknown message": {func(tx *store.Tx) error { return tx.ChangeMessage(wear.Message{ID: 9}) }, `message "9": not in the book`},
		"another person's message": {func(tx *store.Tx) error {
			m, err := tx.AddMessage(wear.Message{Person: ina.ID})
			require.NoError(t, err)
			m.Person = 9
			return tx.ChangeMessage(m)
		}, "is to another person"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) { require.ErrorContains(t, b.Update(context.Background(), tt.do), tt.want) })
	}
	view(t, b, func(tx *store.Tx) {
		all, err := tx.People()
		require.NoError(t, err)
		assert.Equal(t, []wear.Person{ina}, all)
		for m, err := range tx.Outbox() {
			require.NoError(t, err)
			assert.Fail(t, "left", "%v", m)
		}
	})
}

// TestPersonalIsNoFact: no entry remembers people and messages, and undo leaves them.
func TestPersonalIsNoFact(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := withBike(t, b)
	var ina wear.Person
	update(t, b, func(tx *store.Tx) {
		var err error
		ina, err = tx.AddPerson(wear.Person{Name: "Ina"})
		require.NoError(t, err)
		_, err = tx.AddMessage(wear.Message{Person: ina.ID, Text: "chain"})
		require.NoError(t, err)
		require.NoError(t, tx.ChangeBike(wear.Bike{ID: bike, Name: "Ridge", Owner: ina.ID}))
	})
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error { _, err := tx.Undo(); return err }))
	view(t, b, func(tx *store.Tx) {
		_, err := tx.Person(ina.ID)
		require.NoError(t, err)
		all, err := tx.Messages(ina.ID)
		require.NoError(t, err)
		assert.Len(t, all, 1)
		k, err := tx.Bike(bike)
		require.NoError(t, err)
		assert.Zero(t, k.Owner)
	})
}

// TestAuditKnowsPeople spoils one thing at a time, beneath the store.
func TestAuditKnowsPeople(t *testing.T) {
	tests := map[string]struct {
		spoil func(tx *store.Tx, p wear.Person, m wear.Message) error
		want  string
	}{
		"message of nobody": {func(tx *store.Tx, p wear.Person, _ wear.Message) error {
			return tx.Bolt().Bucket([]byte("people")).Delete(store.IDKey(p.ID))
		}, "is not in the book"},
		"text of a sent message": {func(tx *store.Tx, _ wear.Person, m wear.Message) error {
			m.State = wear.Accepted
			return store.PutRow(tx, "outbox", m.ID, m)
		}, "is sent, but still holds what it said"},
		"lost index": {func(tx *store.Tx, p wear.Person, m wear.Message) error {
			return tx.Bolt().Bucket([]byte("outbox.person")).Delete(append(store.IDKey(p.ID), store.IDKey(wear.ID(m.ID))...))
		}, "outbox.person"},
		"back from the tomb": {func(tx *store.Tx, p wear.Person, _ wear.Message) error {
			return store.PutRow(tx, "tombs", uint64(p.ID), map[int]int64{1: 7})
		}, "was forgotten"},
		"owner": {func(tx *store.Tx, _ wear.Person, _ wear.Message) error {
			return store.PutRow(tx, "bikes", 5, wear.Bike{ID: 5, Name: "x", Owner: 99})
		}, "its owner 63 is not in the book"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			b := store.At(t.TempDir()+"/book", store.Options{})
			p := addPerson(t, b, wear.Person{Name: "Ina", Email: "ina@example.org"})
			require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
				m, err := tx.AddMessage(wear.Message{Person: p.ID, Text: "chain"})
				require.NoError(t, err)
				return tt.spoil(tx, p, m)
			}))
			report, err := b.Audit(context.Background())
			require.NoError(t, err)
			assert.Contains(t, stringsOf(report.Problems), tt.want)
		})
	}
}

func stringsOf(all []string) (text string) {
	for _, one := range all {
		text += one + "\n"
	}
	return text
}
