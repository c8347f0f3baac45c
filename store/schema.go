package store

import (
	"bytes"
	"crypto/rand"
	"encoding/binary"
	"fmt"
	"time"

	"go.etcd.io/bbolt"
)

// The names of the buckets and of the keys in meta, each in this one place.
var (
	bktMeta      = []byte("meta")
	bktEntries   = []byte("entries")
	bktBefore    = []byte("before")
	bktBikes     = []byte("bikes")
	bktParts     = []byte("parts")
	bktStays     = []byte("stays")
	bktRides     = []byte("rides")
	bktGears     = []byte("gears")
	bktFiles     = []byte("files")
	bktReadings  = []byte("readings")
	bktLooks     = []byte("looks")
	bktSignOffs  = []byte("signoffs")
	bktIncidents = []byte("incidents")
	bktStatuses  = []byte("statuses")
	bktOdometers = []byte("odometers")
	bktSettings  = []byte("settings")
	bktSetups    = []byte("setups")
	bktVisits    = []byte("visits")
	bktTurns     = []byte("turnrounds")
	bktStock     = []byte("stock")
	bktRefusals  = []byte("refusals")
	bktPeople    = []byte("people")
	bktOutbox    = []byte("outbox")
	bktTombs     = []byte("tombs")
	bktDevices   = []byte("devices")
	bktWords     = []byte("words")
	bktRideIDs   = []byte("rides.id")
	bktRideTimes = []byte("rides.time")
	bktStaysPart = []byte("stays.part")
	bktSpans     = []byte("spans")
	bktWeeks     = []byte("weeks")
	bktBikeGears = []byte("gears.bike")
	bktSpanGears = []byte("spangears")
	bktSensors   = []byte("sensors")
	bktNames     = []byte("names")
	bktDeviceKey = []byte("devices.key")
	bktWordKey   = []byte("words.key")
	bktEmails    = []byte("people.email")
	bktMailOf    = []byte("outbox.person")
	bktMailState = []byte("outbox.state")
	bktNewest    = []byte("newest")

	keyFormat = []byte("format")
	keyID     = []byte("id")
	keyZone   = []byte("zone")
	keyPack   = []byte("pack")
)

// factBuckets are those whose changes an entry can take back. Entries name them
// by their place: never reorder, only append.
var factBuckets = [][]byte{
	bktBikes, bktParts, bktStays, bktRides, bktGears, bktFiles, bktReadings, bktLooks, bktSignOffs,
	bktIncidents, bktStatuses, bktOdometers, bktSettings, bktSetups,
	bktVisits, bktTurns, bktStock,
}

// sharedBuckets hold what rides refer to; no entry lists them, and only Forget
// takes something out of them.
var sharedBuckets = [][]byte{bktDevices, bktWords}

// derivedBuckets are rebuilt from the facts by audit and repair.
var derivedBuckets = [][]byte{
	bktRideIDs, bktRideTimes, bktStaysPart, bktSpans, bktWeeks, bktNames, bktDeviceKey, bktWordKey, bktBikeGears,
	bktSpanGears, bktSensors, bktEmails, bktMailOf, bktMailState, bktNewest,
}

// migration is one step of the schema; a book of format n has had the first n.
type migration struct {
	name  string
	early bool // View reads a book rightly before this step
	do    func(*bbolt.Tx) error
}

// migrations lead from an empty file to the present schema. Append only.
var migrations = []migration{
	{"buckets of the first version", false, firstBuckets},
	{"incidents, statuses, odometers, settings, gears of bikes", true, secondBuckets},
	{"how spans begin", true, tellOnsets},
	{"set-ups of chain guides", true, func(tx *bbolt.Tx) error { return makeBuckets(tx, bktSetups) }},
	{"gears of spans", true, sumSpanGears},
	{"sensors of told rides, notes on refused files", true, countSensors},
	{"people, messages, visits", true, func(tx *bbolt.Tx) error {
		return makeBuckets(tx, bktVisits, bktPeople, bktOutbox, bktTombs, bktEmails, bktMailOf, bktMailState)
	}},
	{"turn-rounds, stock", true, func(tx *bbolt.Tx) error { return makeBuckets(tx, bktTurns, bktStock) }},
	{"newest facts of parts", true, sumNewest},
}

// Format is the version of the schema that this package writes.
func Format() int { return len(migrations) }

// readable reports whether View can read a book of that format as it is.
func readable(format int) bool {
	for _, m := range migrations[format:] {
		if !m.early {
			return false
		}
	}
	return true
}

func firstBuckets(tx *bbolt.Tx) error {
	return makeBuckets(tx, bktMeta, bktEntries, bktBefore,
		bktBikes, bktParts, bktStays, bktRides, bktGears, bktFiles, bktReadings, bktLooks, bktSignOffs,
		bktDevices, bktWords,
		bktRideIDs, bktRideTimes, bktStaysPart, bktSpans, bktWeeks, bktNames, bktDeviceKey, bktWordKey)
}

func secondBuckets(tx *bbolt.Tx) error {
	if err := makeBuckets(tx, bktIncidents, bktStatuses, bktOdometers, bktSettings, bktBikeGears); err != nil {
		return err
	}
	t := &Tx{bolt: tx, book: &Book{}}
	return t.bucket(bktBikes).ForEach(func(bike, _ []byte) error {
		return t.deriveGears(idOf(bike), func(bucket, key, value []byte) error { return t.bucket(bucket).Put(key, value) })
	})
}

// tellOnsets lets every span say how it begins.
func tellOnsets(tx *bbolt.Tx) error {
	t := &Tx{bolt: tx, book: &Book{}, onsetsDue: map[string]struct{}{}}
	for k := range t.under(bktSpans, nil) {
		t.onsetsDue[string(k)] = struct{}{}
	}
	return t.settleOnsets()
}

// sumSpanGears sums the gears of every span.
func sumSpanGears(tx *bbolt.Tx) error {
	if err := makeBuckets(tx, bktSpanGears); err != nil {
		return err
	}
	return (&Tx{bolt: tx, book: &Book{}}).spanGears()
}

// countSensors counts the rides that name each sensor, and makes room for notes.
func countSensors(tx *bbolt.Tx) error {
	if err := makeBuckets(tx, bktSensors, bktRefusals); err != nil {
		return err
	}
	t := &Tx{bolt: tx, book: &Book{}, shared: map[string]shared{}}
	return t.deriveSensors(func(bucket, key, value []byte) error { return t.bucket(bucket).Put(key, value) })
}

// sumNewest gathers the newest facts of every part.
func sumNewest(tx *bbolt.Tx) error {
	if err := makeBuckets(tx, bktNewest); err != nil {
		return err
	}
	return (&Tx{bolt: tx, book: &Book{}}).deriveNewest(func(bucket, key, value []byte) error { return tx.Bucket(bucket).Put(bytes.Clone(key), value) })
}

// format is the version of the schema that the open book is of.
func (t *Tx) format() int {
	n, err := formatOf(t.bolt)
	if err != nil {
		return Format() // the book would not have opened
	}
	return n
}

func makeBuckets(tx *bbolt.Tx, names ...[]byte) error {
	for _, name := range names {
		if _, err := tx.CreateBucketIfNotExists(name); err != nil {
			return fmt.Errorf("bucket %q: %w", name, err)
		}
	}
	return nil
}

// formatOf is the schema version of a book; 0 = nothing in it yet.
func formatOf(tx *bbolt.Tx) (int, error) {
	meta := tx.Bucket(bktMeta)
	if meta == nil {
		if k, _ := tx.Cursor().First(); k != nil {
			return 0, fmt.Errorf("not a book of pawl")
		}
		return 0, nil
	}
	v := meta.Get(keyFormat)
	if len(v) != 4 {
		return 0, fmt.Errorf("says no format")
	}
	return int(binary.BigEndian.Uint32(v)), nil
}

// migrate brings a book to the present schema.
func migrate(tx *bbolt.Tx, from int, zone string) error {
	for _, m := range migrations[from:] {
		if err := m.do(tx); err != nil {
			return fmt.Errorf("migration %q: %w", m.name, err)
		}
	}
	meta := tx.Bucket(bktMeta)
	if from == 0 {
		if err := found(meta, zone); err != nil {
			return err
		}
	}
	return meta.Put(keyFormat, binary.BigEndian.AppendUint32(nil, uint32(Format())))
}

// found gives a new book its number and its time zone.
func found(meta *bbolt.Bucket, zone string) error {
	if zone == "" {
		zone = "UTC"
	}
	if _, err := time.LoadLocation(zone); err != nil {
		return &ConflictError{"time zone", zone, "not known", "give a name such as Europe/Vienna"}
	}
	id := make([]byte, 4)
	_, _ = rand.Read(id)
	id[0] &= 0x7f // ids stay positive as int64, which JSON readers like
	id[3] |= 1    // and are never zero
	if err := meta.Put(keyID, id); err != nil {
		return err
	}
	return meta.Put(keyZone, []byte(zone))
}
