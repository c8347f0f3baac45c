package store_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

var forgetAt = wear.At(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC))

// hers are the words that must not be in the file any more, in small letters.
var hers = []string{"änne holm", "anne@holm.example", "secret-token", "at the counter", "calls before noon"}

// annesBook is a book with two bikes of Änne's, one of which is called after her,
// a history that names her, messages, and the names that others wrote.
func annesBook(t testing.TB, b *store.Book) (anne wear.Person, bikes []wear.ID) {
	anne = addPerson(t, b, wear.Person{
		Name: "Änne Holm", Email: "Anne@Holm.example", Note: "Calls before noon",
		Consent: wear.Consent{Given: madeRide(1).Start, How: "at the counter"},
	})
	other := addPerson(t, b, wear.Person{Name: "Bo", Email: "bo@example.org"})
	bikes = twoBikes(t, b)[:2]
	entry := func(verb, target string, fn func(tx *store.Tx) error) {
		require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
			tx.Begin(verb, target, "")
			return fn(tx)
		}))
	}
	change := func(k wear.Bike) func(tx *store.Tx) error {
		return func(tx *store.Tx) error { return tx.ChangeBike(k) }
	}
	entry("bike change", "Ridge", change(wear.Bike{ID: bikes[0], Name: "ÄNNE HOLM's", Note: "Calls before noon", Owner: anne.ID}))
	entry("bike change", "änne holm's", change(wear.Bike{ID: bikes[0], Name: "ÄNNE HOLM's", Note: "Calls before noon", Owner: anne.ID, Mass: 14}))
	entry("bike change", "Gully", change(wear.Bike{ID: bikes[1], Name: "Gully", Note: "bill anne@holm.example", Owner: anne.ID}))
	entry("ride add", "änne holm's", func(tx *store.Tx) error { _, err := importOne(tx, bikes[0], 1); return err })
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
		for i := range 300 {
			m, err := tx.AddMessage(wear.Message{Person: anne.ID, At: madeRide(i).Start, To: anne.Email, Text: "Hello Änne Holm, secret-token " + fmt.Sprint(i)})
			require.NoError(t, err)
			if i%2 == 0 {
				m.State, m.To, m.Text = wear.Accepted, "", ""
				require.NoError(t, tx.ChangeMessage(m))
			}
		}
		_, err := tx.AddMessage(wear.Message{Person: other.ID, At: madeRide(1).Start, Text: "Hello Bo"})
		return err
	}))
	return anne, bikes
}

func found(raw []byte) (words []string) {
	raw = bytes.ToLower(raw)
	for _, word := range hers {
		if bytes.Contains(raw, []byte(word)) {
			words = append(words, word)
		}
	}
	return words
}

func TestForget(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	anne, bikes := annesBook(t, b)
	before := readFile(t, b.Path())
	require.Equal(t, hers, found(before))
	require.NoError(t, os.Chmod(b.Path(), 0o640))
	var sums wear.Case
	view(t, b, func(tx *store.Tx) {
		var err error
		sums, err = tx.Case(bikes[0], wear.Never)
		require.NoError(t, err)
		still, err := tx.StillNamed(anne.ID)
		require.NoError(t, err)
		assert.Empty(t, still)
	})

	report, err := b.Forget(context.Background(), anne.ID, forgetAt)
	require.NoError(t, err)
	assert.Equal(t, store.ForgetReport{Renamed: []string{"bike-1"}, Messages: 300, Entries: 1}, report)
	assert.Empty(t, found(readFile(t, b.Path())))
	info, err := os.Stat(b.Path())
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o640), info.Mode().Perm())
	assert.NotContains(t, names(t, filepath.Dir(b.Path())), filepath.Base(b.Path())+".new")
	storetest.Check(t, b)

	view(t, b, func(tx *store.Tx) {
		ridge, err := tx.Bike(bikes[0])
		require.NoError(t, err)
		assert.Equal(t, wear.Bike{ID: bikes[0], Name: "bike-1", Mass: 14}, ridge)
		gully, err := tx.FindBike("Gully")
		require.NoError(t, err)
		assert.Equal(t, wear.Bike{ID: bikes[1], Name: "Gully"}, gully)
		c, err := tx.Case(bikes[0], wear.Never)
		require.NoError(t, err)
		assert.Equal(t, sums.Lines, c.Lines, "its wear stays")
		assert.True(t, tx.Forgotten(anne.ID))
		_, err = tx.Person(anne.ID)
		require.ErrorContains(t, err, "not in the book")
		var targets []string
		for e, err := range tx.Entries(false) {
			require.NoError(t, err)
			targets = append(targets, e.Verb+" "+e.Target)
		}
		assert.Equal(t, []string{"test ", "bike change Ridge", "bike change forgotten", "bike change Gully", "ride add forgotten"}, targets)
		n := 0
		for m, err := range tx.Outbox() {
			require.NoError(t, err)
			assert.Equal(t, "Hello Bo", m.Text)
			n++
		}
		assert.Equal(t, 1, n)
	})
	_, err = b.Forget(context.Background(), anne.ID, forgetAt)
	require.ErrorContains(t, err, "not in the book")
}

// TestUndoAfterForget: what came later can be taken back; an erased entry, and all
// before it, says why not.
func TestUndoAfterForget(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	anne, bikes := annesBook(t, b)
	_, err := b.Forget(context.Background(), anne.ID, forgetAt)
	require.NoError(t, err)
	undo := func() error {
		return b.Update(context.Background(), func(tx *store.Tx) error { _, err := tx.Undo(); return err })
	}
	require.NoError(t, undo(), "the ride")
	require.NoError(t, undo(), "the owner of the other bike")
	view(t, b, func(tx *store.Tx) {
		gully, err := tx.Bike(bikes[1])
		require.NoError(t, err)
		assert.Equal(t, wear.Bike{ID: bikes[1], Name: "Gully"}, gully)
	})
	for range 2 {
		var conflict *store.ConflictError
		require.ErrorAs(t, undo(), &conflict)
		assert.Equal(t, `entry "bike change forgotten": cannot be taken back, nor can what is older: what was before it went with a person who was forgotten`, conflict.Error())
		assert.NotEmpty(t, conflict.Hint())
	}
}

// TestForgetPicksAFreeName: neither one that a bike has, nor one that undo could
// give back to a bike.
func TestForgetPicksAFreeName(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	ann := addPerson(t, b, wear.Person{Name: "Ann"})
	var was wear.Bike
	update(t, b, func(tx *store.Tx) {
		for _, k := range []wear.Bike{{Name: "Bike-1"}, {Name: "bike-2"}, {Name: "ann", Owner: ann.ID}, {Name: "annual", Owner: ann.ID}} {
			k, err := tx.AddBike(k)
			require.NoError(t, err)
			if k.Name == "bike-2" {
				was = k
			}
		}
	})
	update(t, b, func(tx *store.Tx) { require.NoError(t, tx.ChangeBike(wear.Bike{ID: was.ID, Name: "Gully"})) })
	report, err := b.Forget(context.Background(), ann.ID, forgetAt)
	require.NoError(t, err)
	assert.Equal(t, []string{"bike-3"}, report.Renamed)
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error { _, err := tx.Undo(); return err }))
	view(t, b, func(tx *store.Tx) {
		_, err := tx.FindBike("bike-2")
		require.NoError(t, err)
		_, err = tx.FindBike("annual")
		require.NoError(t, err)
	})
}

// TestForgetTellsWhereANameIsLeft: others' facts stay, and are listed before and
// after alike; text that rides shared and none uses any more goes.
func TestForgetTellsWhereANameIsLeft(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, chain := withBike(t, b)
	anne := addPerson(t, b, wear.Person{Name: "Anne Holm", Email: "anne@holm.example"})
	at := wear.At(time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC))
	ride := func(n int, change func(*wear.Ride)) wear.Ride {
		r := madeRide(n)
		r.Bike, r.Start, r.File = bike, at+wear.Instant(n), wear.Hash{}
		change(&r)
		return r
	}
	var shared wear.Ride
	update(t, b, func(tx *store.Tx) {
		add := func(_ any, e error) { require.NoError(t, e) }
		add(tx.AddBike(wear.Bike{Name: "Holm", Note: "was Anne Holm's"}))
		add(tx.AddPart(wear.Part{Kind: "ring", Note: "for ANNE HOLM"}))
		add(tx.AddLook(wear.Look{Part: chain, At: at, Word: wear.Good, Note: "Anne Holm says it creaks"}))
		add(tx.AddLook(wear.Look{Part: chain, At: at, Word: wear.Good, Note: "Joanne Holm says so"}))
		add(tx.AddSignOff(wear.SignOff{Part: chain, At: at, Job: "clean", By: "anne holm"}))
		add(tx.AddIncident(wear.Incident{Bike: bike, At: at, What: wear.Crashed, Note: "anne@holm.example"}))
		add(tx.AddVisit(wear.Visit{Bike: bike, At: at, Note: "Anne Holm brings it"}))
		add(tx.AddSetting(wear.Setting{Name: wear.SettingGround, Scope: wear.ForBook, At: wear.Ever, File: "anne holm.toml"}))
		add(tx.AddPerson(wear.Person{Name: "Bo", Note: "son of Anne Holm"}))
		add(tx.NoteRefusal(store.Refusal{Path: "/home/anne holm/x.fit", Why: "cut off"}))
		add(tx.AddRide(ride(1, func(r *wear.Ride) { r.Title = "with Anne Holm" }), wear.Gears{}))
		add(tx.AddRide(ride(2, func(r *wear.Ride) { r.Profile = "ANNE HOLM" }), wear.Gears{}))
		require.NoError(t, tx.AddFile(store.FileFact{Hash: wear.Hash{1}, Name: "x.fit", Folder: "/home/Anne Holm"}, nil))
		shared = ride(3, func(r *wear.Ride) {
			r.Because, r.Sensors = "Anne Holm lent it", []wear.Sensor{{Type: 120, ANT: 7, Name: "Anne Holm strap"}}
		})
		add(tx.AddRide(shared, wear.Gears{}))
	})
	update(t, b, func(tx *store.Tx) {
		shared.Because, shared.Sensors = "", nil
		require.NoError(t, tx.ChangeRide(shared))
	})
	want := []string{
		`bike "Holm"`, `part "ring-1"`, "ride " + ride(1, func(*wear.Ride) {}).ID.String() + " of 2026-05-03",
		"ride " + ride(2, func(*wear.Ride) {}).ID.String() + " of 2026-05-03", `file "x.fit"`, "ground of the book",
		`refused file "/home/anne holm/x.fit"`, `person "Bo"`, `look of "chain-1", 2026-05-03`, `sign-off of "chain-1", 2026-05-03`,
		`incident of "Ridge", 2026-05-03`, `visit of "Ridge", 2026-05-03`,
	}
	view(t, b, func(tx *store.Tx) {
		still, err := tx.StillNamed(anne.ID)
		require.NoError(t, err)
		assert.ElementsMatch(t, want, still)
	})
	require.Contains(t, string(readFile(t, b.Path())), "lent it")
	report, err := b.Forget(context.Background(), anne.ID, forgetAt)
	require.NoError(t, err)
	assert.Empty(t, report.Renamed)
	assert.ElementsMatch(t, want, report.StillNamed)
	assert.Equal(t, 1, report.Entries, "the change of the ride")
	raw := string(readFile(t, b.Path()))
	assert.NotContains(t, raw, "lent it")
	assert.NotContains(t, raw, "Anne Holm strap")
	assert.Contains(t, raw, "Anne Holm says it creaks")
	storetest.Check(t, b)
	require.NoError(t, b.Repair(context.Background()))
}

func TestForgetFails(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	_, err := b.Forget(context.Background(), 1, forgetAt)
	require.ErrorIs(t, err, store.ErrNoBook)
	anne, _ := annesBook(t, b)
	before := readFile(t, b.Path())
	same := func(want string, err error) {
		t.Helper()
		require.ErrorContains(t, err, want)
		require.Equal(t, before, readFile(t, b.Path()), "nothing has changed")
	}
	forget := func(id wear.ID, at wear.Instant) error {
		_, err := b.Forget(context.Background(), id, at)
		return err
	}
	same(`person "7": not in the book`, forget(7, forgetAt))
	same("dated before 1900", forget(anne.ID, wear.Ever))
	require.NoError(t, os.MkdirAll(filepath.Join(b.Path()+".new", "full"), 0o700))
	same(".new", forget(anne.ID, forgetAt))
	require.NoError(t, os.RemoveAll(b.Path()+".new"))
	require.NoError(t, os.Chmod(b.Path(), 0o400))
	same("read-only", forget(anne.ID, forgetAt))
}

// TestForgetBehindLink: the link stays one, and the file that it leads to is new.
func TestForgetBehindLink(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(dir, "far"), 0o700))
	target, link := filepath.Join(dir, "far", "the.book"), filepath.Join(dir, "the.book")
	require.NoError(t, os.Symlink(target, link))
	b := storetest.OpenAt(t, link, store.Options{})
	anne, _ := annesBook(t, b)
	_, err := b.Forget(context.Background(), anne.ID, forgetAt)
	require.NoError(t, err)
	to, err := os.Readlink(link)
	require.NoError(t, err)
	assert.Equal(t, target, to)
	assert.Empty(t, found(readFile(t, target)))
}

// childForget forgets the person whose name begins with Ä.
func childForget(b *store.Book, out io.Writer) error {
	var anne wear.Person
	if err := b.View(context.Background(), func(tx *store.Tx) (err error) {
		anne, err = tx.FindPerson("Ä")
		return err
	}); err != nil {
		return err
	}
	fmt.Fprintln(out, "now")
	_, err := b.Forget(context.Background(), anne.ID, forgetAt)
	fmt.Fprintln(out, "done")
	return err
}

// TestKilledForget kills it at any moment: the book is whole, and either as it was
// or without her. What a kill left is no hindrance to the next.
func TestKilledForget(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	anne, bikes := annesBook(t, b)
	update(t, b, func(tx *store.Tx) { addRides(t, tx, stint{bikes[0], wear.Told, 10, 500}) })
	old := readFile(t, b.Path())
	rnd := rand.New(rand.NewPCG(6, 7))
	long := 40 * time.Millisecond // about what it takes; learnt below
	kept, gone := 0, 0
	for range 16 {
		require.NoError(t, os.WriteFile(b.Path(), old, 0o600))
		cmd, out := child(t, "forget", b.Path())
		require.True(t, out.Scan())
		wait := time.Duration(rnd.Int64N(int64(2 * long)))
		time.Sleep(wait)
		require.NoError(t, cmd.Process.Kill())
		done := out.Scan()
		_ = cmd.Wait()
		storetest.Check(t, b)
		left := found(readFile(t, b.Path()))
		view(t, b, func(tx *store.Tx) {
			if tx.Forgotten(anne.ID) {
				gone++
				long = max(wait*3/4, time.Millisecond)
				assert.Empty(t, left)
				return
			}
			kept++
			long = max(long, wait*5/4)
			assert.False(t, done)
			assert.Equal(t, hers, left)
		})
	}
	t.Logf("%d times as it was, %d times without her", kept, gone)
	require.NoError(t, os.WriteFile(b.Path(), old, 0o600))
	_, err := b.Forget(context.Background(), anne.ID, forgetAt)
	require.NoError(t, err)
	assert.Empty(t, found(readFile(t, b.Path())))
	for _, name := range names(t, filepath.Dir(b.Path())) {
		assert.False(t, strings.HasSuffix(name, ".new"), name)
	}
}

// TestWholeNames: a name within another word is another's.
func TestWholeNames(t *testing.T) {
	p := wear.Person{Name: "Ann", Email: "ann@example.org"}
	tests := map[string]bool{
		"Ann": true, "ann's": true, "for ANN.": true, "Annual": false, "Joann": false, "annann": false, "annann, ann": true, "ann2": false,
		"": false, "joann@example.org": false, "<Ann@Example.org>": true, "éann": false, "\xffann": true, "an n": false,
	}
	for text, want := range tests {
		assert.Equal(t, want, store.Names(p, text), text)
	}
}
