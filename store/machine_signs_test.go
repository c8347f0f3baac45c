package store_test

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/store"
	"pawl/wear"
)

// named are the sensors that the made-up rides name: some of a bike, two reports
// of one of them, one without a number, one that is worn.
var named = []wear.Sensor{
	{Type: 34, Serial: 78}, {Type: 34, Serial: 78, Name: "again"}, {Type: 11, ANT: 400}, {Type: 123, Serial: 5},
	{Type: 34}, {Type: 120, ANT: 4},
}

// drawSigns draws how the bike of a ride was found, and whose twin it is.
func (x *machine) drawSigns(t *rapid.T, r wear.Ride) wear.Ride {
	r.Rule = rapid.SampledFrom([]wear.Rule{wear.NoRule, wear.Told, wear.Told, wear.Told, wear.BySensor, wear.AsTwin}).Draw(t, "rule")
	r.Because = rapid.SampledFrom([]string{"", "shifter 78", "its twin's"}).Draw(t, "because")
	r.Of, r.Sensors, r.Unlike = wear.RideID{}, nil, nil
	for range rapid.IntRange(0, 2).Draw(t, "unlike") {
		r.Unlike = append(r.Unlike, wear.RideID{byte(rapid.IntRange(0, x.n).Draw(t, "unlike which")), 0, 9})
	}
	if rapid.Bool().Draw(t, "of another") {
		r.Of = wear.RideID{byte(rapid.IntRange(0, x.n).Draw(t, "of")), 0, 7}
	}
	for range rapid.IntRange(0, 3).Draw(t, "sensors") {
		r.Sensors = append(r.Sensors, rapid.SampledFrom(named).Draw(t, "sensor"))
	}
	return r
}

// NoteFile notes a refused file or drops the note, in an operation of its own:
// what is undone later leaves it.
func (x *machine) NoteFile(t *rapid.T) {
	r := store.Refusal{
		Path: rapid.SampledFrom([]string{"/a", "/a/b", "/B"}).Draw(t, "path"), Why: rapid.SampledFrom([]string{"cut", "no rides"}).Draw(t, "why"),
		Hash: wear.Hash{byte(rapid.IntRange(0, 1).Draw(t, "hash"))}, At: drawInstant(t, "at"),
	}
	drop, fails := rapid.IntRange(0, 3).Draw(t, "drop") == 0, rapid.IntRange(0, 3).Draw(t, "fails") == 0
	old, there := x.notes[r.Path]
	failed := errors.New("failed")
	err := x.book.Update(context.Background(), func(tx *store.Tx) error {
		if drop {
			require.NoError(t, tx.DropRefusal(r.Path))
		} else {
			changed, err := tx.NoteRefusal(r)
			require.NoError(t, err)
			require.Equal(t, !there || old.Why != r.Why || old.Hash != r.Hash, changed)
		}
		if fails {
			return failed
		}
		return nil
	})
	switch {
	case fails:
		require.ErrorIs(t, err, failed)
		return
	case drop:
		delete(x.notes, r.Path)
	case !there || old.Why != r.Why || old.Hash != r.Hash:
		x.notes[r.Path] = r
	}
	require.NoError(t, err)
}

// checkNotes compares the notes on refused files.
func (x *machine) checkNotes(t *rapid.T, tx *store.Tx) {
	var want []store.Refusal
	for _, r := range x.notes {
		want = append(want, r)
	}
	slices.SortFunc(want, func(a, b store.Refusal) int { return cmp.Compare(a.Path, b.Path) })
	all, err := tx.Refusals()
	require.NoError(t, err)
	require.Equal(t, want, all)
}
