package store

import "go.etcd.io/bbolt"

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

// Bolt is the transaction underneath.
func (t *Tx) Bolt() *bbolt.Tx { return t.bolt }

// PackRide is the packed form of a ride, for its length.
func (t *Tx) PackRide(id [12]byte) []byte { return t.bucket(bktRides).Get(t.rideKeyOf(id)) }
