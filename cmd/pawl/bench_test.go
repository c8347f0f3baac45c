package main

import (
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/desk"
	"pawl/store"
	"pawl/wear"
)

// benchParts are the kinds of the benchmark's bike: 16 parts.
var benchParts = []string{
	"chain", "ring", "idler", "guide", "guide-bolts", "ring-bolts", "crank-bolt", "cassette",
	"derailleur-pulleys", "front-pads", "rear-pads", "rear-tyre", "fork", "shock", "pivot-bolts", "frame",
}

// rideBook makes a book of one bike with 16 parts and n rides over three years.
func rideBook(b *testing.B, n int) (path string) {
	b.Helper()
	path = filepath.Join(b.TempDir(), "bench.book")
	start := time.Date(2023, 11, 1, 8, 0, 0, 0, time.UTC)
	d := desk.Open(path, "UTC", "bench", start.AddDate(3, 0, 0))
	var sheet wear.Sheet
	for _, kind := range benchParts {
		sheet.Parts = append(sheet.Parts, wear.Part{Kind: kind})
	}
	bike, _, err := d.AddBike(b.Context(), desk.BikeRequest{Bike: wear.Bike{Name: "bench"}, Sheet: sheet, Used: desk.Nothing()})
	require.NoError(b, err)
	every := 3 * 365 * 24 * time.Hour / time.Duration(n)
	for from := 0; from < n; from += 1000 {
		require.NoError(b, d.Book.Update(b.Context(), func(tx *store.Tx) error {
			tx.Begin("import", "bench", "")
			for i := from; i < min(from+1000, n); i++ {
				sum := sha256.Sum256(fmt.Append(nil, i))
				r := wear.Ride{
					ID: wear.RideID(sum[:12]), Bike: bike.ID, Start: wear.At(start.Add(time.Duration(i) * every)), Format: wear.FIT,
					Ground:   wear.Ground(i % 6),
					Recorded: wear.Load{2_500_000, 60_000, 60_000, 6_600_000, 5_000_000, 900_000, 0}, Estimated: wear.Load{wear.Braking: 250_000},
				}
				if _, err := tx.AddRide(r, wear.Gears{}); err != nil {
					return err
				}
			}
			return nil
		}))
	}
	return path
}

// `pawl due` as a whole process on one bike with 16 parts, with 1,000 and with
// 10,000 rides in turn; "ratio" is of the medians.
func BenchmarkDueProcess(b *testing.B) {
	exe := filepath.Join(b.TempDir(), "pawl")
	out, err := exec.Command("go", "build", "-o", exe, ".").CombinedOutput()
	require.NoError(b, err, string(out))
	books := []string{rideBook(b, 1000), rideBook(b, 10_000)}
	took := make([][]time.Duration, len(books))
	for b.Loop() {
		for i, book := range books {
			cmd := exec.Command(exe, "--book", book, "due", "bench", "--today", "2026-10-31")
			cmd.Env = append(os.Environ(), "NO_COLOR=1")
			start := time.Now()
			out, err := cmd.CombinedOutput()
			took[i] = append(took[i], time.Since(start))
			require.NoError(b, err, string(out))
		}
	}
	few, many := middle(took[0]), middle(took[1])
	b.ReportMetric(few.Seconds()*1e3, "ms-1000")
	b.ReportMetric(many.Seconds()*1e3, "ms-10000")
	b.ReportMetric(float64(many)/float64(few), "ratio")
	b.ReportMetric(0, "ns/op")
}

func middle(d []time.Duration) time.Duration {
	slices.Sort(d)
	return d[len(d)/2]
}
