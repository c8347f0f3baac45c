package store_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// TestSpoiltOriginals: the audit names what cannot be read back, the rest can,
// and new originals go on in the next pack.
func TestSpoiltOriginals(t *testing.T) {
	b := store.At(filepath.Join(t.TempDir(), "book"), store.Options{})
	store.SetPackLimit(b, 20_000)
	bike, _ := filled(t, b, 12)
	packs, err := filepath.Glob(filepath.Join(store.OriginalsDir(b.Path()), "*.pack"))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(packs), 3)
	for _, pack := range packs {
		info, err := os.Stat(pack)
		require.NoError(t, err)
		assert.LessOrEqual(t, info.Size(), int64(20_000))
	}
	raw, err := os.ReadFile(packs[0])
	require.NoError(t, err)
	raw[100] ^= 1
	require.NoError(t, os.WriteFile(packs[0], raw, 0o600))
	require.NoError(t, os.Remove(packs[len(packs)-1]))

	update(t, b, func(tx *store.Tx) {
		_, err := importOne(tx, bike, 12)
		require.NoError(t, err)
	})
	view(t, b, func(tx *store.Tx) {
		_, err := tx.Original(madeRide(0).File)
		require.ErrorContains(t, err, "checksum does not agree")
		kept, err := tx.Original(madeRide(1).File)
		require.NoError(t, err)
		assert.Equal(t, madeFile(1), kept)
		kept, err = tx.Original(madeRide(12).File)
		require.NoError(t, err)
		assert.Equal(t, madeFile(12), kept)
		_, err = tx.Original(wear.Hash{9})
		require.ErrorContains(t, err, "not in the book")
	})
	report, err := b.Audit(context.Background())
	require.NoError(t, err)
	problems := strings.Join(report.Problems, "\n")
	assert.Contains(t, problems, "checksum does not agree")
	assert.Contains(t, problems, "no such file")
	assert.Equal(t, report.Files, report.Originals+len(report.Problems))
}

// TestFileAgain: what is known of a file can change; its original stays.
func TestFileAgain(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	filled(t, b, 1)
	h := wear.Hash{5}
	update(t, b, func(tx *store.Tx) {
		require.NoError(t, tx.AddFile(store.FileFact{Hash: h, Name: "a.fit", Outcome: "refused", Why: "cut"}, []byte("bytes")))
	})
	update(t, b, func(tx *store.Tx) {
		require.NoError(t, tx.AddFile(store.FileFact{Hash: h, Name: "b.fit", Outcome: "not_ride"}, nil))
	})
	view(t, b, func(tx *store.Tx) {
		f, found, err := tx.File(h)
		require.NoError(t, err)
		assert.True(t, found)
		assert.Equal(t, store.FileFact{Hash: h, Name: "b.fit", Outcome: "not_ride", Entry: f.Entry}, f)
		raw, err := tx.Original(h)
		require.NoError(t, err)
		assert.Equal(t, "bytes", string(raw))
	})
}

// TestOriginalOfTheSameUpdate: what was added can be read back at once, also
// where a new pack began in between.
func TestOriginalOfTheSameUpdate(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	store.SetPackLimit(b, 10_000)
	update(t, b, func(tx *store.Tx) {
		for n := range 8 {
			require.NoError(t, tx.AddFile(store.FileFact{Hash: madeRide(n).File, Outcome: "taken"}, madeFile(n)))
			for m := range n + 1 {
				raw, err := tx.Original(madeRide(m).File)
				require.NoError(t, err)
				require.Equal(t, madeFile(m), raw)
			}
		}
	})
	assert.FileExists(t, filepath.Join(store.OriginalsDir(b.Path()), "000002.pack"))
}

// TestFolderOfAFile: it is told as it was given, whatever the bytes of the names,
// and many files in one folder keep its name once.
func TestFolderOfAFile(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	folders := []string{"", "/rides/2026", "/rides/2026", "/rides/\xff", "/rides/çıkış", "/rides/2026"}
	fact := func(i int) store.FileFact {
		return store.FileFact{Hash: wear.Hash{byte(i + 1)}, Name: "a\xff.fit", Outcome: "refused", Folder: folders[i], Entry: 1}
	}
	update(t, b, func(tx *store.Tx) {
		for i := range folders {
			require.NoError(t, tx.AddFile(fact(i), nil))
		}
		err := tx.AddFile(store.FileFact{Hash: wear.Hash{99}, Name: "b.fit", Folder: strings.Repeat("/x", 20_000)}, nil)
		require.ErrorContains(t, err, `file "b.fit": folder: words: 40000 bytes are too long a text`)
	})
	view(t, b, func(tx *store.Tx) {
		for i := range folders {
			f, found, err := tx.File(wear.Hash{byte(i + 1)})
			require.NoError(t, err)
			assert.True(t, found)
			assert.Equal(t, fact(i), f)
		}
		assert.Equal(t, 3, tx.Bolt().Bucket([]byte("words")).Stats().KeyN)
	})
}

// TestLostFolder: the audit names the file whose folder is lost.
func TestLostFolder(t *testing.T) {
	b := store.At(filepath.Join(t.TempDir(), "book"), store.Options{})
	update(t, b, func(tx *store.Tx) {
		require.NoError(t, tx.AddFile(store.FileFact{Hash: wear.Hash{1}, Name: "a.fit", Outcome: "taken", Folder: "/rides"}, nil))
		require.NoError(t, tx.Bolt().Bucket([]byte("words")).Delete([]byte{0, 0, 0, 1}))
	})
	view(t, b, func(tx *store.Tx) {
		_, _, err := tx.File(wear.Hash{1})
		require.ErrorContains(t, err, "words 1: missing")
	})
	report, err := b.Audit(context.Background())
	require.NoError(t, err)
	assert.Contains(t, report.Problems, `file "a.fit": its folder: words 1: missing`)
}

// TestEntriesAreSmall: an import of a season must not double the book.
func TestEntriesAreSmall(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	filled(t, b, 100)
	view(t, b, func(tx *store.Tx) {
		before := tx.Bolt().Bucket([]byte("before")).Get(binary.BigEndian.AppendUint64(nil, 2))
		assert.NotEmpty(t, before)
		assert.LessOrEqual(t, len(before), 100*40)
	})
}

// TestLaterFactsAreLeftOut of a case: an end, a removal, a ride.
func TestLaterFactsAreLeftOut(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, chain := filled(t, b, 10)
	gone := madeRide(6).Start
	update(t, b, func(tx *store.Tx) {
		require.NoError(t, tx.ChangeStay(
			wear.Stay{Part: chain, Host: bike, From: wear.Ever, To: wear.Never},
			wear.Stay{Part: chain, Host: bike, From: wear.Ever, To: gone}))
		p, err := tx.Part(chain)
		require.NoError(t, err)
		p.End = &wear.End{At: gone, Cause: wear.Worn}
		require.NoError(t, tx.ChangePart(p))
	})
	view(t, b, func(tx *store.Tx) {
		before, err := tx.Case(bike, gone-1)
		require.NoError(t, err)
		require.Len(t, before.Parts, 1)
		assert.Nil(t, before.Parts[0].Part.End)
		assert.Equal(t, wear.Never, before.Parts[0].Stays[0].To)
		assert.EqualValues(t, 6, over(before.Lines[bike], wear.Ever, wear.Never).All().Rides)

		after, err := tx.Case(bike, gone)
		require.NoError(t, err)
		assert.Empty(t, after.Parts)
		require.Len(t, after.Past, 1)
		assert.Equal(t, wear.Worn, after.Past[0].Part.End.Cause)
		assert.EqualValues(t, 7, over(after.Lines[bike], wear.Ever, wear.Never).All().Rides)
	})
}

// TestOlderCopyBesideNewerPacks: an older copy of the book is put back, goes on,
// and gives way to the newer one again. No original of either is lost.
func TestOlderCopyBesideNewerPacks(t *testing.T) {
	for _, limit := range []int64{64 << 20, 20_000} { // all in one pack, or in several
		t.Run(fmt.Sprint(limit), func(t *testing.T) {
			b := storetest.Open(t, store.Options{})
			store.SetPackLimit(b, uint64(limit))
			bike, _ := filled(t, b, 5)
			older := readFile(t, b.Path())
			add := func(from, to int) {
				update(t, b, func(tx *store.Tx) {
					for n := from; n < to; n++ {
						_, err := importOne(tx, bike, n)
						require.NoError(t, err)
					}
				})
			}
			have := func(rides ...int) {
				storetest.Check(t, b)
				view(t, b, func(tx *store.Tx) {
					for _, n := range rides {
						kept, err := tx.Original(madeRide(n).File)
						require.NoError(t, err)
						require.Equal(t, madeFile(n), kept)
					}
				})
			}
			add(5, 20)
			newer := readFile(t, b.Path())

			require.NoError(t, os.WriteFile(b.Path(), older, 0o600))
			add(20, 24)
			add(24, 30)
			have(0, 4, 20, 23, 24, 29)
			parted := readFile(t, b.Path())

			require.NoError(t, os.WriteFile(b.Path(), newer, 0o600))
			have(0, 5, 19)
			add(30, 45)
			have(0, 5, 19, 30, 44)

			require.NoError(t, os.WriteFile(b.Path(), parted, 0o600))
			have(0, 4, 20, 29)
			add(45, 50)
			have(0, 29, 45, 49)
		})
	}
}

func readFile(t *testing.T, path string) []byte {
	t.Helper()
	raw, err := os.ReadFile(path)
	require.NoError(t, err)
	return raw
}

// TestTornTail: what a killed program left behind in half is cut off, whether at
// the end of a pack or alone in the next one.
func TestTornTail(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	bike, _ := filled(t, b, 2)
	packs := store.OriginalsDir(b.Path())
	first, second := filepath.Join(packs, "000001.pack"), filepath.Join(packs, "000002.pack")
	whole := readFile(t, first)
	flipped := append([]byte(nil), whole...)
	flipped[len(flipped)-1] ^= 1
	flipped = flipped[len(whole)-len(madeFile(1))-31:] // the last record
	huge := append([]byte(nil), whole[:31]...)
	huge[19] = 0xff // a length beyond every file
	next := 2
	for name, tail := range map[string][]byte{
		"header": whole[:20], "half": whole[:1000], "flipped": flipped, "garbage": make([]byte, 5000), "huge": huge,
	} {
		t.Run(name, func(t *testing.T) {
			before := readFile(t, first)
			require.NoError(t, os.WriteFile(first, append(before[:len(before):len(before)], tail...), 0o600))
			require.NoError(t, os.WriteFile(second, tail, 0o600))
			update(t, b, func(tx *store.Tx) {
				_, err := importOne(tx, bike, next)
				require.NoError(t, err)
			})
			after := readFile(t, first)
			assert.Equal(t, before, after[:len(before)])
			assert.Equal(t, madeFile(next), after[len(before)+31:], "the next record follows at once")
			next++
			storetest.Check(t, b)
		})
	}
	store.SetPackLimit(b, 1)
	update(t, b, func(tx *store.Tx) {
		_, err := importOne(tx, bike, next)
		require.NoError(t, err)
	})
	assert.Equal(t, madeFile(next), readFile(t, second)[31:], "the torn pack is made anew")
	assert.NoFileExists(t, filepath.Join(packs, "000003.pack"))
}

// TestFailedUpdateInSeveralPacks leaves the originals as they were.
func TestFailedUpdateInSeveralPacks(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	store.SetPackLimit(b, 20_000)
	bike, _ := filled(t, b, 2)
	before := readFile(t, filepath.Join(store.OriginalsDir(b.Path()), "000001.pack"))
	require.ErrorIs(t, b.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("import", "", "")
		for n := 2; n < 12; n++ {
			_, err := importOne(tx, bike, n)
			require.NoError(t, err)
		}
		return context.Canceled
	}), context.Canceled)
	packs, err := filepath.Glob(filepath.Join(store.OriginalsDir(b.Path()), "*"))
	require.NoError(t, err)
	require.Len(t, packs, 1)
	assert.Equal(t, before, readFile(t, packs[0]))
}
