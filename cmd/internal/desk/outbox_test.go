package desk

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

var sendingDay = time.Date(2026, 6, 1, 9, 0, 0, 0, time.UTC)

// fakePoster answers by address and notes what it was given.
type fakePoster struct {
	answers map[string]error
	posted  []wear.Message
	meet    func(m wear.Message) // called while a message is on its way
}

func (f *fakePoster) Post(_ context.Context, m wear.Message) error {
	f.posted = append(f.posted, m)
	if f.meet != nil {
		f.meet(m)
	}
	return f.answers[m.To]
}

// outboxDesk is a desk whose book has a message to each of some people.
func outboxDesk(t *testing.T, names ...string) *Desk {
	t.Helper()
	d := &Desk{Book: storetest.Open(t, store.Options{}), Now: sendingDay}
	fillOutbox(t, d.Book, names...)
	return d
}

// fillOutbox adds people with consent, and a message to each.
func fillOutbox(t *testing.T, book *store.Book, names ...string) {
	t.Helper()
	at := wear.At(sendingDay)
	require.NoError(t, book.Update(t.Context(), func(tx *store.Tx) error {
		for _, name := range names {
			p, err := tx.AddPerson(wear.Person{
				Name: name, Email: name + "@x.example", Consent: wear.Consent{Given: at - wear.Day, How: "at the counter"}, Added: at - wear.Day,
			})
			if err != nil {
				return err
			}
			m := testMessage(p.Email)
			m.ID, m.Person, m.At, m.MessageID = 0, p.ID, at, name+"@ridge.example"
			if _, err := tx.AddMessage(m); err != nil {
				return err
			}
		}
		return nil
	}))
}

// outboxOf is what the outbox says of each person, by name.
func outboxOf(t *testing.T, book *store.Book) map[string]wear.Message {
	t.Helper()
	all := map[string]wear.Message{}
	require.NoError(t, book.View(t.Context(), func(tx *store.Tx) error {
		for m, err := range tx.Outbox() {
			if err != nil {
				return err
			}
			p, err := tx.Person(m.Person)
			if err != nil {
				return err
			}
			all[p.Name] = m
		}
		return nil
	}))
	return all
}

// changed changes the message to somebody.
func changed(t *testing.T, d *Desk, name string, change func(*wear.Message)) {
	t.Helper()
	m := outboxOf(t, d.Book)[name]
	change(&m)
	require.NoError(t, d.Book.Update(t.Context(), func(tx *store.Tx) error { return tx.ChangeMessage(m) }))
}

// person changes what is known of somebody.
func person(t *testing.T, d *Desk, name string, change func(*wear.Person)) {
	t.Helper()
	require.NoError(t, d.Book.Update(context.Background(), func(tx *store.Tx) error {
		p, err := tx.FindPerson(name)
		if err != nil {
			return err
		}
		change(&p)
		return tx.ChangePerson(p)
	}))
}

func clock(at time.Time) func() time.Time { return func() time.Time { return at } }

func TestSendOutboxSendsEachOnce(t *testing.T) {
	d, f := outboxDesk(t, "ann", "ben"), &fakePoster{}
	res, err := d.SendOutbox(t.Context(), f, clock(sendingDay))
	require.NoError(t, err)
	assert.Equal(t, SendResult{Accepted: 2}, res)
	require.Len(t, f.posted, 2)
	ann := f.posted[0]
	assert.Equal(t, wear.Trying, ann.State)
	assert.Equal(t, "ann@x.example", ann.To)
	assert.Equal(t, "ann@ridge.example", ann.MessageID)
	assert.NotEmpty(t, ann.Text)

	got := outboxOf(t, d.Book)["ann"]
	assert.Equal(t, wear.Message{
		ID: ann.ID, Person: ann.Person, At: ann.At, MessageID: ann.MessageID, State: wear.Accepted, Tries: 1, Ended: wear.At(sendingDay),
	}, got)
	res, err = d.SendOutbox(t.Context(), f, clock(sendingDay.Add(48*time.Hour)))
	require.NoError(t, err)
	assert.Equal(t, SendResult{}, res)
}

func TestSendOutboxWithoutBook(t *testing.T) {
	d := &Desk{Book: store.At(filepath.Join(t.TempDir(), "book"), store.Options{})}
	res, err := d.SendOutbox(t.Context(), &fakePoster{}, clock(sendingDay))
	require.NoError(t, err)
	assert.Equal(t, SendResult{}, res)
}

// The message is marked before it goes out, for others to see.
func TestSendOutboxMarksBeforeItSends(t *testing.T) {
	d := outboxDesk(t, "ann")
	seen := wear.Message{}
	f := &fakePoster{meet: func(wear.Message) { seen = outboxOf(t, d.Book)["ann"] }}
	_, err := d.SendOutbox(t.Context(), f, clock(sendingDay))
	require.NoError(t, err)
	assert.Equal(t, wear.Trying, seen.State)
	assert.Equal(t, 1, seen.Tries)
}

func TestSendOutboxWithdraws(t *testing.T) {
	day := wear.At(sendingDay)
	for name, c := range map[string]struct {
		change func(*wear.Person)
		want   string
	}{
		"consent ended":   {func(p *wear.Person) { p.Consent.Ended = day }, "there is no consent that holds"},
		"consent to come": {func(p *wear.Person) { p.Consent.Given = day + 1 }, "there is no consent that holds"},
		"never given":     {func(p *wear.Person) { p.Consent = wear.Consent{} }, "there is no consent that holds"},
		"another address": {func(p *wear.Person) { p.Email = "new@x.example" }, "the person has another address now"},
		"no address":      {func(p *wear.Person) { p.Email = "" }, "the person has another address now"},
	} {
		t.Run(name, func(t *testing.T) {
			d, f := outboxDesk(t, "ann", "ben"), &fakePoster{}
			person(t, d, "ann", c.change)
			res, err := d.SendOutbox(t.Context(), f, clock(sendingDay))
			require.NoError(t, err)
			assert.Equal(t, SendResult{Accepted: 1, Withdrawn: 1}, res)
			require.Len(t, f.posted, 1)
			got := outboxOf(t, d.Book)["ann"]
			assert.Equal(t, wear.Withdrawn, got.State)
			assert.Equal(t, c.want, got.Why)
			assert.Equal(t, day, got.Ended)
			assert.Empty(t, got.To+got.Subject+got.Text+got.HTML)
		})
	}
}

// Consent that ends during the run holds back the messages that are still to come.
func TestSendOutboxLooksAtConsentBeforeEach(t *testing.T) {
	d := outboxDesk(t, "ann", "ben")
	f := &fakePoster{meet: func(wear.Message) {
		person(t, d, "ben", func(p *wear.Person) { p.Consent.Ended = wear.At(sendingDay) })
	}}
	res, err := d.SendOutbox(t.Context(), f, clock(sendingDay))
	require.NoError(t, err)
	assert.Equal(t, SendResult{Accepted: 1, Withdrawn: 1}, res)
}

func TestSendOutboxForgottenMeanwhile(t *testing.T) {
	d := outboxDesk(t, "ann", "ben")
	forget := func(name string) {
		var who wear.Person
		require.NoError(t, d.Book.View(context.Background(), func(tx *store.Tx) (err error) {
			who, err = tx.FindPerson(name)
			return err
		}))
		_, err := d.Book.Forget(context.Background(), who.ID, wear.At(sendingDay))
		require.NoError(t, err)
	}
	f := &fakePoster{meet: func(wear.Message) { forget("ann"); forget("ben") }}
	res, err := d.SendOutbox(t.Context(), f, clock(sendingDay))
	require.NoError(t, err)
	assert.Equal(t, SendResult{Accepted: 1}, res)
	assert.Empty(t, outboxOf(t, d.Book))
}

// Five tries, with growing pauses, and then no more.
func TestSendOutboxTriesLater(t *testing.T) {
	d := outboxDesk(t, "ann", "ben")
	f := &fakePoster{answers: map[string]error{"ann@x.example": &PostError{Code: 451, Msg: "451 <Ann@X.example> try later"}}}
	at := sendingDay
	for i, pause := range []time.Duration{15 * time.Minute, time.Hour, 4 * time.Hour, 12 * time.Hour} {
		res, err := d.SendOutbox(t.Context(), f, clock(at))
		require.NoError(t, err)
		assert.Equal(t, 1, res.Later)
		got := outboxOf(t, d.Book)["ann"]
		assert.Equal(t, wear.Waiting, got.State)
		assert.Equal(t, i+1, got.Tries)
		assert.Equal(t, wear.At(at.Add(pause)), got.Next)
		assert.Equal(t, "451 <this address> try later", got.Why)
		assert.NotEmpty(t, got.Text)

		at = at.Add(pause)
		res, err = d.SendOutbox(t.Context(), f, clock(at.Add(-time.Millisecond)))
		require.NoError(t, err)
		assert.Equal(t, SendResult{}, res, "not before its time")
	}
	res, err := d.SendOutbox(t.Context(), f, clock(at))
	require.NoError(t, err)
	assert.Equal(t, SendResult{Rejected: 1}, res)
	got := outboxOf(t, d.Book)["ann"]
	assert.Equal(t, wear.Rejected, got.State)
	assert.Equal(t, 5, got.Tries)
	assert.Empty(t, got.To+got.Text)
	assert.Len(t, f.posted, 6, "five tries for one, one for the other")
}

// Tries that broke off say nothing of the server: after any number of them its first
// "later" is the first, and a message is not given up for them.
func TestSendOutboxCountsWhatTheServerSaid(t *testing.T) {
	d := outboxDesk(t, "ann")
	f := &fakePoster{answers: map[string]error{"ann@x.example": &PostError{Code: 451, Msg: "451 try later"}}}
	changed(t, d, "ann", func(m *wear.Message) { m.State, m.Tries = wear.Trying, 7 }) // crashes left it so
	at := sendingDay
	for i, pause := range pauses {
		res, err := d.SendOutbox(t.Context(), f, clock(at))
		require.NoError(t, err)
		assert.Equal(t, 1, res.Later)
		got := outboxOf(t, d.Book)["ann"]
		assert.Equal(t, wear.At(at.Add(pause)), got.Next)
		assert.Equal(t, 8+2*i, got.Tries, "those that broke off are tries")
		at = at.Add(pause)
		changed(t, d, "ann", func(m *wear.Message) { m.State, m.Tries = wear.Trying, m.Tries+1 })
	}
	res, err := d.SendOutbox(t.Context(), f, clock(at))
	require.NoError(t, err)
	assert.Equal(t, SendResult{Rejected: 1, Twice: 1}, res)
}

func TestSendOutboxRefusedForGood(t *testing.T) {
	d := outboxDesk(t, "ann", "ben")
	f := &fakePoster{answers: map[string]error{"ann@x.example": &PostError{Code: 550, Permanent: true, Msg: "550 ann@x.example: no such mailbox"}}}
	res, err := d.SendOutbox(t.Context(), f, clock(sendingDay))
	require.NoError(t, err)
	assert.Equal(t, SendResult{Accepted: 1, Rejected: 1}, res)
	got := outboxOf(t, d.Book)["ann"]
	assert.Equal(t, wear.Rejected, got.State)
	assert.Equal(t, "550 this address: no such mailbox", got.Why)
	assert.Empty(t, got.To+got.Subject+got.Text+got.HTML)
}

func TestSendOutboxStopsWithADeadServer(t *testing.T) {
	for name, stop := range map[string]error{
		"dead":      &PostError{Dead: true, Msg: "cannot be reached"},
		"cancelled": context.Canceled,
		"unknown":   errors.New("cannot be reached"),
	} {
		t.Run(name, func(t *testing.T) {
			d := outboxDesk(t, "ann", "ben", "cat")
			f := &fakePoster{answers: map[string]error{"ben@x.example": stop}}
			res, err := d.SendOutbox(t.Context(), f, clock(sendingDay))
			assert.Equal(t, stop, err)
			assert.Equal(t, SendResult{Accepted: 1, Left: 2}, res)
			got := outboxOf(t, d.Book)
			assert.Equal(t, wear.Waiting, got["ben"].State)
			assert.Zero(t, got["ben"].Tries, "it does not count")
			assert.Equal(t, stop.Error(), got["ben"].Why)
			assert.False(t, got["ben"].Twice)
			f.answers = nil
			res, err = d.SendOutbox(t.Context(), f, clock(sendingDay))
			require.NoError(t, err)
			assert.Equal(t, SendResult{Accepted: 2}, res)
		})
	}
}

func TestSendOutboxSaysPerhapsTwice(t *testing.T) {
	d, f := outboxDesk(t, "ann", "ben"), &fakePoster{}
	changed(t, d, "ann", func(m *wear.Message) { m.State, m.Tries = wear.Trying, 1 }) // a crash left it so
	f.answers = map[string]error{"ben@x.example": &PostError{Unsure: true, Msg: "EOF"}}
	res, err := d.SendOutbox(t.Context(), f, clock(sendingDay))
	require.NoError(t, err)
	assert.Equal(t, SendResult{Accepted: 1, Later: 1, Twice: 1}, res)
	f.answers = nil
	_, err = d.SendOutbox(t.Context(), f, clock(sendingDay.Add(time.Hour)))
	require.NoError(t, err)
	got := outboxOf(t, d.Book)
	for _, name := range []string{"ann", "ben"} {
		assert.Equal(t, wear.Accepted, got[name].State)
		assert.True(t, got[name].Twice, name)
		assert.Equal(t, 2, got[name].Tries)
		assert.Equal(t, name+"@ridge.example", got[name].MessageID)
	}
	assert.Equal(t, f.posted[1].MessageID, f.posted[2].MessageID)
}

func TestSendOutboxEndsBetweenMessages(t *testing.T) {
	d := outboxDesk(t, "ann", "ben")
	ctx, cancel := context.WithCancel(t.Context())
	f := &fakePoster{meet: func(wear.Message) { cancel() }}
	res, err := d.SendOutbox(ctx, f, clock(sendingDay))
	assert.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, SendResult{Accepted: 1, Left: 1}, res)
	got := outboxOf(t, d.Book)
	assert.Equal(t, wear.Accepted, got["ann"].State, "what was on its way is noted")
	assert.Equal(t, wear.Waiting, got["ben"].State)
	assert.Zero(t, got["ben"].Tries)
}

func TestSendOutboxOneAtATime(t *testing.T) {
	d := outboxDesk(t, "ann")
	var other error
	f := &fakePoster{meet: func(wear.Message) {
		second := &Desk{Book: store.At(d.Book.Path(), store.Options{}), Now: sendingDay}
		_, other = second.SendOutbox(context.Background(), &fakePoster{}, clock(sendingDay))
	}}
	_, err := d.SendOutbox(t.Context(), f, clock(sendingDay))
	require.NoError(t, err)
	var held *store.HeldError
	require.ErrorAs(t, other, &held, fmt.Sprint(other))
	assert.Len(t, f.posted, 1)
}
