package store_test

import (
	"context"
	"encoding/binary"
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
		assert.Equal(t, "b.fit", f.Name)
		raw, err := tx.Original(h)
		require.NoError(t, err)
		assert.Equal(t, "bytes", string(raw))
	})
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
