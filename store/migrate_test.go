package store_test

import (
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// oldSeason fills a book with what the first format could hold, and returns its
// ids in the order in which they were given. testdata/format-1.book.gz to
// format-8.book.gz were made by it with those formats: it must not change.
func oldSeason(t testing.TB, b *store.Book) []wear.ID {
	ids := twoBikes(t, b)
	update(t, b, func(tx *store.Tx) {
		for n := range 60 {
			r := madeRide(n)
			r.Bike, r.File, r.Ground = ids[n%2], wear.Hash{}, wear.Ground(n%6)
			_, err := tx.AddRide(r, madeGears(n))
			require.NoError(t, err)
		}
	})
	mid := madeRide(30).Start
	update(t, b, func(tx *store.Tx) {
		for _, s := range []wear.Stay{
			{Part: ids[2], Host: ids[0], From: wear.Ever, To: mid, Opening: wear.Load{wear.Distance: 12_300_000}},
			{Part: ids[2], Host: ids[1], From: mid, To: wear.Never},
			{Part: ids[3], Host: ids[0], From: mid, To: wear.Never},
		} {
			require.NoError(t, tx.AddStay(s))
		}
	})
	update(t, b, func(tx *store.Tx) {
		_, err := tx.AddReading(wear.Reading{Part: ids[2], At: madeRide(10).Start, Of: wear.Elongation, Value: 0.3, Tool: "ruler"})
		require.NoError(t, err)
		l, err := tx.AddLook(wear.Look{Part: ids[3], At: madeRide(40).Start, Word: wear.Watch})
		require.NoError(t, err)
		require.NoError(t, tx.VoidLook(ids[3], l.ID))
		_, err = tx.AddSignOff(wear.SignOff{Part: ids[2], At: madeRide(45).Start + 1, Job: "clean"})
		require.NoError(t, err)
	})
	return ids
}

// oldBook is a book as an earlier format left it.
func oldBook(t *testing.T, name string) *store.Book {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer f.Close()
	z, err := gzip.NewReader(f)
	require.NoError(t, err)
	raw, err := io.ReadAll(z)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "book")
	require.NoError(t, os.WriteFile(path, raw, 0o600))
	return storetest.OpenAt(t, path, store.Options{})
}

// oldCases are the cases of both bikes, with numbers in place of ids, and every ride.
func oldCases(t *testing.T, b *store.Book) (cases []wear.Case, rides []wear.Ride) {
	view(t, b, func(tx *store.Tx) {
		bikes, err := tx.Bikes()
		require.NoError(t, err)
		parts, err := tx.Parts()
		require.NoError(t, err)
		ids := []wear.ID{bikes[1].ID, bikes[0].ID, parts[0].ID, parts[1].ID} // by name: Gully, Ridge
		for _, today := range []wear.Instant{madeRide(35).Start, wear.Never} {
			for _, bike := range ids[:2] {
				c, err := tx.Case(bike, today)
				require.NoError(t, err)
				sameFound(t, tx, bike, today)
				c = numbered(c, ids)
				for _, pc := range append(c.Parts, c.Past...) {
					for i := range pc.Looks {
						pc.Looks[i].ID, pc.Looks[i].Part, pc.Looks[i].Bike = 0, 0, 0
					}
				}
				cases = append(cases, c)
			}
		}
		for r, err := range tx.Rides(store.RideFilter{}) {
			require.NoError(t, err)
			r.Bike &= 0xffffffff
			rides = append(rides, r)
		}
	})
	return cases, rides
}

// TestOlderBook: a book of an earlier format reads as one of today's with the
// same facts does. Looking does not change it, a write migrates it, and undo
// takes back what was written before.
func TestOlderBook(t *testing.T) {
	for format := 1; format < store.Format(); format++ {
		name := fmt.Sprintf("format-%d.book.gz", format)
		t.Run(name, func(t *testing.T) { olderBook(t, oldBook(t, name)) })
	}
}

func olderBook(t *testing.T, b *store.Book) {
	today := storetest.Open(t, store.Options{Zone: "Asia/Kolkata"})
	oldSeason(t, today)
	wantCases, wantRides := oldCases(t, today)
	wantTold := toldOf(t, today)
	require.Len(t, wantTold, 2, "the shifter and the power meter, not the strap")
	same := func() {
		t.Helper()
		cases, rides := oldCases(t, b)
		assert.Equal(t, wantCases, cases)
		assert.Equal(t, wantRides, rides)
		assert.Equal(t, wantTold, toldOf(t, b))
	}
	before, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	require.NoError(t, b.View(context.Background(), everything))
	same()
	storetest.Check(t, b)
	after, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	require.Equal(t, before, after, "looking changed the older book")

	require.NoError(t, b.Update(context.Background(), nothing))
	same()
	storetest.Check(t, b)
	var bike wear.Bike
	update(t, b, func(tx *store.Tx) {
		bike, err = tx.FindBike("Ridge")
		require.NoError(t, err)
		_, err = tx.AddIncident(wear.Incident{Bike: bike.ID, At: madeRide(20).Start, What: wear.Dropped})
		require.NoError(t, err)
		_, err := tx.AddOdometer(wear.Odometer{Bike: bike.ID, At: madeRide(20).Start, Metres: 7})
		require.NoError(t, err)
		_, err = tx.AddSetup(wear.GuideSetup{Bike: bike.ID, At: madeRide(20).Start, ChainLine: 52})
		require.NoError(t, err)
		_, err = tx.AddVisit(wear.Visit{Bike: bike.ID, At: madeRide(20).Start, Note: "fork"})
		require.NoError(t, err)
	})
	storetest.Check(t, b)
	for _, verb := range []string{"test", "test", "test"} { // the drop, the readings, the stays
		require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
			e, err := tx.Undo()
			assert.Equal(t, verb, e.Verb)
			return err
		}))
		storetest.Check(t, b)
	}
	view(t, b, func(tx *store.Tx) {
		c, err := tx.Case(bike.ID, wear.Never)
		require.NoError(t, err)
		assert.Len(t, c.Lines[bike.ID], 1)
		assert.EqualValues(t, 30, c.Lines[bike.ID][0].Sums.All().Rides)
		refused, err := tx.Refusals()
		require.NoError(t, err)
		assert.Empty(t, refused)
	})
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
		_, err := tx.Undo() // the rides
		return err
	}))
	assert.Empty(t, toldOf(t, b))
	storetest.Check(t, b)
}

// toldOf is what the rides tell, with bikes as numbers that do not depend on the book.
func toldOf(t *testing.T, b *store.Book) map[wear.SensorKey]map[wear.ID]int {
	t.Helper()
	counts := map[wear.SensorKey]map[wear.ID]int{}
	view(t, b, func(tx *store.Tx) {
		told, err := tx.Told()
		require.NoError(t, err)
		for sensor, bikes := range told {
			few, err := tx.ToldOf([]wear.SensorKey{sensor})
			require.NoError(t, err)
			require.Equal(t, bikes, few[sensor])
			counts[sensor] = map[wear.ID]int{}
			for bike, n := range bikes {
				counts[sensor][bike&0xffffffff] = n
			}
		}
	})
	return counts
}

// TestOlderBookThatMustMigrate: where View cannot read a book as it is, it
// migrates it first.
func TestOlderBookThatMustMigrate(t *testing.T) {
	b := store.At(filepath.Join(t.TempDir(), "book"), store.Options{})
	bike, _ := filled(t, b, 3)
	done := store.AddMigration(t)
	view(t, b, func(tx *store.Tx) {
		_, err := tx.Case(bike, wear.Never)
		require.NoError(t, err)
	})
	assert.Equal(t, 1, *done)
	require.NoError(t, os.Chmod(b.Path(), 0o400))
	require.NoError(t, b.View(context.Background(), everything), "it was migrated for good")
}
