package store_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

func TestOutings(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	var bike, other wear.Bike
	made := func(n byte, of wear.Bike, at wear.Instant, f wear.Format, s wear.State) wear.Ride {
		r := wear.Ride{ID: wear.RideID{n, 6: n}, Bike: of.ID, Start: at, Format: f, State: s}
		r.Recorded[wear.Distance], r.Estimated[wear.Distance] = int64(n)*100, 1
		return r
	}
	update(t, b, func(tx *store.Tx) {
		var err error
		bike, err = tx.AddBike(wear.Bike{Name: "Ridge"})
		require.NoError(t, err)
		other, err = tx.AddBike(wear.Bike{Name: "Valley"})
		require.NoError(t, err)
		for _, r := range []wear.Ride{
			made(1, bike, 99, wear.FIT, wear.Counted), made(2, bike, 100, wear.FIT, wear.Counted), made(3, bike, 150, wear.FIT, wear.Twin),
			made(4, bike, 160, wear.FIT, wear.Void), made(5, bike, 170, wear.Table, wear.Counted), made(6, bike, 200, wear.Table, wear.Counted),
			made(7, bike, 201, wear.FIT, wear.Counted), made(8, other, 150, wear.FIT, wear.Counted),
		} {
			_, err := tx.AddRide(r, wear.Gears{})
			require.NoError(t, err)
		}
		_, err = tx.AddOdometer(wear.Odometer{Bike: bike.ID, At: 200, Metres: 7, Ride: wear.RideID{6, 6: 6}})
		require.NoError(t, err)
	})
	view(t, b, func(tx *store.Tx) {
		got, err := tx.Outings(bike.ID, 100, 200)
		require.NoError(t, err)
		assert.Equal(t, []wear.Outing{{At: 100, Way: 201, Est: 1}, {At: 170, Way: 501, Est: 1}, {At: 200, Way: 601, Est: 1, Rest: true}}, got)
		got, err = tx.Outings(bike.ID, 101, 169)
		require.NoError(t, err)
		assert.Empty(t, got)

		rides, err := tx.RideFigures(bike.ID, 100, 200)
		require.NoError(t, err)
		for i, want := range []wear.Ride{made(2, bike, 100, wear.FIT, wear.Counted), made(3, bike, 150, wear.FIT, wear.Twin),
			made(4, bike, 160, wear.FIT, wear.Void), made(5, bike, 170, wear.Table, wear.Counted)} {
			want.ID = wear.RideID{} // no sum asks for it
			assert.Equal(t, want, rides[i])
		}
		assert.Len(t, rides, 4)
	})
}
