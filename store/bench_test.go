package store_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"pawl/store"
	"pawl/wear"
)

// bookOf makes a book with a bike of 16 parts, each with a few facts, and n
// rides, two a day, with gear histograms.
func bookOf(b *testing.B, n int) (*store.Book, wear.ID) {
	book := store.Quick(store.At(filepath.Join(b.TempDir(), "book"), store.Options{}))
	var bike wear.ID
	update(b, book, func(tx *store.Tx) {
		k, err := tx.AddBike(wear.Bike{Name: "Ridge"})
		require.NoError(b, err)
		bike = k.ID
		for i := range 16 {
			p, err := tx.AddPart(wear.Part{Kind: fmt.Sprintf("kind-%d", i), Teeth: 32})
			require.NoError(b, err)
			require.NoError(b, tx.AddStay(wear.Stay{Part: p.ID, Host: bike, From: wear.Ever, To: wear.Never}))
			for f := range 5 {
				_, err := tx.AddReading(wear.Reading{Part: p.ID, At: madeRide(f*n/6 + i).Start, Of: wear.Lining, Value: 2})
				require.NoError(b, err)
			}
		}
	})
	for at := 0; at < n; at += 200 {
		update(b, book, func(tx *store.Tx) { addRides(b, tx, stint{bike, wear.Told, at, min(n, at+200)}) })
	}
	return book, bike
}

// stint is the rides of one bike from one number to another.
type stint struct {
	bike     wear.ID
	rule     wear.Rule
	from, to int
}

func addRides(b testing.TB, tx *store.Tx, of stint) {
	for i := of.from; i < of.to; i++ {
		r := madeRide(i)
		r.Bike, r.Rule, r.File = of.bike, of.rule, wear.Hash{}
		_, err := tx.AddRide(r, madeGears(i))
		require.NoError(b, err)
	}
}

// madeGears fills 40 bins.
func madeGears(n int) (g wear.Gears) {
	for i := range 40 {
		g.ByDevelopment = append(g.ByDevelopment, wear.Gear{Bin: int16(40 + 2*i), Turns: int64(n%97*1000 + i*3000), Work: int64(20_000 + i*n%70_000)})
	}
	return g
}

// BenchmarkCase must cost the same however many rides there are.
func BenchmarkCase(b *testing.B) {
	for _, n := range []int{1_000, 10_000} {
		b.Run(fmt.Sprintf("rides=%d", n), func(b *testing.B) {
			book, bike := bookOf(b, n)
			for b.Loop() {
				require.NoError(b, book.View(context.Background(), func(tx *store.Tx) error {
					_, err := tx.Case(bike, madeRide(n).Start)
					return err
				}))
			}
		})
	}
}

// BenchmarkRidesBetween reads the ten rides of a bike between two instants, which
// must cost the same however many rides there are.
func BenchmarkRidesBetween(b *testing.B) {
	for _, n := range []int{1_000, 10_000} {
		b.Run(fmt.Sprintf("rides=%d", n), func(b *testing.B) {
			book, bike := bookOf(b, n)
			f := store.RideFilter{Bike: &bike, From: madeRide(n / 2).Start, To: madeRide(n/2 + 10).Start}
			view(b, book, func(tx *store.Tx) {
				for b.Loop() {
					found := 0
					for _, err := range tx.Rides(f) {
						require.NoError(b, err)
						found++
					}
					require.Equal(b, 10, found)
				}
			})
		})
	}
}

// BenchmarkCaseOfWheels is the case of a bike of two wheelsets that changed places
// a hundred times with another bike's.
func BenchmarkCaseOfWheels(b *testing.B) {
	book := store.Quick(store.At(filepath.Join(b.TempDir(), "book"), store.Options{}))
	var s *season
	update(b, book, func(tx *store.Tx) {
		s = newSeason(b, tx)
		s.plan()
		for _, st := range s.stays {
			require.NoError(b, tx.AddStay(st))
		}
	})
	for b.Loop() {
		view(b, book, func(tx *store.Tx) {
			_, err := tx.Case(s.ids["Ridge"], wear.Never)
			require.NoError(b, err)
		})
	}
}

// BenchmarkAddRides is one batch of 200 rides into books of different size,
// synced to the disk. Only rides that the user gave to a bike tell of its sensors.
func BenchmarkAddRides(b *testing.B) {
	for name, rule := range map[string]wear.Rule{"told": wear.Told, "by-sensor": wear.BySensor} {
		for _, n := range []int{0, 20_000} {
			b.Run(fmt.Sprintf("%s/rides=%d", name, n), func(b *testing.B) { benchmarkAddRides(b, rule, n) })
		}
	}
}

func benchmarkAddRides(b *testing.B, rule wear.Rule, n int) {
	book, bike := bookOf(b, n)
	book = store.At(book.Path(), store.Options{})
	at := n
	for b.Loop() {
		update(b, book, func(tx *store.Tx) { addRides(b, tx, stint{bike, rule, at, at + 200}) })
		at += 200
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/200, "µs/ride")
}

// BenchmarkOpen is an operation that does nothing.
func BenchmarkOpen(b *testing.B) {
	book, _ := bookOf(b, 10_000)
	for name, op := range map[string]func(context.Context, func(*store.Tx) error) error{"View": book.View, "Update": book.Update} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				require.NoError(b, op(context.Background(), nothing))
			}
		})
	}
}

// BenchmarkSignOff is one dated fact into a bike of 10,000 rides, synced.
func BenchmarkSignOff(b *testing.B) {
	book, _ := bookOf(b, 10_000)
	book = store.At(book.Path(), store.Options{})
	at := madeRide(10_000).Start
	for b.Loop() {
		at += 60_000
		update(b, book, func(tx *store.Tx) {
			parts, err := tx.Parts()
			require.NoError(b, err)
			_, err = tx.AddSignOff(wear.SignOff{Part: parts[0].ID, At: at, Job: "clean"})
			require.NoError(b, err)
		})
	}
}

// BenchmarkSize reports bytes, not time: of a packed ride, of what an entry
// remembers of it, of all that it takes in the book, indexes and gears included.
func BenchmarkSize(b *testing.B) {
	const n = 10_000
	book, _ := bookOf(b, n)
	for b.Loop() {
	}
	view(b, book, func(tx *store.Tx) {
		b.ReportMetric(float64(len(tx.PackRide(madeRide(1).ID))), "packed-B/ride")
		pages := 0 // the file itself grows in steps of 16 MB
		require.NoError(b, tx.Bolt().ForEach(func(name []byte, bucket *bbolt.Bucket) error {
			s := bucket.Stats()
			b.Logf("%-10s %4d B/ride", name, (s.LeafAlloc+s.BranchAlloc)/n)
			pages += s.LeafAlloc + s.BranchAlloc
			return nil
		}))
		b.ReportMetric(float64(pages)/n, "pages-B/ride")
		before := tx.Bolt().Bucket([]byte("before"))
		b.ReportMetric(float64(len(before.Get(binary.BigEndian.AppendUint64(nil, 2))))/200, "undo-B/ride")
	})
}

// outboxOf makes a book of people, each with as many messages, all sent; stored
// round by round, as reminders are.
func outboxOf(b *testing.B, people, each int) (*store.Book, []wear.Person) {
	book := store.Quick(store.At(filepath.Join(b.TempDir(), "book"), store.Options{}))
	var all []wear.Person
	for i := range people {
		all = append(all, wear.Person{Name: fmt.Sprintf("Rider %d", i), Email: fmt.Sprintf("r%d@example.org", i)})
	}
	require.NoError(b, book.Update(context.Background(), func(tx *store.Tx) (err error) {
		for i := range all {
			if all[i], err = tx.AddPerson(all[i]); err != nil {
				return err
			}
		}
		return nil
	}))
	for round := range each {
		require.NoError(b, book.Update(context.Background(), func(tx *store.Tx) error {
			for i, p := range all {
				m := madeMessage(p, round*people+i)
				m.State = wear.Accepted
				if _, err := tx.AddMessage(m); err != nil {
					return err
				}
			}
			return nil
		}))
	}
	return book, all
}

// madeMessage tells of four findings.
func madeMessage(p wear.Person, n int) wear.Message {
	m := wear.Message{Person: p.ID, At: madeRide(0).Start + wear.Instant(n), MessageID: fmt.Sprintf("%d.%d@example.org", p.ID, n)}
	for i := range 4 {
		m.Tells = append(m.Tells, wear.Mention{Bike: p.ID, Part: wear.ID(i), Job: "change", Verdict: wear.Verdict(i % 3)})
	}
	return m
}

// BenchmarkMessages reads the outbox of 2,000 people and 100,000 messages: those
// of one person, those that wait, one person by the beginning of the name.
func BenchmarkMessages(b *testing.B) {
	book, all := outboxOf(b, 2_000, 50)
	run := func(name string, fn func(tx *store.Tx, n int) error) {
		b.Run(name, func(b *testing.B) {
			view(b, book, func(tx *store.Tx) {
				for n := 0; b.Loop(); n++ {
					require.NoError(b, fn(tx, n))
				}
			})
		})
	}
	run("of-a-person", func(tx *store.Tx, n int) error {
		some, err := tx.Messages(all[n*7919%len(all)].ID)
		require.Len(b, some, 50)
		return err
	})
	run("waiting", func(tx *store.Tx, _ int) error {
		for m, err := range tx.Outbox(wear.Waiting, wear.Trying) {
			return fmt.Errorf("waits: %v %w", m, err)
		}
		return nil
	})
	run("find", func(tx *store.Tx, n int) error {
		_, err := tx.FindPerson(fmt.Sprintf("rider %d", n%len(all)))
		return err
	})
}

// BenchmarkSendMessage stores a message, synced, and marks it as sent, synced, in
// an outbox of 100,000.
func BenchmarkSendMessage(b *testing.B) {
	book, all := outboxOf(b, 2_000, 50)
	book = store.At(book.Path(), store.Options{})
	n := 0
	for b.Loop() {
		n++
		m := madeMessage(all[n%len(all)], 100_000+n)
		m.Text, m.HTML = string(madeFile(n)[:1500]), string(madeFile(n)[:1800])
		require.NoError(b, book.Update(context.Background(), func(tx *store.Tx) (err error) {
			m, err = tx.AddMessage(m)
			return err
		}))
		m.State, m.Text, m.HTML = wear.Accepted, "", ""
		require.NoError(b, book.Update(context.Background(), func(tx *store.Tx) error { return tx.ChangeMessage(m) }))
	}
}

// BenchmarkForget forgets a person of 2,000, of whose messages there are 100,000.
func BenchmarkForget(b *testing.B) {
	book, all := outboxOf(b, 2_000, 50)
	book = store.At(book.Path(), store.Options{})
	for n := 0; b.Loop(); n++ {
		_, err := book.Forget(context.Background(), all[n].ID, madeRide(0).Start)
		require.NoError(b, err)
	}
}
