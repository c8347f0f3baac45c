package main

import (
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/desk"
	"pawl/store"
	"pawl/wear"
)

// Of a large workshop: people, bikes of two thirds of which somebody has one.
const (
	benchPeople = 2000
	benchBikes  = 3000
)

// benchToday is the day of the run: remind knows no other.
var benchToday = time.Now()

// peopleBook makes a book of people who agreed to messages, and of bikes of the
// sheet of a trail bike with a season of rides and three chain readings each.
func peopleBook(b *testing.B) (path string) {
	b.Helper()
	path = filepath.Join(b.TempDir(), "people.book")
	d := desk.Open(path, "UTC", "bench", benchToday)
	sheet, ok := wear.SheetByName("trail")
	require.True(b, ok)
	var owners []wear.ID
	update := func(fill func(tx *store.Tx) error) {
		require.NoError(b, d.Book.Update(b.Context(), func(tx *store.Tx) error {
			tx.Begin("bench", "", "")
			return fill(tx)
		}))
	}
	update(func(tx *store.Tx) error {
		given := wear.Consent{Given: wear.At(benchToday.AddDate(-1, 0, 0)), How: "at the counter"}
		for i := range benchPeople {
			p, err := tx.AddPerson(wear.Person{Name: fmt.Sprintf("Kim %04d", i), Email: fmt.Sprintf("kim%d@example.org", i), Consent: given})
			if err != nil {
				return err
			}
			owners = append(owners, p.ID)
		}
		return nil
	})
	for from := 0; from < benchBikes; from += 100 {
		update(func(tx *store.Tx) error {
			for i := from; i < min(from+100, benchBikes); i++ {
				bike := sheet.Dress(wear.Bike{Name: fmt.Sprintf("bike %04d", i), Owner: owners[i%benchPeople]})
				if err := benchBike(tx, bike, sheet, i); err != nil {
					return err
				}
			}
			return nil
		})
	}
	return path
}

// benchBike enters a bike, its parts, rides every six days and readings.
func benchBike(tx *store.Tx, bike wear.Bike, sheet wear.Sheet, n int) error {
	bike, err := tx.AddBike(bike)
	if err != nil {
		return err
	}
	chain, err := benchFit(tx, bike, sheet)
	if err != nil {
		return err
	}
	start := benchToday.AddDate(0, -6, -n%30)
	for i := range 30 {
		sum := sha256.Sum256(fmt.Append(nil, n, i))
		r := wear.Ride{
			ID: wear.RideID(sum[:12]), Bike: bike.ID, Start: wear.At(start.AddDate(0, 0, 6*i)), Format: wear.FIT, Ground: wear.Ground((n + i) % 4),
			Recorded:  wear.Load{int64(1_000_000 + n%17*100_000), 40_000, 40_000, 5_000_000, 4_000_000, 700_000, 0},
			Estimated: wear.Load{wear.Braking: int64(150_000 + n%13*10_000)},
		}
		if _, err := tx.AddRide(r, wear.Gears{}); err != nil {
			return err
		}
		if i%10 != 9 {
			continue
		}
		reading := wear.Reading{
			Part: chain, Bike: bike.ID, At: r.Start + 3_600_000, Of: wear.Elongation, Value: 0.05 + float64(i)/30*(0.2+float64(n%7)/20), Tool: "ruler",
		}
		if _, err := tx.AddReading(reading); err != nil {
			return err
		}
	}
	return nil
}

// benchFit puts the parts of the sheet on the bike, and returns its chain.
func benchFit(tx *store.Tx, bike wear.Bike, sheet wear.Sheet) (chain wear.ID, err error) {
	wheels := map[string]wear.ID{}
	for _, p := range sheet.Parts {
		if p, err = tx.AddPart(p); err != nil {
			return 0, err
		}
		stay := wear.Stay{Part: p.ID, Host: bike.ID, From: wear.Ever, To: wear.Never, Came: true}
		if wheel, carried := wheels[sheet.On[p.Kind]]; carried {
			stay.Host = wheel
		}
		if err := tx.AddStay(stay); err != nil {
			return 0, err
		}
		if wear.Carries(p.Kind) {
			wheels[p.Kind] = p.ID
		}
		if p.Kind == "chain" {
			chain = p.ID
		}
	}
	return chain, nil
}

// `pawl remind` as a whole process, of 2,000 people with 3,000 bikes: milliseconds
// until it ends, and of both cores' time.
func BenchmarkRemindProcess(b *testing.B) {
	exe := filepath.Join(b.TempDir(), "pawl")
	out, err := exec.Command("go", "build", "-o", exe, ".").CombinedOutput()
	require.NoError(b, err, string(out))
	began := time.Now()
	book := peopleBook(b)
	b.Logf("the book took %.1f s", time.Since(began).Seconds())
	var took, busy []time.Duration
	for b.Loop() {
		cmd := exec.Command(exe, "--book", book, "remind", "--csv")
		cmd.Env = append(os.Environ(), "NO_COLOR=1", "PAWL_CONFIG=")
		start := time.Now()
		out, err := cmd.CombinedOutput()
		took = append(took, time.Since(start))
		require.NoError(b, err, string(out))
		busy = append(busy, cmd.ProcessState.UserTime()+cmd.ProcessState.SystemTime())
	}
	b.ReportMetric(middle(took).Seconds()*1e3, "ms")
	b.ReportMetric(middle(busy).Seconds()*1e3, "cpu-ms")
	b.ReportMetric(0, "ns/op")
}
