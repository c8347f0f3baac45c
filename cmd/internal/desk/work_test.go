package desk

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/wear"
)

// trailDesk is a desk with one bike, enduro, of the sheet trail.
func trailDesk(t *testing.T) *Desk {
	t.Helper()
	d := Open(filepath.Join(t.TempDir(), "the.book"), "UTC", "test", time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC))
	sheet, ok := wear.SheetByName("trail")
	require.True(t, ok)
	_, _, err := d.AddBike(t.Context(), BikeRequest{Bike: wear.Bike{Name: "enduro"}, Sheet: sheet, Used: Nothing()})
	require.NoError(t, err)
	return d
}

// What several jobs cost and took together is counted once.
func TestSignOffSharesCostAndMinutes(t *testing.T) {
	d := trailDesk(t)
	for _, c := range []struct {
		jobs []string
		cost []int64
	}{
		{[]string{"guide-bolts:check", "ring-bolts:check"}, nil},
		{[]string{"chain:change", "guide-bolts:check", "rear-pads:change"}, []int64{1001, 0, 1000}},
		{[]string{"chain:clean"}, []int64{2001}},
	} {
		done, err := d.SignOff(t.Context(), SignOffRequest{Bike: "enduro", Jobs: c.jobs, Cost: 2001, Minutes: 31})
		require.NoError(t, err)
		var cost []int64
		var sum, minutes int64
		require.NoError(t, d.Book.View(t.Context(), func(tx *store.Tx) error {
			for _, j := range done {
				all, err := tx.SignOffs(j.Part.ID)
				require.NoError(t, err)
				last := all[len(all)-1]
				require.Equal(t, j.Job.Name, last.Job)
				cost = append(cost, last.Cost)
				sum, minutes = sum+last.Cost, minutes+int64(last.Minutes)
				assert.Positive(t, last.Minutes)
			}
			return nil
		}))
		assert.EqualValues(t, 2001, sum)
		assert.EqualValues(t, 31, minutes)
		if c.cost != nil {
			assert.Equal(t, c.cost, cost)
		}
	}
}
