package store_test

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

func nothing(*store.Tx) error { return nil }

// filled makes a book with a bike, its chain and n rides with their files.
func filled(t testing.TB, b *store.Book, n int) (bike, chain wear.ID) {
	t.Helper()
	bike, chain = withBike(t, b)
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("import", "", "")
		for i := range n {
			if _, err := importOne(tx, bike, i); err != nil {
				return err
			}
		}
		return nil
	}))
	return bike, chain
}

// everything calls all that reads.
func everything(tx *store.Tx) error {
	bikes, err := tx.Bikes()
	if err != nil {
		return err
	}
	for _, b := range bikes {
		if _, err := tx.Case(b.ID, wear.Never); err != nil {
			return err
		}
	}
	for r, err := range tx.Rides(store.RideFilter{}) {
		if err != nil {
			return err
		}
		if _, err := tx.Gears(r.ID); err != nil {
			return err
		}
	}
	for _, err := range tx.Entries(false) {
		if err != nil {
			return err
		}
	}
	_, err = tx.Told()
	_, also := tx.Refusals()
	return errors.Join(err, also, everybody(tx, bikes))
}

// TestWrongBooks: each is refused with what is wrong and a hint, by View and by
// Update, and stays as it was.
func TestWrongBooks(t *testing.T) {
	whole := func(t *testing.T) []byte {
		b := storetest.Open(t, store.Options{})
		filled(t, b, 200)
		raw, err := os.ReadFile(b.Path())
		require.NoError(t, err)
		return raw
	}
	foreign := func(t *testing.T) []byte {
		path := filepath.Join(t.TempDir(), "other")
		db, err := bbolt.Open(path, 0o600, nil)
		require.NoError(t, err)
		require.NoError(t, db.Update(func(tx *bbolt.Tx) error {
			_, err := tx.CreateBucket([]byte("other"))
			return err
		}))
		require.NoError(t, db.Close())
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		return raw
	}
	tests := []struct {
		name string
		raw  func(t *testing.T) []byte
		want string
	}{
		{"garbage", func(*testing.T) []byte { return []byte("this is a shopping list, not a book\n") }, "not a book"},
		{"long garbage", func(*testing.T) []byte { return make([]byte, 1<<20) }, "not a book"},
		{"another program's", foreign, "not a book of pawl"},
		{"cut in the middle", func(t *testing.T) []byte { return whole(t)[:6*4096] }, "cut off"}, // bbolt leaves room at the end
		{"cut to one page", func(t *testing.T) []byte { return whole(t)[:4096] }, "cut off"},
		{"cut within a page", func(t *testing.T) []byte { return whole(t)[:5000] }, "cut off"},
		{"garbled pages", func(t *testing.T) []byte {
			raw := whole(t)
			for i := 3 * 4096; i < len(raw); i++ {
				raw[i] = byte(i * 31)
			}
			return raw
		}, "garbled"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			raw := tt.raw(t)
			path := filepath.Join(t.TempDir(), "book")
			require.NoError(t, os.WriteFile(path, raw, 0o600))
			b := store.At(path, store.Options{})
			for _, err := range []error{b.View(context.Background(), everything), b.Update(context.Background(), everything)} {
				var damaged *store.DamagedError
				require.ErrorAs(t, err, &damaged)
				assert.ErrorContains(t, err, tt.want)
				assert.Contains(t, damaged.Hint(), "backup")
			}
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, raw, after)
		})
	}
}

// TestCutAnywhere cuts a book at every page: it is refused, or it was whole.
func TestCutAnywhere(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	filled(t, b, 100)
	raw, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "book")
	refused := 0
	for size := len(raw) - 1; size > 0; size -= 4096 {
		require.NoError(t, os.WriteFile(path, raw[:size], 0o600))
		err := store.At(path, store.Options{}).View(context.Background(), everything)
		var damaged *store.DamagedError
		if errors.As(err, &damaged) {
			refused++
			continue
		}
		require.NoError(t, err, "cut to %d", size)
	}
	assert.Positive(t, refused)
}

// TestGarbledAnywhere spoils one page at a time: an error or an answer, never a
// crash, and the audit tells.
func TestGarbledAnywhere(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	filled(t, b, 60)
	raw, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "book")
	told := 0
	for at := 0; at < len(raw); at += 4096 {
		bad := append([]byte(nil), raw...)
		for i := range 4096 {
			bad[at+i] ^= byte(i*7 + 1)
		}
		require.NoError(t, os.WriteFile(path, bad, 0o600))
		b := store.At(path, store.Options{})
		_ = b.View(context.Background(), everything)
		report, err := b.Audit(context.Background())
		if err != nil || !report.Clean() {
			told++
		}
	}
	assert.Positive(t, told)
}

func TestNoBookYet(t *testing.T) {
	path := filepath.Join(t.TempDir(), "deep", "er", "book")
	b := storetest.OpenAt(t, path, store.Options{Zone: "Asia/Kolkata"})
	err := b.View(context.Background(), nothing)
	require.ErrorIs(t, err, store.ErrNoBook)
	var hint interface{ Hint() string }
	require.ErrorAs(t, err, &hint)
	assert.NoDirExists(t, filepath.Dir(path), "looking makes nothing")

	broken := errors.New("broken")
	require.ErrorIs(t, b.Update(context.Background(), func(*store.Tx) error { return broken }), broken)
	assert.NoFileExists(t, path, "what fails at once leaves no book")

	require.NoError(t, os.WriteFile(path, nil, 0o600))
	require.ErrorIs(t, b.View(context.Background(), nothing), store.ErrNoBook, "an empty file is no book")
	withBike(t, b)
	info, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.NoError(t, b.View(context.Background(), func(tx *store.Tx) error {
		assert.Equal(t, "Asia/Kolkata", tx.Zone().String())
		return nil
	}))
	bad := store.At(filepath.Join(t.TempDir(), "book"), store.Options{Zone: "Atlantis/Deep"})
	require.ErrorContains(t, bad.Update(context.Background(), nothing), `time zone "Atlantis/Deep": not known`)
	require.ErrorContains(t, store.At(t.TempDir(), store.Options{}).View(context.Background(), nothing), "is a folder")
}

func TestNewerBook(t *testing.T) {
	b := store.At(filepath.Join(t.TempDir(), "book"), store.Options{})
	withBike(t, b)
	db, err := bbolt.Open(b.Path(), 0o600, nil)
	require.NoError(t, err)
	require.NoError(t, db.Update(func(tx *bbolt.Tx) error {
		return tx.Bucket([]byte("meta")).Put([]byte("format"), binary.BigEndian.AppendUint32(nil, uint32(store.Format()+1)))
	}))
	require.NoError(t, db.Close())
	before, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	for _, err := range []error{b.View(context.Background(), nothing), b.Update(context.Background(), nothing)} {
		var newer *store.NewerError
		require.ErrorAs(t, err, &newer)
		assert.Contains(t, err.Error(), fmt.Sprintf("format %d is newer than this pawl's %d", store.Format()+1, store.Format()))
	}
	after, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

func TestReadOnlyBook(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	withBike(t, b)
	require.NoError(t, os.Chmod(b.Path(), 0o400))
	var frozen *store.ReadOnlyError
	require.ErrorAs(t, b.Update(context.Background(), nothing), &frozen)
	assert.Contains(t, frozen.Hint(), "writable")
	require.NoError(t, b.View(context.Background(), everything))
}

// TestLookingChangesNothing: not a byte of the book.
func TestLookingChangesNothing(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	filled(t, b, 50)
	before, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	require.NoError(t, b.View(context.Background(), everything))
	storetest.Check(t, b)
	after, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

// TestFailedUpdateLeavesNothing, neither in the book nor, after the next write,
// in the originals.
func TestFailedUpdateLeavesNothing(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := filled(t, b, 3)
	broken := errors.New("broken")
	pack := filepath.Join(store.OriginalsDir(b.Path()), "000001.pack")
	before, err := os.Stat(pack)
	require.NoError(t, err)
	require.ErrorIs(t, b.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("import", "", "")
		_, err := importOne(tx, bike, 3)
		require.NoError(t, err)
		return broken
	}), broken)
	require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
		_, found, err := tx.File(madeRide(3).File)
		assert.False(t, found)
		tx.Begin("import", "", "")
		require.NoError(t, err)
		return tx.AddFile(store.FileFact{Hash: wear.Hash{1}, Outcome: "refused"}, []byte("x"))
	}))
	after, err := os.Stat(pack)
	require.NoError(t, err)
	assert.Less(t, after.Size()-before.Size(), int64(100))
}

// TestSchemaHasACase fails when a step of the schema is added without one.
func TestSchemaHasACase(t *testing.T) {
	cases := map[string]func(*testing.T){
		"buckets of the first version": func(t *testing.T) {
			b := storetest.Open(t, store.Options{})
			require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
				n := 0
				assert.NoError(t, tx.Bolt().ForEach(func([]byte, *bbolt.Bucket) error { n++; return nil }))
				assert.Equal(t, 41, n)
				return nil
			}))
			require.NoError(t, b.View(context.Background(), nothing))
		},
		"incidents, statuses, odometers, settings, gears of bikes": TestOlderBook,
		"how spans begin":                               TestOlderBook,
		"set-ups of chain guides":                       TestOlderBook,
		"gears of spans":                                TestOlderBook,
		"sensors of told rides, notes on refused files": TestOlderBook,
		"people, messages, visits":                      TestOlderBook,
		"turn-rounds, stock":                            TestOlderBook,
		"newest facts of parts":                         TestOlderBook,
	}
	for _, name := range store.Migrations() {
		require.Contains(t, cases, name)
		t.Run(name, cases[name])
	}
}
