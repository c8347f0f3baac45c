package store_test

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

func TestFindBike(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	update(t, b, func(tx *store.Tx) {
		for _, name := range []string{"Ridge", "Ridgeway", "Gully", "trail 7", "trail 12", "Ötztal"} {
			_, err := tx.AddBike(wear.Bike{Name: name})
			require.NoError(t, err)
		}
	})
	tests := []struct{ ask, want, err, hint string }{
		{"Ridge", "Ridge", "", ""},
		{"ridgew", "Ridgeway", "", ""},
		{"g", "Gully", "", ""},
		{"öTZ", "Ötztal", "", ""},
		{"r", "", `bike "r": could be Ridge or Ridgeway`, "type more of the name"},
		{"Guly", "", `bike "Guly": not in the book`, "did you mean Gully?"},
		{"trail 9", "", `bike "trail 9": not in the book`, "did you mean trail 7 or trail 12?"},
		{"zzz", "", `bike "zzz": not in the book`, "pawl bike list shows them all"},
		{"", "", `bike "": not in the book`, "pawl bike list shows them all"},
	}
	view(t, b, func(tx *store.Tx) {
		for _, tt := range tests {
			bike, err := tx.FindBike(tt.ask)
			same, bare := tx.BikeOf(tt.ask)
			assert.Equal(t, bike, same)
			if tt.err == "" {
				require.NoError(t, err, tt.ask)
				require.NoError(t, bare, tt.ask)
				assert.Equal(t, tt.want, bike.Name)
				continue
			}
			require.EqualError(t, err, tt.err)
			require.EqualError(t, bare, tt.err)
			assert.Equal(t, tt.hint, err.(interface{ Hint() string }).Hint())
		}
		bikes, err := tx.Bikes()
		require.NoError(t, err)
		assert.Equal(t, "Gully", bikes[0].Name)
		var each []wear.Bike
		for bike, err := range tx.EachBike() {
			require.NoError(t, err)
			each = append(each, bike)
		}
		assert.ElementsMatch(t, bikes, each)
		assert.True(t, slices.IsSortedFunc(each, func(a, b wear.Bike) int { return cmp.Compare(a.ID, b.ID) }))
	})
}

// A name that is short for thousands says so in one line.
func TestFindAmongThousands(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	update(t, b, func(tx *store.Tx) {
		for i := range 1000 {
			_, err := tx.AddBike(wear.Bike{Name: fmt.Sprintf("hire %d", i)})
			require.NoError(t, err)
			_, err = tx.AddPerson(wear.Person{Name: fmt.Sprintf("Kim %d", i)})
			require.NoError(t, err)
		}
	})
	view(t, b, func(tx *store.Tx) {
		_, err := tx.FindBike("hi")
		assert.EqualError(t, err, `bike "hi": could be hire 0 or hire 1 or hire 10 or hire 100 or hire 101 or others`)
		_, err = tx.FindPerson("kim")
		assert.EqualError(t, err, `person "kim": could be Kim 0 or Kim 1 or Kim 2 or Kim 3 or Kim 4 or others`)
	})
}

func TestFindPart(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	var bike wear.ID
	change := madeRide(10).Start
	update(t, b, func(tx *store.Tx) {
		k, err := tx.AddBike(wear.Bike{Name: "Ridge"})
		require.NoError(t, err)
		bike = k.ID
		stay := func(kind, name string, from, to wear.Instant) {
			p, err := tx.AddPart(wear.Part{Kind: kind, Name: name})
			require.NoError(t, err)
			require.NoError(t, tx.AddStay(wear.Stay{Part: p.ID, Host: bike, From: from, To: to}))
		}
		stay("chain", "", wear.Ever, change)
		for range 8 {
			_, err := tx.AddPart(wear.Part{Kind: "chain"})
			require.NoError(t, err)
		}
		stay("chain", "", change, wear.Never)
		stay("ring", "", wear.Ever, wear.Never)
		stay("ring-bolts", "Bolts", wear.Ever, wear.Never)
	})
	tests := []struct {
		bike      wear.ID
		ask       string
		at        wear.Instant
		want, err string
	}{
		{bike, "chain", change - 1, "chain-1", ""},
		{bike, "chain", change, "chain-10", ""},
		{bike, "Chain", wear.Never - 1, "chain-10", ""},
		{bike, "chain-1", change, "chain-1", ""}, // was on the bike: wins over chain-10
		{bike, "ch", change, "chain-10", ""},
		{bike, "ring", change, "ring-1", ""},
		{bike, "bol", change, "Bolts", ""},
		{bike, "ri", change, "", `part "ri": could be ring-1 or Bolts`},
		{bike, "chain-2", change, "", `part "chain-2": not in the book`},
		{0, "chain-2", change, "chain-2", ""},
		{0, "BOLTS", change, "Bolts", ""},
		{0, "ring", change, "ring-1", ""},
	}
	view(t, b, func(tx *store.Tx) {
		for _, tt := range tests {
			p, err := tx.FindPart(tt.bike, tt.ask, tt.at)
			if tt.err != "" {
				require.EqualError(t, err, tt.err)
				continue
			}
			require.NoError(t, err, tt.ask)
			assert.Equal(t, tt.want, p.Name)
		}
	})
}

// starts are those of the rides of a filter, as they come.
func starts(t *testing.T, tx *store.Tx, f store.RideFilter) (list []wear.Instant) {
	for r, err := range tx.Rides(f) {
		require.NoError(t, err)
		list = append(list, r.Start)
	}
	return list
}

func TestRidesAndFindRide(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := filled(t, b, 40)
	unknown := wear.ID(0)
	moved := madeRide(20)
	update(t, b, func(tx *store.Tx) {
		moved, err := tx.Ride(moved.ID)
		require.NoError(t, err)
		moved.Bike, moved.State = 0, wear.Twin
		require.NoError(t, tx.ChangeRide(moved))
	})
	count := func(tx *store.Tx, f store.RideFilter) (n int) {
		last := wear.Ever
		for r, err := range tx.Rides(f) {
			require.NoError(t, err)
			require.GreaterOrEqual(t, r.Start, last)
			last = r.Start
			n++
		}
		return n
	}
	view(t, b, func(tx *store.Tx) {
		assert.Equal(t, 40, count(tx, store.RideFilter{}))
		assert.Equal(t, 39, count(tx, store.RideFilter{Bike: &bike}))
		assert.Equal(t, 1, count(tx, store.RideFilter{Bike: &unknown}))
		assert.Equal(t, 1, count(tx, store.RideFilter{States: []wear.State{wear.Twin, wear.Void}}))
		assert.Equal(t, 10, count(tx, store.RideFilter{From: madeRide(5).Start, To: madeRide(15).Start}))
		assert.Equal(t, 34, count(tx, store.RideFilter{Bike: &bike, From: madeRide(5).Start}))
		for range tx.Rides(store.RideFilter{}) {
			break // stopping early is fine
		}
		for _, f := range []store.RideFilter{{}, {From: madeRide(5).Start, To: madeRide(15).Start}, {To: madeRide(99).Start}, {From: madeRide(99).Start}} {
			f.Bike = &bike
			forth := starts(t, tx, f)
			f.Latest = true
			back := starts(t, tx, f)
			slices.Reverse(back)
			assert.Equal(t, forth, back)
			f.Bike = &unknown
			assert.LessOrEqual(t, len(starts(t, tx, f)), 1)
		}
		name := moved.ID.String()
		for _, prefix := range []string{name, name[:7], name[:8]} {
			r, err := tx.FindRide(prefix)
			require.NoError(t, err, prefix)
			assert.Equal(t, moved.ID, r.ID)
		}
		begin := map[string]int{} // of 40 rides, some share one of 16 digits
		shared := ""
		for r := range tx.Rides(store.RideFilter{}) {
			digit := r.ID.String()[:1]
			if begin[digit]++; begin[digit] > 1 {
				shared = digit
			}
		}
		for prefix, want := range map[string]string{"": "not in the book", "xyz": "not in the book", shared: "could be", name + "00": "not in the book"} {
			_, err := tx.FindRide(prefix)
			require.ErrorContains(t, err, want, "prefix %q", prefix)
		}
	})
}

// TestUndo takes entries back one by one, newest first, until none is left.
func TestUndo(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, chain := filled(t, b, 5)
	update(t, b, func(tx *store.Tx) {
		_, err := tx.AddReading(wear.Reading{Part: chain, At: madeRide(3).Start, Value: 0.5})
		require.NoError(t, err)
	})
	undo := func() (e store.Entry, err error) {
		err = b.Update(context.Background(), func(tx *store.Tx) error {
			e, err = tx.Undo()
			return err
		})
		return e, err
	}
	for _, verb := range []string{"test", "import", "bike add"} {
		e, err := undo()
		require.NoError(t, err)
		assert.Equal(t, verb, e.Verb)
		storetest.Check(t, b)
		view(t, b, func(tx *store.Tx) {
			_, err := tx.Case(bike, wear.Never)
			assert.Equal(t, verb == "bike add", err != nil)
		})
	}
	_, err := undo()
	require.ErrorIs(t, err, store.ErrNothingToUndo)
	var history []string
	view(t, b, func(tx *store.Tx) {
		for e, err := range tx.Entries(false) {
			require.NoError(t, err)
			history = append(history, fmt.Sprintf("%d %s %s %d %d", e.Seq, e.Verb, e.Target, e.Undoes, e.Undone))
		}
	})
	assert.Equal(t, []string{
		"1 bike add Ridge 0 6", "2 import  0 5", "3 test  0 4", "4 undo test 3 0", "5 undo import 2 0", "6 undo bike add Ridge 1 0",
	}, history)
	filled(t, b, 5) // and all of it can come again
}

// TestRepair spoils what is derived; the audit says so and repair mends it.
func TestRepair(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := filled(t, b, 20)
	update(t, b, func(tx *store.Tx) { require.NoError(t, tx.ChangeGears(madeRide(3).ID, madeGears(3))) })
	var want wear.Case
	view(t, b, func(tx *store.Tx) { want, _ = tx.Case(bike, wear.Never) })
	for _, name := range []string{"spans", "weeks", "rides.id", "rides.time", "stays.part", "names", "words.key", "devices.key", "gears.bike"} {
		update(t, b, func(tx *store.Tx) {
			bucket := tx.Bolt().Bucket([]byte(name))
			k, _ := bucket.Cursor().First()
			require.NoError(t, bucket.Delete(k), name)
			_, err := tx.AddPart(wear.Part{Kind: "ring"}) // so that something is written
			require.NoError(t, err)
		})
		report, err := b.Audit(context.Background())
		require.NoError(t, err, name)
		require.GreaterOrEqual(t, len(report.Problems), 2, "a row and the number of rows of %s", name)
		require.NoError(t, b.Repair(context.Background()))
		storetest.Check(t, b)
	}
	view(t, b, func(tx *store.Tx) {
		c, err := tx.Case(bike, wear.Never)
		require.NoError(t, err)
		assert.Equal(t, want, c)
	})
}
