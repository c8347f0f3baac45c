package report

import (
	"flag"
	"iter"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares got with a file of testdata/report.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("..", "testdata", "report", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run the test with -update to make it")
	assert.Equal(t, string(want), got)
}

// narrow fails for a line that is wider than a terminal of n columns, or that
// ends in a blank.
func narrow(t *testing.T, out string, n int) {
	t.Helper()
	for i, l := range strings.Split(out, "\n") {
		assert.LessOrEqual(t, width(l), n, "line %d is too wide: %q", i+1, l)
		assert.Equal(t, strings.TrimRight(l, " "), l, "line %d ends in blanks", i+1)
	}
}

func on(t *testing.T, when string) wear.Instant {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04", when)
	require.NoError(t, err)
	return wear.At(at)
}

func ptr[T any](v T) *T { return &v }

const (
	settleSource   = "common practice, no published source"
	torqueCaution  = "torque: the maker's figure for both parts, the lower wins, unit always written (N·m or in·lb); a threadlocked bolt is checked in the tightening direction only: if it moves, clean, new threadlock, torque"
	chainCaution   = "chain length is set at the point of the travel where the chain is longest"
	assumedSpeeds  = "the number of speeds is not given, so the stricter limit is taken"
	torqueCheckRun = "after 1 ride of 1 h, at the latest 5 h, then every 25 h"
)

// season is findings of three bikes of every verdict and basis.
func season(t *testing.T) DueList {
	t.Helper()
	return DueList{Today: on(t, "2026-05-14 18:00"), Findings: []wear.Finding{
		lube(t), guideBolts(t), chainChange(t), crackedGuide(t), padsOrder(t), sealant(t), ringBolts(t), pulleys(t), fork(t),
	}}
}

func guideBolts(t *testing.T) wear.Finding {
	return wear.Finding{
		Bike: "Kestrel 3", BikeID: 3, Part: "guide-bolts-1", Kind: "guide-bolts", Job: "check", Act: wear.ActCheck,
		Title: "check the torque of the guide bolts", Verdict: wear.Stop, Safety: true,
		Used: 36_720, Limit: 18_000, Unit: "s", Share: 2.04, Basis: wear.ByCount, Data: wear.DataRecorded,
		Since: on(t, "2026-03-03 22:00"), Left: wear.Range{P50: ptr(0.0)}, Date: wear.Dates{P50: ptr(on(t, "2026-05-14 18:00"))},
		Advice: "check the guide bolts' torque to the maker's figure, and write it with its unit",
		Clears: "check the guide bolts and sign it off with the torque", Caution: torqueCaution, Source: settleSource, Rule: torqueCheckRun,
		Reasons: []wear.Reason{{Basis: wear.ByCount, Text: "the first check after the fit is missed by 5.2 h of riding"}},
	}
}

func crackedGuide(t *testing.T) wear.Finding {
	return wear.Finding{
		Bike: "Kestrel 3", BikeID: 3, Part: "guide-1", Kind: "guide", Job: "change", Act: wear.ActChange,
		Title: "change the chain guide", Verdict: wear.Stop, Safety: true, Share: 1, Basis: wear.ByLook, Data: wear.DataRecorded,
		Since: wear.Ever, Date: wear.Dates{P50: ptr(on(t, "2026-05-14 18:00"))},
		Advice:  "change the guide or its worn slider, set clearance and chain line, then check the guide bolts after the first ride",
		Clears:  "a look that says good or watch, or a new guide",
		Source:  settleSource,
		Reasons: []wear.Reason{{Basis: wear.ByLook, Text: "the look of 12 May says unsafe: upper tab cracked"}},
	}
}

func ringBolts(t *testing.T) wear.Finding {
	f := guideBolts(t)
	f.Part, f.Kind, f.Title = "ring-bolts-1", "ring-bolts", "check the torque of the ring bolts"
	f.Verdict, f.Clears, f.Safety = wear.Due, "", true
	f.Used, f.Limit, f.Share, f.Unit = 1, 1, 1, "rides"
	f.Advice = "check the ring bolts' torque to the maker's figure, crosswise"
	return f
}

func chainChange(t *testing.T) wear.Finding {
	return wear.Finding{
		Bike: "Hire 12", BikeID: 12, Part: "chain-7", Kind: "chain", Job: "change", Act: wear.ActChange,
		Title: "change the chain", Verdict: wear.Due, Used: 0.62, Limit: 0.5, Unit: "%", Share: 1.24,
		Basis: wear.ByReading, Data: wear.DataMixed, Since: on(t, "2025-09-20 22:00"),
		Left: wear.Range{P50: ptr(0.0)}, Date: wear.Dates{P50: ptr(on(t, "2026-05-14 18:00"))},
		Advice:  "change the chain, then test the cassette for skipping under load and look at the ring",
		Caution: chainCaution, Source: "common practice: 0.5 % for 11-speed and up",
		Reasons: []wear.Reason{{Basis: wear.ByReading, Text: "it measured 0.62 % on 10 May by caliper"}}, Notes: []string{assumedSpeeds},
	}
}

func lube(t *testing.T) wear.Finding {
	return wear.Finding{
		Bike: "Kestrel 3", BikeID: 3, Part: "chain-1", Kind: "chain", Job: "clean", Act: wear.ActClean,
		Title: "clean and lube the chain", Verdict: wear.Due, Used: 31_240, Limit: 25_000, Unit: "turns", Share: 1.2496,
		Basis: wear.ByCount, Data: wear.DataEstimated, Since: on(t, "2026-04-02 22:00"),
		Left: wear.Range{P50: ptr(0.0)}, Date: wear.Dates{P50: ptr(on(t, "2026-05-14 18:00"))},
		Advice: "clean and lube the chain, wipe off what stays outside the rollers", Source: settleSource,
		Reasons: []wear.Reason{{Basis: wear.ByCount, Text: "31,240 of 25,000 turns of the crank"}},
		Notes:   []string{assumedSpeeds, "2 rides had no cadence"},
	}
}

func padsOrder(t *testing.T) wear.Finding {
	return wear.Finding{
		Bike: "Hire 12", BikeID: 12, Part: "rear-pads-4", Kind: "rear-pads", Job: "change", Act: wear.ActChange,
		Title: "change the rear pads", Verdict: wear.Order, Used: 1.25, Limit: 1, Unit: "mm", Share: 0.83,
		Basis: wear.ByReading, Data: wear.DataEstimated, Since: on(t, "2026-01-20 22:00"),
		Left:   wear.Range{P10: ptr(0.4e6), P50: ptr(1.9e6), P90: ptr(3.1e6)},
		Date:   wear.Dates{P10: ptr(on(t, "2026-05-18 18:00")), P50: ptr(on(t, "2026-05-26 18:00")), P90: ptr(on(t, "2026-06-09 18:00"))},
		Advice: "order a pair of pads", Source: settleSource,
	}
}

func sealant(t *testing.T) wear.Finding {
	return wear.Finding{
		Bike: "Plover", BikeID: 1, Part: "rear-sealant-1", Kind: "rear-sealant", Job: "top-up", Act: wear.ActService,
		Title: "top up the sealant of the rear tyre", Verdict: wear.Fine, Used: 81, Limit: 90, Unit: "days", Share: 0.9,
		Basis: wear.ByCount, Data: wear.DataRecorded, Since: on(t, "2026-02-22 22:00"),
		Left: wear.Range{P50: ptr(9.0)}, Date: wear.Dates{P50: ptr(on(t, "2026-05-23 18:00"))},
		Advice: "top up the sealant, take out what has dried", Source: settleSource,
	}
}

func pulleys(t *testing.T) wear.Finding {
	return wear.Finding{
		Bike: "Plover", BikeID: 1, Part: "derailleur-pulleys-1", Kind: "derailleur-pulleys", Job: "change", Act: wear.ActChange,
		Title: "change the derailleur pulleys", Verdict: wear.Fine, Used: 434_210, Limit: 2_000_000, Unit: "pulley turns", Share: 0.2171,
		Basis: wear.ByCount, Data: wear.DataEstimated, Since: wear.Ever,
		Left: wear.Range{P50: ptr(1_565_790.0)}, Date: wear.Dates{P50: ptr(on(t, "2028-01-14 18:00"))}, Source: settleSource,
	}
}

func fork(t *testing.T) wear.Finding {
	return wear.Finding{
		Bike: "Plover", BikeID: 1, Part: "fork-1", Kind: "fork", Job: "lowers", Act: wear.ActService,
		Title: "service the lowers of the fork", Verdict: wear.Fine, Used: 110_160, Limit: 180_000, Unit: "s", Share: 0.612,
		Basis: wear.ByCount, Data: wear.DataRecorded, Since: on(t, "2025-11-02 22:00"), Left: wear.Range{P50: ptr(69_840.0)},
		Source: settleSource,
	}
}

// escapes matches the escape sequences that a style may add.
var escapes = regexp.MustCompile("\x1b\\[[0-9;]*m")

// outings is rides of every state, two of them without a bike.
func outings(t *testing.T) []RideLine {
	t.Helper()
	load := func(km, climb, h, turns, kj float64) wear.Load {
		return wear.Load{
			wear.Distance.Stored(km * 1000), wear.Climb.Stored(climb), wear.Descent.Stored(climb),
			wear.Moving.Stored(h * 3600), wear.Turns.Stored(turns), wear.Work.Stored(kj * 1000), 0,
		}
	}
	rec, est := load(42.13, 905, 3.1, 0, 0), load(0, 0, 0, 12_400, 1180)
	est[wear.Braking] = 412_000
	return []RideLine{
		{Bike: "Kestrel 3", File: "2026-05-02.fit", Ride: wear.Ride{
			ID: wear.RideID{0x3f, 0xa2, 0x01, 0x9c}, Bike: 3, Start: on(t, "2026-05-02 08:15"), Elapsed: 12_000_000, Ground: wear.Wet,
			Format: wear.FIT, Recorded: rec, Estimated: est, Rule: wear.BySensor, Because: "shifter 4711, speed sensor ANT 12",
		}},
		{Bike: "", File: "evening loop.gpx", Ride: wear.Ride{
			ID: wear.RideID{0xb0, 0x11}, Start: on(t, "2026-05-03 16:40"), Ground: wear.Unmarked, Format: wear.GPX,
			Recorded: load(18.04, 0, 1.25, 0, 0), Estimated: load(0, 0, 0, 4_100, 390),
			Lacking: wear.Set(0).With(wear.Climb).With(wear.Descent).With(wear.Braking),
			Because: "shifter 4711 was on 2 bikes: Kestrel 3 (4 rides) and Plover (1 ride)",
		}},
		{Bike: "Kestrel 3", File: "2026-05-02 copy.gpx", Ride: wear.Ride{
			ID: wear.RideID{0xc4, 0x77}, Bike: 3, Start: on(t, "2026-05-02 08:15"), State: wear.Twin, Format: wear.GPX,
			Recorded: rec, Estimated: est, Rule: wear.AsTwin, Because: "3fa2019c", Of: wear.RideID{0x3f, 0xa2, 0x01, 0x9c},
		}},
		{Bike: "Plover", Ride: wear.Ride{
			ID: wear.RideID{0xd9}, Bike: 1, Start: on(t, "2026-05-09 18:30"), Ground: wear.Trainer, Format: wear.Typed, Rule: wear.Told,
			Recorded: load(0, 0, 1, 5_200, 640),
		}},
	}
}

func each[T any](items []T) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for _, item := range items {
			if !yield(item, nil) {
				return
			}
		}
	}
}
