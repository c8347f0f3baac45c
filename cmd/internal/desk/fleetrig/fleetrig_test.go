package fleetrig_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/desk/fleetrig"
	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// A fleet has the size that was asked for, parts that were changed, gears in the
// stated share of its rides, and passes the audit.
func TestMake(t *testing.T) {
	path := filepath.Join(t.TempDir(), "fleet.book")
	require.NoError(t, fleetrig.Make(t.Context(), path, fleetrig.Size{Bikes: 7, Rides: 1000}))
	book := storetest.OpenAt(t, path, store.Options{})
	require.NoError(t, book.View(t.Context(), func(tx *store.Tx) error {
		rides, geared := 0, 0
		for r, err := range tx.Rides(store.RideFilter{}) {
			require.NoError(t, err)
			g, err := tx.Gears(r.ID)
			require.NoError(t, err)
			rides++
			if len(g.ByDevelopment) > 0 {
				geared++
			}
		}
		assert.Equal(t, 1000, rides)
		assert.InDelta(t, 300, geared, 50)
		bikes, err := tx.Bikes()
		require.NoError(t, err)
		require.Len(t, bikes, 7)
		c, err := tx.Case(bikes[0].ID, wear.At(fleetrig.Today))
		assert.Len(t, c.Parts, 14)
		assert.GreaterOrEqual(t, len(c.Past), 4)
		return err
	}))
}
