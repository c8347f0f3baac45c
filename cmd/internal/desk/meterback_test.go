package desk

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func readOdometer(d *Desk, on, odometer string) (MeterResult, error) {
	return d.AddMeters(context.Background(), MeterRequest{Bike: "one", On: on, Odometer: odometer, Climb: nan, Hours: nan})
}

// TestVoidMeters: a reading that was wrong is taken back with its ride, the next
// one counts from the one before it, and the same may be entered again.
func TestVoidMeters(t *testing.T) {
	d := meterDesk(t, "one")
	_, err := readOdometer(d, "2026-05-01", "100km")
	require.NoError(t, err)
	_, err = readOdometer(d, "2026-05-08", "9040km")
	require.NoError(t, err)
	require.Len(t, d.Warnings, 1)
	assert.Contains(t, d.Warnings[0], `8940.0 km from 2026-05-01 to 2026-05-08 by its odometer: misread? pawl ride add "one" --odometer 9040km --on 2026-05-08 --void`)
	_, err = readOdometer(d, "2026-05-09", "150km")
	assert.ErrorContains(t, err, "runs back")

	void := func(on, shows string) error {
		_, err := d.VoidMeters(t.Context(), MeterRequest{Bike: "one", On: on, Odometer: shows, Climb: nan, Hours: nan})
		return err
	}
	assert.ErrorContains(t, void("", "9041km"), `no reading of the odometer of bike "one" shows 9041.0 km`)
	assert.ErrorContains(t, void("2026-05-07", "9040km"), "no reading")
	require.NoError(t, void("2026-05-08", "9040km"))
	assert.Zero(t, totals(t, d)["one"].Rides)
	res, err := readOdometer(d, "2026-05-09", "150km")
	require.NoError(t, err)
	require.Len(t, res.Rides, 1)
	assert.Equal(t, int64(50*100_000), totals(t, d)["one"].Total()[wear.Distance])

	require.NoError(t, void("", "150km"))
	_, err = readOdometer(d, "2026-05-08", "9040km")
	require.NoError(t, err)
	assert.Equal(t, int64(8940*100_000), totals(t, d)["one"].Total()[wear.Distance], "entered again, it counts again")
}

// TestTableDryRun: it says of every row what the import then says, and writes nothing.
func TestTableDryRun(t *testing.T) {
	d := meterDesk(t, "one")
	path := filepath.Join(t.TempDir(), "odo.csv")
	rows := "bike,date,odometer_km\none,2026-05-01,100\ntwo,2026-05-01,7\none,2026-05-08,90\none,2026-05-09,160\none,x,1\n"
	require.NoError(t, os.WriteFile(path, []byte(rows), 0o600))
	run := func(dry bool) FileOutcome {
		res, err := d.Import(t.Context(), ImportRequest{Paths: []string{path}, DryRun: dry, Retry: true})
		require.NoError(t, err)
		require.Len(t, res.Files, 1)
		return res.Files[0]
	}
	would := run(true)
	assert.Empty(t, totals(t, d))
	assert.Contains(t, would.Why, "3 rows would be refused")
	is := run(false)
	assert.Equal(t, is.Wrong, would.Wrong)
	assert.Len(t, is.Wrong, 3)
	assert.Equal(t, is.Rides, would.Rides)
	assert.Equal(t, int64(60*100_000), totals(t, d)["one"].Total()[wear.Distance])
}
