package store_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// TestStockAndTurnRounds come back as they were given, can be taken back, and are
// undone as one entry.
func TestStockAndTurnRounds(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	var bike wear.Bike
	var s wear.Stock
	var r wear.TurnRound
	update(t, b, func(tx *store.Tx) {
		var err error
		bike, err = tx.AddBike(wear.Bike{Name: "Ridge", Depot: "north", Tags: []string{"xl"}, Price: 4500})
		require.NoError(t, err)
		s, err = tx.AddStock(wear.Stock{Kind: "chain", Model: "Twelve", At: wear.Day, Count: 4, Price: 2450, Lead: 14})
		require.NoError(t, err)
		_, err = tx.AddStock(wear.Stock{Kind: "chain", At: wear.Day, Count: -1})
		require.Error(t, err)
		r, err = tx.AddTurnRound(wear.TurnRound{Bike: bike.ID, At: wear.Day, By: "Kim",
			Faults: []wear.Fault{{Point: wear.PointTyres, Word: wear.Watch, Note: "cut"}}})
		require.NoError(t, err)
	})
	update(t, b, func(tx *store.Tx) {
		require.NoError(t, tx.VoidStock(s.ID))
		require.NoError(t, tx.VoidTurnRound(bike.ID, r.ID))
		require.Error(t, tx.VoidStock(s.ID+1))
	})
	told := func() (bool, bool) {
		var list []wear.Stock
		var rounds []wear.TurnRound
		view(t, b, func(tx *store.Tx) {
			var err error
			list, err = tx.Stock()
			require.NoError(t, err)
			rounds, err = tx.TurnRounds(bike.ID)
			require.NoError(t, err)
		})
		require.Len(t, list, 1)
		require.Len(t, rounds, 1)
		assert.Equal(t, s.ID, list[0].ID)
		assert.Equal(t, r.Faults, rounds[0].Faults)
		return list[0].Void, rounds[0].Void
	}
	stock, round := told()
	assert.True(t, stock && round)
	update(t, b, func(tx *store.Tx) {
		_, err := tx.Undo()
		require.NoError(t, err)
	})
	stock, round = told()
	assert.False(t, stock || round)
}
