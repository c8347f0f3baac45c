package store_test

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// TestTryTakesBack: what a failed try wrote is gone, what was written before and
// after it stays, and one undo takes that back.
func TestTryTakesBack(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	odd := errors.New("odd")
	build := func(tx *store.Tx, name string) error {
		bike, err := tx.AddBike(wear.Bike{Name: name})
		if err != nil {
			return err
		}
		for _, kind := range []string{"rear-wheel", "chain"} {
			p, err := tx.AddPart(wear.Part{Kind: kind})
			if err != nil {
				return err
			}
			if err := tx.AddStay(wear.Stay{Part: p.ID, Host: bike.ID, From: wear.Ever, To: wear.Never, Came: true}); err != nil {
				return err
			}
		}
		return nil
	}
	update(t, b, func(tx *store.Tx) {
		for i := range 6 {
			err := tx.Try(func() error {
				if err := build(tx, fmt.Sprintf("trail %d", i)); err != nil || i%2 == 0 {
					return err
				}
				return odd
			})
			if i%2 == 0 {
				require.NoError(t, err)
			} else {
				require.ErrorIs(t, err, odd)
			}
		}
	})
	names := func() (bikes, parts []string) {
		view(t, b, func(tx *store.Tx) {
			all, err := tx.Bikes()
			require.NoError(t, err)
			for _, bike := range all {
				bikes = append(bikes, bike.Name)
			}
			list, err := tx.Parts()
			require.NoError(t, err)
			for _, p := range list {
				parts = append(parts, p.Name)
			}
		})
		return bikes, parts
	}
	bikes, parts := names()
	assert.Equal(t, []string{"trail 0", "trail 2", "trail 4"}, bikes)
	assert.Equal(t, []string{"rear-wheel-1", "chain-1", "rear-wheel-2", "chain-2", "rear-wheel-3", "chain-3"}, parts)
	view(t, b, func(tx *store.Tx) {
		for name, known := range map[string]bool{"TRAIL 2": true, "trail 1": false, "trail": false, "": false} {
			bike, found, err := tx.BikeNamed(name)
			require.NoError(t, err)
			assert.Equal(t, known, found, name)
			assert.Equal(t, known, bike.ID != 0)
		}
	})
	update(t, b, func(tx *store.Tx) {
		_, err := tx.Undo()
		require.NoError(t, err)
	})
	bikes, parts = names()
	assert.Empty(t, bikes)
	assert.Empty(t, parts)
}

// TestTryAlone: an entry of which nothing is left is none.
func TestTryAlone(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	update(t, b, func(tx *store.Tx) {
		require.Error(t, tx.Try(func() error {
			_, err := tx.AddBike(wear.Bike{Name: "trail"})
			require.NoError(t, err)
			return errors.New("odd")
		}))
	})
	view(t, b, func(tx *store.Tx) {
		for range tx.Entries(true) {
			t.Fatal("an entry without writes")
		}
	})
}

// TestManyStaysAtOnce: stays that come one by one are refused alike, whether the
// bike's pieces are remembered or read anew.
func TestManyStaysAtOnce(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	update(t, b, func(tx *store.Tx) {
		bike, err := tx.AddBike(wear.Bike{Name: "trail"})
		require.NoError(t, err)
		wheel, err := tx.AddPart(wear.Part{Kind: "rear-wheel"})
		require.NoError(t, err)
		put := func(kind string, host wear.ID) error {
			p, err := tx.AddPart(wear.Part{Kind: kind})
			require.NoError(t, err)
			return tx.AddStay(wear.Stay{Part: p.ID, Host: host, From: wear.Day, To: wear.Never})
		}
		require.NoError(t, put("cassette", wheel.ID), "a wheel on the shelf")
		require.NoError(t, put("chain", bike.ID))
		require.NoError(t, tx.AddStay(wear.Stay{Part: wheel.ID, Host: bike.ID, From: wear.Day, To: wear.Never}))
		require.ErrorContains(t, put("chain", bike.ID), "chain-1")
		require.ErrorContains(t, put("cassette", bike.ID), "cassette-1")
		require.NoError(t, put("rear-tyre", wheel.ID))
		require.ErrorContains(t, put("rear-tyre", bike.ID), "rear-tyre-1")
		stays, err := tx.StaysOn(bike.ID)
		require.NoError(t, err)
		assert.Len(t, stays, 4)
	})
}
