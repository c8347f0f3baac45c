package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// note notes one refusal in an operation without an entry.
func note(t *testing.T, b *store.Book, r store.Refusal) (changed bool) {
	t.Helper()
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) (err error) {
		changed, err = tx.NoteRefusal(r)
		return err
	}))
	return changed
}

func refusals(t *testing.T, b *store.Book) (all []store.Refusal) {
	t.Helper()
	view(t, b, func(tx *store.Tx) {
		var err error
		all, err = tx.Refusals()
		require.NoError(t, err)
	})
	return all
}

// TestRefusalIsNotedOnce: what is the same of the same bytes writes nothing and
// stays dated as it was; anything else takes its place.
func TestRefusalIsNotedOnce(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	withBike(t, b)
	first := store.Refusal{
		Path: "/rides/a.fit", Format: wear.FIT, Why: "cut off", Hint: "--salvage", Size: 700, Hash: wear.Hash{1}, At: 1_780_000_000_000,
	}
	require.True(t, note(t, b, first))
	before := readFile(t, b.Path())
	again := first
	again.At += wear.Day
	require.False(t, note(t, b, again))
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error { return tx.DropRefusal("/rides/b.fit") }))
	require.Equal(t, before, readFile(t, b.Path()), "a second pass changed the book")
	require.Equal(t, []store.Refusal{first}, refusals(t, b))

	tests := []struct {
		name   string
		change func(*store.Refusal)
	}{
		{"other bytes", func(r *store.Refusal) { r.Hash, r.Size = wear.Hash{2}, 900 }},
		{"another reason", func(r *store.Refusal) { r.Why = "no positions" }},
		{"another hint", func(r *store.Refusal) { r.Hint = "" }},
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.change(&again)
			again.At += wear.Instant(i)
			require.True(t, note(t, b, again))
			require.Equal(t, []store.Refusal{again}, refusals(t, b))
		})
	}
}

// TestRefusalsByPath: plain order of bytes, also where a name is not UTF-8. One
// that is not dated is dated by the book.
func TestRefusalsByPath(t *testing.T) {
	now := time.Date(2026, 5, 4, 3, 2, 1, 0, time.UTC)
	b := storetest.Open(t, store.Options{Now: func() time.Time { return now }})
	withBike(t, b)
	paths := []string{"/B.gpx", "/a-10.gpx", "/a-2.gpx", "/a/b.gpx", "/a\xff.gpx"}
	for _, i := range []int{3, 0, 4, 2, 1} {
		require.True(t, note(t, b, store.Refusal{Path: paths[i], Why: "no times"}))
	}
	var got []string
	for _, r := range refusals(t, b) {
		got = append(got, r.Path)
		assert.Equal(t, wear.At(now), r.At)
	}
	assert.Equal(t, paths, got)
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
		for _, path := range paths {
			require.NoError(t, tx.DropRefusal(path))
		}
		return nil
	}))
	assert.Empty(t, refusals(t, b))
	require.ErrorContains(t, b.Update(context.Background(), func(tx *store.Tx) error {
		_, err := tx.NoteRefusal(store.Refusal{Why: "cut off"})
		return err
	}), "refusal: has no path")
}

// TestRefusalIsNoFact: no entry lists a note, even one made within it, and undo
// leaves it; what fails takes it along.
func TestRefusalIsNoFact(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := withBike(t, b)
	entries := func() (n int) {
		view(t, b, func(tx *store.Tx) {
			for _, err := range tx.Entries(false) {
				require.NoError(t, err)
				n++
			}
		})
		return n
	}
	before := entries()
	update(t, b, func(tx *store.Tx) {
		_, err := tx.NoteRefusal(store.Refusal{Path: "/alone", Why: "cut off"})
		require.NoError(t, err)
	})
	assert.Equal(t, before, entries(), "an entry of a note alone leaves no trace")
	update(t, b, func(tx *store.Tx) {
		_, err := importOne(tx, bike, 1)
		require.NoError(t, err)
		_, err = tx.NoteRefusal(store.Refusal{Path: "/beside", Why: "cut off"})
		require.NoError(t, err)
	})
	require.ErrorIs(t, b.Update(context.Background(), func(tx *store.Tx) error {
		_, err := tx.NoteRefusal(store.Refusal{Path: "/failed", Why: "cut off"})
		require.NoError(t, err)
		return context.Canceled
	}), context.Canceled)
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
		_, err := tx.Undo()
		require.NoError(t, err)
		_, err = tx.Ride(madeRide(1).ID)
		assert.ErrorContains(t, err, "not in the book")
		return nil
	}))
	assert.Len(t, refusals(t, b), 2)
	require.NoError(t, b.Repair(context.Background()))
	assert.Len(t, refusals(t, b), 2)
}
