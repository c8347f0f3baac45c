package desk

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// hireFleet is a book of n bikes of two sheets, of which every tenth has ten
// recorded rides.
func hireFleet(b *testing.B, n int) *Desk {
	b.Helper()
	d := Open(filepath.Join(b.TempDir(), "bench.book"), "UTC", "bench", benchNow)
	require.NoError(b, d.Book.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("bench", "", "")
		for i := range n {
			bike, err := tx.AddBike(wear.Bike{Name: fmt.Sprintf("hire %05d", i), Sheet: []string{"trail", "e-trail"}[i%2]})
			if err != nil {
				return err
			}
			for day := range 10 * (1 - min(i%10, 1)) {
				key := rideKey(i, day)
				r := wear.Ride{
					ID: key, Bike: bike.ID, Start: wear.At(time.Date(2027, 5, day+1, 10, 0, 0, 0, time.UTC)), Format: wear.FIT,
					File: wear.Hash(key), Version: ingest.SumsVersion,
					Recorded: wear.Load{wear.Distance: 2_000_000, wear.Climb: 60_000, wear.Moving: 5_000_000, wear.Turns: 4_000_000},
				}
				if _, err := tx.AddRide(r, wear.Gears{}); err != nil {
					return err
				}
			}
		}
		return nil
	}))
	return d
}

// A table of readings of all bikes of a fleet, week after week, in one go; the same
// rows again in another file, and of bikes that are not in the book; then a ride
// typed in, of which only the km are known.
func BenchmarkOdometerTable(b *testing.B) {
	for _, n := range []int{1000, 10_000} {
		b.Run(fmt.Sprintf("bikes=%d", n), func(b *testing.B) {
			d, week := hireFleet(b, n), 0
			var imports, again, strange, rides time.Duration
			path := filepath.Join(b.TempDir(), "odometers.csv")
			read := func(rows []byte) (ImportResult, time.Duration) {
				require.NoError(b, os.WriteFile(path, rows, 0o600))
				start := time.Now()
				res, err := d.Import(context.Background(), ImportRequest{Paths: []string{path}})
				require.NoError(b, err)
				return res, time.Since(start)
			}
			for b.Loop() {
				week++
				text := "bike,date,km total\n"
				day := time.Date(2020, 1, 1+7*week, 0, 0, 0, 0, time.UTC).Format(dateForm)
				rows := []byte(text)
				for i := range n {
					rows = fmt.Appendf(rows, "hire %05d,%s,%d\n", i, day, 1000+40*week)
				}
				res, took := read(rows)
				require.Empty(b, res.Files[0].Wrong)
				imports += took
				res, took = read(append(rows, '\n'))
				require.Empty(b, res.Files[0].Rides)
				again += took
				res, took = read(bytes.ReplaceAll(rows, []byte("hire"), []byte("hier")))
				require.Len(b, res.Files[0].Wrong, n)
				strange += took
				start := time.Now()
				_, _, err := d.AddRide(context.Background(), RideRequest{Bike: "hire 00007", Km: 20, Climb: nan, Hours: nan, On: fmt.Sprint(day, "T11:00")})
				rides += time.Since(start)
				require.NoError(b, err)
			}
			b.ReportMetric(imports.Seconds()/float64(b.N), "s/table")
			b.ReportMetric(again.Seconds()/float64(b.N), "s/again")
			b.ReportMetric(strange.Seconds()/float64(b.N), "s/strange")
			b.ReportMetric(1e3*rides.Seconds()/float64(b.N), "ms/ride")
			b.ReportMetric(0, "ns/op")
		})
	}
}
