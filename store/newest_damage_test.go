package store

import (
	"bytes"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// damagedAt is a book of one bike with a chain of which much is known, and the row of
// newest for it.
func damagedAt(t *testing.T) (b *Book, bike, chain wear.ID, row []byte) {
	t.Helper()
	b = Quick(At(filepath.Join(t.TempDir(), "book"), Options{Zone: "UTC"}))
	at := func(day int) wear.Instant { return wear.At(time.Date(2026, 3, day, 12, 0, 0, 0, time.UTC)) }
	require.NoError(t, b.Update(t.Context(), func(tx *Tx) error {
		tx.Begin("test", "", "")
		made, err := tx.AddBike(wear.Bike{Name: "Ridge"})
		require.NoError(t, err)
		p, err := tx.AddPart(wear.Part{Kind: "chain"})
		require.NoError(t, err)
		bike, chain = made.ID, p.ID
		require.NoError(t, tx.AddStay(wear.Stay{Part: chain, Host: bike, From: wear.Ever, To: wear.Never}))
		_, err = tx.AddReading(wear.Reading{Part: chain, At: at(2), Of: wear.Elongation, Value: 0.2, Tool: "ruler", Places: []float64{0.1, 0.3}, Note: "cold"})
		require.NoError(t, err)
		_, err = tx.AddLook(wear.Look{Part: chain, At: at(3), Word: wear.Unsafe, Note: "a stiff link"})
		require.NoError(t, err)
		_, err = tx.AddSignOff(wear.SignOff{Part: chain, At: at(4), Job: "clean", Torque: 8, Fitted: chain})
		require.NoError(t, err)
		return tx.settle()
	}))
	require.NoError(t, b.View(t.Context(), func(tx *Tx) error {
		row = bytes.Clone(tx.row(bktNewest, id8(chain)))
		return nil
	}))
	require.NotEmpty(t, row)
	return b, bike, chain, row
}

// TestADamagedRowOfNewest: whatever became of it, a case is read or there is one
// error that names it, the audit names it too, and a repair mends it.
func TestADamagedRowOfNewest(t *testing.T) {
	b, bike, chain, row := damagedAt(t)
	put := func(raw []byte) {
		require.NoError(t, b.Update(t.Context(), func(tx *Tx) error {
			tx.wrote = true
			return tx.bucket(bktNewest).Put(id8(chain), raw)
		}))
	}
	var damaged [][]byte
	for i := range row {
		damaged = append(damaged, row[:i])
		for _, flip := range []byte{0x01, 0x80, 0xff} {
			one := bytes.Clone(row)
			one[i] ^= flip
			damaged = append(damaged, one)
		}
	}
	refused := 0
	for _, raw := range append(damaged, append(bytes.Clone(row), 0)) {
		put(raw)
		require.NoError(t, b.View(t.Context(), func(tx *Tx) error {
			c, err := tx.CaseToAssess(bike, wear.Never)
			if err != nil {
				var d *DamagedError
				require.True(t, errors.As(err, &d), "%v", err)
				require.Contains(t, err.Error(), "newest")
				require.Equal(t, 0, strings.Count(err.Error(), "\n"))
				refused++
				return nil
			}
			wear.Assess(c, wear.Default())
			return nil
		}))
		report, err := b.Audit(t.Context())
		require.NoError(t, err)
		require.Len(t, report.Problems, 1, "%x", raw)
		require.Contains(t, report.Problems[0], "newest")
	}
	require.Greater(t, refused, len(row))
	require.NoError(t, b.Repair(t.Context()))
	report, err := b.Audit(t.Context())
	require.NoError(t, err)
	require.Empty(t, report.Problems)
}
