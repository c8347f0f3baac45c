package store

import (
	"slices"

	"go.etcd.io/bbolt"

	"pawl/wear"
)

// Quick makes a book that does not wait for the disk, for tests with thousands
// of transactions.
func Quick(b *Book) *Book { b.noSync = true; return b }

// SetPackLimit makes packs smaller.
func SetPackLimit(b *Book, n uint64) { b.packLimit = n }

// Migrations names the steps of the schema.
func Migrations() []string {
	var names []string
	for _, m := range migrations {
		names = append(names, m.name)
	}
	return names
}

// AddMigration adds a step that View cannot do without, for one test, and counts
// how often it is done.
func AddMigration(t interface{ Cleanup(func()) }) *int {
	done, before := new(int), migrations
	t.Cleanup(func() { migrations = before })
	migrations = append(slices.Clip(before), migration{name: "a test's", do: func(*bbolt.Tx) error { *done++; return nil }})
	return done
}

// Bolt is the transaction underneath.
func (t *Tx) Bolt() *bbolt.Tx { return t.bolt }

// PackRide is the packed form of a ride, for its length.
func (t *Tx) PackRide(id [12]byte) []byte { return t.bucket(bktRides).Get(t.rideKeyOf(id)) }

// IDKey is the key of what is kept by its id.
func IDKey(id wear.ID) []byte { return id8(id) }

// PutRow writes a row beneath the store.
func PutRow(t *Tx, bucket string, id uint64, row any) error {
	raw, err := codec.Marshal(row)
	if err != nil {
		return err
	}
	t.wrote = true
	return t.bucket([]byte(bucket)).Put(be64(nil, id), raw)
}

// Names reports whether a text names a person.
func Names(p wear.Person, text string) bool { return traitsOf(p).name(text) }
