package desk

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/store"
	"pawl/wear"
)

// TestFleetOpeningCorrected: an opening figure that is corrected, with readings
// behind it or not, comes to the same as one that was right from the beginning.
func TestFleetOpeningCorrected(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := []string{"2026-03-01", "2026-03-20", "2026-04-11"}
		row := func(label string) string {
			return fmt.Sprintf("hire 1,small.toml,%d,%s", rapid.IntRange(0, 3000).Draw(t, label), rapid.SampledFrom(days).Draw(t, label))
		}
		first, last := row("first"), row("last")
		readings := "date,bike,odometer\n2026-05-01,hire 1,3100\n2026-05-09,hire 1,3150.5\n"
		book := func(rows ...string) (map[string]wear.Load, float64) {
			dir := tempDir(t)
			d := Open(filepath.Join(dir, "fleet.book"), "UTC", "test", fleetNow)
			path := filepath.Join(dir, "readings.csv")
			require.NoError(t, os.WriteFile(path, []byte(readings), 0o600))
			for i, r := range rows {
				res := readFleet(t, d, "bike,sheet,odometer_km,odometer_on", r)
				require.Empty(t, res.Wrong)
				require.Equal(t, cmp.Compare(1, i+1) == 0, res.Added == 1)
				if i == 0 {
					_, err := d.Import(context.Background(), ImportRequest{Paths: []string{path}})
					require.NoError(t, err)
				}
				require.Equal(t, 1, readFleet(t, d, "bike,sheet,odometer_km,odometer_on", r).Same)
			}
			audit, err := d.Book.Audit(context.Background())
			require.NoError(t, err)
			require.True(t, audit.Clean(), audit.Problems)
			loads := map[string]wear.Load{}
			for kind, p := range partsNow(t, d, "hire 1") {
				loads[kind] = p.Total.Total()
			}
			var odo float64
			require.NoError(t, d.Book.View(context.Background(), func(tx *store.Tx) error {
				b, err := tx.FindBike("hire 1")
				require.NoError(t, err)
				list, err := tx.Odometers(b.ID)
				require.Len(t, list, 3)
				odo = float64(list[0].Metres)
				return err
			}))
			return loads, odo
		}
		corrected, odo := book(first, last)
		straight, want := book(last)
		assert.InDelta(t, want, odo, 0)
		require.Len(t, corrected, 4)
		for kind, load := range straight {
			for q := range wear.NQuantities {
				assert.InDelta(t, load.SI(q), corrected[kind].SI(q), math.Max(1e-6*load.SI(q), 2), "%s %s", kind, q)
			}
			assert.InDelta(t, 3150.5e3, load.SI(wear.Distance), 501, "what it had done and what came since")
		}
	})
}

// TestFleetOpeningOfKnownBikes: what a bike had done is said once: not for one that
// was ridden or worked on before.
func TestFleetOpeningOfKnownBikes(t *testing.T) {
	d := newFleetDesk(t)
	head := "bike,sheet,odometer_km,odometer_on"
	readFleet(t, d, head, "hire 1,small.toml,,", "hire 2,small.toml,,", "hire 3,small.toml,,", "hire 4,small.toml,,")
	_, _, err := d.AddRide(t.Context(), RideRequest{Bike: "hire 2", On: "2026-05-02", Km: 30, Climb: math.NaN(), Hours: math.NaN()})
	require.NoError(t, err)
	_, _, err = d.Look(t.Context(), Fact{Bike: "hire 3", Part: "chain", On: "2026-05-02"}, string(wear.Good))
	require.NoError(t, err)
	_, err = d.Fit(t.Context(), FitRequest{Bike: "hire 4", Kind: "chain", Used: Nothing(), On: "2026-05-02", Old: "worn"})
	require.NoError(t, err)
	res := readFleet(t, d, head, "hire 1,,700,2026-05-20", "hire 2,,700,2026-05-20", "hire 3,,700,2026-05-20", "hire 4,,700,2026-05-20")
	assert.Equal(t, []string{"hire 1: odometer 700.0 km on 2026-05-20"}, res.Says)
	require.Len(t, res.Wrong, 3)
	for i, why := range []string{"it was ridden on 2026-05-02", "a part was looked at on 2026-05-02", "a part was fitted on 2026-05-02"} {
		assert.Contains(t, res.Wrong[i], why)
	}
	res = readFleet(t, d, head, "hire 1,,700,2026-05-20", "hire 2,,700,2026-05-01", "hire 3,,700,2026-05-01")
	assert.Equal(t, 1, res.Same)
	assert.Equal(t, 2, res.Changed, res.Wrong)
	assert.InDelta(t, 730e3, partsNow(t, d, "hire 2")["chain"].Total.Total().SI(wear.Distance), 1)
	assert.InDelta(t, 700e3, partsNow(t, d, "hire 3")["cassette"].Total.Total().SI(wear.Distance), 1)
}
