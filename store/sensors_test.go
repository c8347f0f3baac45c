package store_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// TestToldFollowsARide through all that can be changed of it.
func TestToldFollowsARide(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	ids := twoBikes(t, b)
	power, shifter := wear.SensorKey{Type: 11, Serial: 77}, wear.SensorKey{Type: 34, Serial: 78}
	on := func(bike wear.ID, sensors ...wear.SensorKey) map[wear.SensorKey]map[wear.ID]int {
		counts := map[wear.SensorKey]map[wear.ID]int{}
		for _, s := range sensors {
			counts[s] = map[wear.ID]int{bike & 0xffffffff: 1}
		}
		return counts
	}
	r := madeRide(0)
	r.Bike, r.File, r.Ground = ids[0], wear.Hash{}, wear.Dry
	update(t, b, func(tx *store.Tx) {
		_, err := tx.AddRide(r, wear.Gears{})
		require.NoError(t, err)
	})
	require.Equal(t, on(ids[0], power, shifter), toldOf(t, b))
	tests := []struct {
		name   string
		change func(*wear.Ride)
		want   map[wear.SensorKey]map[wear.ID]int
	}{
		{"another bike", func(r *wear.Ride) { r.Bike = ids[1] }, on(ids[1], power, shifter)},
		{"no bike", func(r *wear.Ride) { r.Bike = 0 }, on(0)},
		{"another rule", func(r *wear.Ride) { r.Rule = wear.BySensor }, on(0)},
		{"a twin", func(r *wear.Ride) { r.State = wear.Twin }, on(ids[0], power, shifter)},
		{"taken back", func(r *wear.Ride) { r.State = wear.Void }, on(0)},
		{"another day", func(r *wear.Ride) { r.Start += wear.Day }, on(ids[0], power, shifter)},
		{"indoors", func(r *wear.Ride) { r.Ground = wear.Trainer }, on(ids[0], shifter)},
		{"other sensors", func(r *wear.Ride) { r.Sensors = r.Sensors[:1] }, on(ids[0], power)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			changed := r
			tt.change(&changed)
			update(t, b, func(tx *store.Tx) { require.NoError(t, tx.ChangeRide(changed)) })
			assert.Equal(t, tt.want, toldOf(t, b))
			storetest.Check(t, b)
			require.NoError(t, b.Update(context.Background(), func(tx *store.Tx) error {
				_, err := tx.Undo()
				return err
			}))
			assert.Equal(t, on(ids[0], power, shifter), toldOf(t, b))
		})
	}
}

// TestWrongTold: the audit tells of a wrong count, a repair mends it.
func TestWrongTold(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	filled(t, b, 3)
	right := toldOf(t, b)
	update(t, b, func(tx *store.Tx) {
		sensors := tx.Bolt().Bucket([]byte("sensors"))
		k, _ := sensors.Cursor().First()
		require.NoError(t, sensors.Put(k, []byte{0, 0, 0, 9}))
		require.NoError(t, sensors.Put(make([]byte, 15), []byte{0, 0, 0, 1}))
		bike, err := tx.FindBike("Ridge")
		require.NoError(t, err)
		bike.Note = "so that it is written"
		require.NoError(t, tx.ChangeBike(bike))
	})
	report, err := b.Audit(context.Background())
	require.NoError(t, err)
	require.Len(t, report.Problems, 2)
	assert.Contains(t, report.Problems[0], "is 00000009, the facts say 00000003")
	assert.Contains(t, report.Problems[1], "sensors: 3 rows, the facts say 2")
	require.NoError(t, b.Repair(context.Background()))
	assert.Equal(t, right, toldOf(t, b))
}
