package desk

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/ingest"
	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

var (
	meterNow = time.Date(2026, 9, 1, 12, 0, 0, 0, time.UTC)
	nan      = math.NaN()
)

// meterDesk is a desk with bikes of those names.
func meterDesk(t testing.TB, bikes ...string) *Desk {
	t.Helper()
	d := &Desk{Book: storetest.Open(t, store.Options{}), Now: meterNow}
	for _, name := range bikes {
		_, _, err := d.AddBike(t.Context(), BikeRequest{Bike: wear.Bike{Name: name}, Used: Nothing()})
		require.NoError(t, err)
	}
	return d
}

// recorded enters a ride as a device would have recorded it: km, and with them
// climb, hours, turns and work of its own.
func recorded(d *Desk, bike string, day, km int) error {
	return d.Book.Update(context.Background(), func(tx *store.Tx) error {
		tx.Begin("test", bike, "")
		b, err := tx.FindBike(bike)
		if err != nil {
			return err
		}
		at := wear.At(time.Date(2026, 5, day, 10, 0, 0, 0, time.UTC))
		key := rideKey(bike, day, km)
		r := wear.Ride{
			ID: key, Bike: b.ID, Start: at, Elapsed: 3_600_000, Rule: wear.Told, Format: wear.FIT, Version: ingest.SumsVersion, File: wear.Hash(key),
			Recorded: wear.Load{
				wear.Distance: int64(km) * 100_000, wear.Climb: int64(km*(20+day)) * 100, wear.Descent: int64(km*25) * 100,
				wear.Moving: int64(km) * 250_000, wear.Turns: int64(km*(150+day)) * 1000, wear.Work: int64(km) * 40_000,
			},
			Estimated: wear.Load{wear.Braking: int64(km) * 9000},
		}
		if err := tx.AddFile(store.FileFact{Hash: r.File, Name: "r.fit", Format: wear.FIT, Outcome: TakenFile, Rides: []wear.RideID{r.ID}}, nil); err != nil {
			return err
		}
		if _, err := tx.AddRide(r, wear.Gears{}); err != nil {
			return err
		}
		return d.settleRides(tx, []wear.Ride{r})
	})
}

// totals are the sums of each bike.
func totals(t require.TestingT, d *Desk) map[string]wear.Sum {
	sums := map[string]wear.Sum{}
	err := d.Book.View(context.Background(), func(tx *store.Tx) error {
		bikes, err := tx.Bikes()
		for _, b := range bikes {
			for r, err := range tx.Rides(store.RideFilter{Bike: &b.ID}) {
				require.NoError(t, err)
				sums[b.Name] = sums[b.Name].Add(r.Sum())
			}
		}
		return err
	})
	require.NoError(t, err)
	return sums
}

// event is one thing that is entered of a bike.
type event struct {
	what string
	do   func(*Desk) error
}

// clocked is a bike and what its meters show.
type clocked struct {
	bike        string
	hours       string // what is said of an hour meter: none, with the odometer, alone, or in turn with it
	km, minutes int
}

// drawEvents makes up two weeks of two bikes: what their meters show as they run,
// and the rides of them that are known; and rides of another bike, from which is
// learned.
func drawEvents(t *rapid.T) (list []event) {
	for _, bike := range []string{"one", "two"} {
		hours := rapid.SampledFrom([]string{"none", "with", "alone", "in turn"}).Draw(t, bike+": hour meter")
		h := clocked{bike, hours, 1000, 6000}
		for day := range 14 {
			more := rapid.IntRange(0, 40).Draw(t, "km")
			h.km, h.minutes = h.km+more, h.minutes+4*more
			if rapid.IntRange(0, 2).Draw(t, "read") == 0 {
				req := h.reading(t, day, more)
				list = append(list, event{fmt.Sprintf("%+v", req), func(d *Desk) error {
					_, err := d.AddMeters(context.Background(), req)
					return err
				}})
			}
			switch rapid.IntRange(0, 5).Draw(t, "ridden") {
			case 0:
				list = append(list, event{fmt.Sprint("recorded ", bike, day), func(d *Desk) error { return recorded(d, bike, day+1, more+1) }})
			case 1:
				req := RideRequest{Bike: bike, On: may(day), Km: float64(more) + 1, Climb: nan, Hours: nan}
				if more%2 == 0 {
					req.Km, req.Hours = nan, float64(more)/13+0.1
				}
				list = append(list, event{fmt.Sprintf("%+v", req), func(d *Desk) error {
					_, _, err := d.AddRide(context.Background(), req)
					return err
				}})
			}
		}
	}
	for day := range rapid.IntRange(0, 5).Draw(t, "recorded") {
		list = append(list, event{fmt.Sprint("recorded three ", day), func(d *Desk) error { return recorded(d, "three", day+1, 10+day) }})
	}
	return list
}

// reading is what the meters of the bike show on a day; the odometer may be new.
func (h *clocked) reading(t *rapid.T, day, more int) MeterRequest {
	req := MeterRequest{Bike: h.bike, On: may(day), Climb: nan, Hours: nan}
	way := h.hours != "alone" && (h.hours != "in turn" || rapid.Bool().Draw(t, "of the way"))
	if h.hours == "with" || !way {
		req.HourMeter = fmt.Sprintf("%d:%02d", h.minutes/60, h.minutes%60)
	}
	if !way {
		return req
	}
	if rapid.IntRange(0, 4).Draw(t, "new") == 0 {
		began := rapid.IntRange(0, 1).Draw(t, "used") * 5000
		h.km, req.NewOdometer, req.BeganAt = began+more, true, fmt.Sprint(began, "km")
	}
	req.Odometer = fmt.Sprint(h.km, "km")
	return req
}

func may(day int) string { return fmt.Sprintf("2026-05-%02d", day+1) }

// enter enters events; what cannot be true yet is tried again behind the others.
func enter(t *rapid.T, d *Desk, events []event) {
	for len(events) > 0 {
		var again []event
		for _, e := range events {
			err := e.do(d)
			var refused *RefusalError
			if errors.As(err, &refused) {
				again = append(again, e)
				continue
			}
			require.NoError(t, err, e.what)
		}
		require.Less(t, len(again), len(events), "nothing more can be entered: %v", again)
		events = again
	}
}

// Readings and rides in any order give the same sums, once a recount has brought
// the estimates to what is known in the end.
func TestMetersAskNoOrder(t *testing.T) {
	if raced || testing.Short() {
		t.Skip("thousands of transactions, none beside another")
	}
	rapid.Check(t, func(rt *rapid.T) {
		events := drawEvents(rt)
		var want map[string]wear.Sum
		for range 2 {
			d := meterDesk(t, "one", "two", "three")
			enter(rt, d, events)
			_, err := d.Recount(context.Background(), false, false)
			require.NoError(rt, err)
			got := totals(rt, d)
			if want == nil {
				want = got
			}
			require.Equal(rt, want, got)
			again, err := d.Recount(context.Background(), false, true)
			require.NoError(rt, err)
			require.Zero(rt, again.Looked, "a recount leaves nothing to recount")
			if len(events) > 1 {
				events = rapid.Permutation(events).Draw(rt, "order")
			}
		}
	})
}

// Between two readings more cannot have been ridden than the meter says: what is
// beyond is a question, and no ride.
func TestMeterAsksAboutMore(t *testing.T) {
	d := meterDesk(t, "one")
	for _, r := range [][2]string{{"100km", "2026-05-01"}, {"150km", "2026-05-10"}} {
		_, err := d.AddMeters(t.Context(), MeterRequest{Bike: "one", Odometer: r[0], On: r[1], Climb: nan, Hours: nan})
		require.NoError(t, err)
	}
	assert.Equal(t, int64(50_00_000), totals(t, d)["one"].Recorded[wear.Distance])
	_, _, err := d.AddRide(t.Context(), RideRequest{Bike: "one", On: "2026-05-05", Km: 80, Climb: nan, Hours: nan})
	require.NoError(t, err)
	require.Len(t, d.Warnings, 1)
	assert.Contains(t, d.Warnings[0], `bike "one": its rides from 2026-05-01 to 2026-05-10 are 30.0 km longer than its odometer says`)
	assert.Equal(t, int64(80_00_000), totals(t, d)["one"].Recorded[wear.Distance])
}

// A ride is a rest because a reading names it, not by what it is called.
func TestRestIsNamedByItsReading(t *testing.T) {
	d := meterDesk(t, "one", "two")
	require.NoError(t, d.Book.Update(t.Context(), func(tx *store.Tx) error {
		tx.Begin("test", "", "")
		b, err := tx.FindBike("one")
		require.NoError(t, err)
		w := &batchWriter{desk: d, who: &resolver{}, res: &ImportResult{}}
		table := tableImport{w: w, tx: tx, wrong: map[int]string{}}
		row := ingest.Row{On: time.Date(2026, 5, 5, 0, 0, 0, 0, time.UTC), Km: 20, Climb: nan, Hours: nan, Odometer: nan, Ran: nan, Began: nan}
		require.NoError(t, table.ride(row, b, row.At(time.UTC)))
		r, err := tx.Ride(table.out.Rides[0])
		require.NoError(t, err)
		r.Title = "odometer at 20.0 km"
		return tx.ChangeRide(r)
	}))
	for _, r := range [][2]string{{"100km", "2026-05-01"}, {"150km", "2026-05-10"}} {
		_, err := d.AddMeters(t.Context(), MeterRequest{Bike: "one", Odometer: r[0], On: r[1], Climb: nan, Hours: nan})
		require.NoError(t, err)
	}
	assert.Equal(t, int64(50_00_000), totals(t, d)["one"].Recorded[wear.Distance], "30 km are left beside the row")
	var rest, row string
	require.NoError(t, d.Book.View(t.Context(), func(tx *store.Tx) error {
		for r, err := range tx.Rides(store.RideFilter{}) {
			require.NoError(t, err)
			if is, _ := isRest(tx, r); is {
				rest = r.ID.String()
			} else {
				row = r.ID.String()
			}
		}
		return nil
	}))
	_, err := d.MoveRides(t.Context(), []string{rest}, "two")
	require.ErrorContains(t, err, "what the odometer of its bike leaves")
	_, err = d.MoveRides(t.Context(), []string{row}, "two")
	require.NoError(t, err)
	assert.Equal(t, int64(50_00_000), totals(t, d)["one"].Recorded[wear.Distance])
}

// What is estimated of a reading of hours alone is marked as estimated, and says
// from what it was learned; so is what is due by it.
func TestHoursAloneAreEstimated(t *testing.T) {
	d := meterDesk(t)
	sheet, ok := wear.SheetByName("trail")
	require.True(t, ok)
	for _, name := range []string{"one", "two"} {
		_, _, err := d.AddBike(t.Context(), BikeRequest{Bike: wear.Bike{Name: name}, Sheet: sheet, Used: Nothing()})
		require.NoError(t, err)
	}
	for day := range 20 {
		require.NoError(t, recorded(d, "two", day+1, 20))
	}
	for _, r := range [][2]string{{"90h", "2026-05-01"}, {"96:30", "2026-05-25"}} {
		_, err := d.AddMeters(t.Context(), MeterRequest{Bike: "one", HourMeter: r[0], On: r[1], Climb: nan, Hours: nan})
		require.NoError(t, err)
	}
	sum := totals(t, d)["one"]
	assert.Equal(t, wear.Load{wear.Moving: 6.5 * 3.6e6}, sum.Recorded)
	for q := range wear.NQuantities {
		assert.Equal(t, q != wear.Moving, sum.Estimated[q] > 0, q)
	}
	assert.InEpsilon(t, 6.5*3600/250, sum.Estimated.SI(wear.Distance)/1000, 0.05, "4 km in 1,000 s, as recorded of the other")
	err := d.Rides(t.Context(), "one", func(rides iter.Seq2[RideState, error]) error {
		for r := range rides {
			assert.Equal(t, []string{"estimated as 20 recorded rides of trail bikes have it"}, r.Ride.Notes)
		}
		return nil
	})
	require.NoError(t, err)
	due, err := d.Due(t.Context(), []string{"one"}, "")
	require.NoError(t, err)
	counted := 0
	for _, f := range due.Findings {
		if f.Data != "" && f.Unit == "turns" {
			counted++
			assert.Equal(t, wear.DataEstimated, f.Data, "%s %s", f.Part, f.Job)
		}
	}
	assert.Positive(t, counted)
}

// What is asked of a reading that cannot be meant says what to type.
func TestMeterMistakes(t *testing.T) {
	d := meterDesk(t, "one")
	for want, req := range map[string]MeterRequest{
		"not understood":            {Odometer: "12 furlongs"},
		"more than 500000 km":       {Odometer: "500001"},
		"more than 100000 h":        {HourMeter: "100001h"},
		`"1.5:30": not understood`:  {HourMeter: "1.5:30"},
		"belongs to --new-odometer": {Odometer: "12km", BeganAt: "3km"},
		"belong to --odometer":      {HourMeter: "3", NewOdometer: true},
		"belongs to --hour-meter":   {Odometer: "3", NewHourMeter: true},
		"give one of them":          {HourMeter: "3", Hours: 2},
		"began at 5.0 km and shows": {Odometer: "3km", NewOdometer: true, BeganAt: "5km"},
		"is in the future":          {Odometer: "3km", On: "2027-01-01"},
		"cannot be meant":           {Odometer: "3km", Climb: -1},
	} {
		req.Bike = "one"
		_, err := d.AddMeters(t.Context(), req)
		require.ErrorContains(t, err, want)
		var hinted interface{ Hint() string }
		require.ErrorAs(t, err, &hinted)
		assert.NotEmpty(t, hinted.Hint(), want)
	}
	assert.Empty(t, totals(t, d))
}

// Any text for a reading is understood or refused, and never makes less than nothing.
func FuzzMeterFigures(f *testing.F) {
	for _, text := range []string{"1234km", "767mi", "12.5", "96:30", "96h", "-3", "1e9km", "", " 4 km", strings.Repeat("9", 400)} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		m, err := parseOdometer("odometer", text)
		require.True(t, err != nil || m >= 0 && m <= 1000*mostOdometer, text)
		m, err = parseHourMeter(text)
		require.True(t, err != nil || m >= 0 && m <= 60*mostHourMeter+59, text)
	})
}
