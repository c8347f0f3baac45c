package report

import (
	"errors"
	"iter"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func someParts(t *testing.T) []PartLine {
	t.Helper()
	total := wear.Sum{Rides: 61}
	total.Recorded[wear.Distance] = wear.Distance.Stored(1_742_300)
	total.Recorded[wear.Climb] = wear.Climb.Stored(38_120)
	total.Recorded[wear.Moving] = wear.Moving.Stored(131.4 * 3600)
	total.Estimated[wear.Turns] = wear.Turns.Stored(512_044)
	total.Estimated[wear.Work] = wear.Work.Stored(48_700_000)
	return []PartLine{
		{Part: wear.Part{Kind: "chain", Name: "chain-1", Model: "12-speed, coated", Speeds: 12}, Bike: "Kestrel 3", Since: on(t, "2025-09-20 22:00"), Total: total},
		{Part: wear.Part{Kind: "ring", Name: "ring-1", Teeth: 32, Narrow: true, Material: "steel"}, Bike: "Kestrel 3", Since: wear.Ever, Total: total},
		{Part: wear.Part{Kind: "cassette", Name: "cassette-2", Cogs: []int{10, 12, 51}}},
		{Part: wear.Part{Kind: "chain", Name: "chain-0", End: &wear.End{At: on(t, "2025-09-20 20:00"), Cause: wear.Worn}}, Total: total},
	}
}

func someBikes(t *testing.T) []BikeLine {
	t.Helper()
	total := someParts(t)[0].Total
	return []BikeLine{
		{
			Bike:  wear.Bike{Name: "Kestrel 3", Sheet: "trail", Speeds: 12, Guide: true, Wheel: 2.326, Motor: wear.MidMotor, Fleet: true, Mass: 14.2, Note: "blue, size L"},
			Parts: 16, Total: total, Last: on(t, "2026-05-02 08:15"), Worst: ptr(wear.Stop),
		},
		{Bike: wear.Bike{Name: "自転車"}, Last: wear.Ever, Worst: ptr(wear.Fine)},
	}
}

func partPage(t *testing.T) PartPage {
	t.Helper()
	parts := someParts(t)
	return PartPage{
		Part: parts[0],
		Stays: []StayLine{{
			Stay: wear.Stay{Host: 3, From: on(t, "2025-09-20 22:00"), To: wear.Never, Opening: wear.Load{wear.Distance: 5_000_000}},
			Bike: "Kestrel 3", Total: parts[0].Total,
		}},
		Readings: []wear.Reading{
			{At: on(t, "2026-05-10 22:00"), Of: wear.Elongation, Value: 0.62, Tool: "caliper", Length: 127.79, Pitches: 10},
			{At: on(t, "2026-03-10 22:00"), Of: wear.Elongation, Value: 6.2, Tool: "ruler", Void: true},
		},
		Looks:    []wear.Look{{At: on(t, "2026-04-01 22:00"), Word: wear.Watch, By: "Ada", Note: "rust\x07 on the outer plates"}},
		SignOffs: []wear.SignOff{{At: on(t, "2026-04-02 22:00"), Job: "clean", By: "Ada", Minutes: 12, Torque: 5.5, Cost: 2450, Note: "=1+1"}},
	}
}

func explained(t *testing.T) WhyPage {
	t.Helper()
	page := partPage(t)
	return WhyPage{
		Today: on(t, "2026-05-14 18:00"), Bikes: map[wear.ID]string{3: "Kestrel 3"}, Rides: outings(t)[:1], Earlier: 7,
		Explanation: wear.Explanation{
			Finding: lube(t), Rule: "every 25,000 turns of the crank and after every wet or mud ride",
			Anchor: wear.Anchor{At: on(t, "2026-04-02 22:00"), Why: "last sign-off of clean"},
			Counts: []wear.CountLine{{
				By: "turns", Unit: "turns", Used: 31_240, Limit: 25_000, Share: 1.2496, Data: wear.DataEstimated, Decides: true,
				Grounds: []wear.GroundUse{
					{Ground: wear.Unmarked, Rides: 5, Amount: 11_600, Factor: 1.4, Used: 16_240},
					{Ground: wear.Wet, Rides: 3, Amount: 7_500, Factor: 2, Used: 15_000},
				},
			}, {By: "days", Unit: "days", Used: 42, Data: wear.DataRecorded, Formula: "calendar days"}},
			Stays:    []wear.StayUse{{Stay: page.Stays[0].Stay, Sum: page.Stays[0].Total}},
			Readings: page.Readings[:1], Looks: page.Looks, SignOffs: page.SignOffs,
			Recent: wear.Recent{Days: 84, Used: 51_000, PerDay: 607.14, Unit: "turns", Last: on(t, "2026-05-02 08:15")},
			Method: "simple proportion", How: []string{"nothing is left"}, Changes: []string{"a sign-off of clean"},
		},
	}
}

func notTaken(t *testing.T) []RefusedLine {
	t.Helper()
	return []RefusedLine{
		{
			Path: "/srv/rides/2026-05-02 cut.fit", Format: wear.FIT, Since: on(t, "2026-05-02 18:00"),
			Why: "cut off: 61 of 74 minutes are whole", Hint: "copy it again from the device, or --salvage counts what is whole",
		},
		{Path: "/srv/=rides/old\x1b.bin", Since: on(t, "2026-05-03 18:00"), Why: "cannot be read: permission denied", Gone: true},
	}
}

func someMatches(t *testing.T) []MatchLine {
	t.Helper()
	return []MatchLine{
		{ID: 7, Bike: "Kestrel 3", Says: `folder "/srv/rides/kestrel"`, From: wear.Ever},
		{ID: 12, Bike: "Plover", Says: `sensor "4711", indoors`, From: on(t, "2026-04-01 00:00")},
	}
}

// prints is everything that goes to a terminal.
func prints(t *testing.T, s Style) map[string]string {
	t.Helper()
	out := map[string]string{}
	add := func(name string, write func(*strings.Builder) error) {
		var b strings.Builder
		require.NoError(t, write(&b), name)
		out[name] = b.String()
	}
	parts, bikes := someParts(t), someBikes(t)
	add("rides", func(b *strings.Builder) error { return Rides(b, each(outings(t)), s) })
	add("ride", func(b *strings.Builder) error { return Ride(b, outings(t)[0], s) })
	add("refused", func(b *strings.Builder) error { return RefusedFiles(b, notTaken(t), s) })
	add("matches", func(b *strings.Builder) error { return Matches(b, someMatches(t), s) })
	add("parts", func(b *strings.Builder) error { return Parts(b, parts, s) })
	add("part", func(b *strings.Builder) error { return Part(b, partPage(t), s) })
	add("bikes", func(b *strings.Builder) error { return Bikes(b, bikes, s) })
	add("bike", func(b *strings.Builder) error { return Bike(b, bikes[0], parts[:2], s) })
	add("why", func(b *strings.Builder) error { return Why(b, explained(t), s) })
	add("import", func(b *strings.Builder) error { return ImportSummary(b, someImport(), s) })
	return out
}

func TestListsGolden(t *testing.T) {
	for _, s := range styles {
		t.Run(styleName(s), func(t *testing.T) {
			for name, out := range prints(t, s) {
				narrow(t, out, s.Width)
				golden(t, name+"-"+styleName(s)+".txt", out)
			}
		})
	}
}

func TestListsImperialGolden(t *testing.T) {
	all := prints(t, Style{Width: 80, Imperial: true})
	golden(t, "rides-80-imperial.txt", all["rides"])
	golden(t, "part-80-imperial.txt", all["part"])
	assert.Contains(t, all["rides"], "26.2", "42.13 km in miles")
	assert.Contains(t, all["rides"], "2,969", "905 m in feet")
	assert.Contains(t, all["part"], "5.5 N·m", "torque is not converted")
}

func TestListsFitNarrowTerminals(t *testing.T) {
	for _, w := range []int{40, 60, 79} {
		for name, out := range prints(t, Style{Width: w}) {
			t.Run(name, func(t *testing.T) { narrow(t, out, w) })
		}
	}
}

func TestColourOnlyAddsToTheWords(t *testing.T) {
	plain, coloured := prints(t, Style{}), prints(t, Style{Colour: true})
	for name := range plain {
		assert.NotContains(t, plain[name], "\x1b", name)
		assert.Equal(t, plain[name], escapes.ReplaceAllString(coloured[name], ""), name)
	}
}

func TestEmptyLists(t *testing.T) {
	var b strings.Builder
	require.NoError(t, Rides(&b, each[RideLine](nil), Style{}))
	require.NoError(t, Parts(&b, nil, Style{}))
	require.NoError(t, Bikes(&b, nil, Style{}))
	assert.Equal(t, "No rides.\nNo parts.\nNo bikes.\n", b.String())
}

// broken is rides of which the second cannot be read.
func broken(t *testing.T) iter.Seq2[RideLine, error] {
	return func(yield func(RideLine, error) bool) {
		if yield(outings(t)[0], nil) {
			yield(RideLine{}, errors.New("page 7 is damaged"))
		}
	}
}

func TestRidesPassAnErrorOn(t *testing.T) {
	var b strings.Builder
	require.EqualError(t, Rides(&b, broken(t), Style{}), "page 7 is damaged")
	require.EqualError(t, RidesCSV(&b, broken(t), Style{}), "page 7 is damaged")
	require.EqualError(t, RidesJSON(&b, broken(t), nil, Style{}), "page 7 is damaged")
}

func TestScheduleSaysEveryJob(t *testing.T) {
	jobs := JobLines(wear.InForce(nil, wear.Default()), nil)
	for _, w := range []int{40, 80, 120} {
		var b strings.Builder
		require.NoError(t, Schedule(&b, jobs, Style{Width: w}))
		narrow(t, b.String(), w)
		words := unwrap(b.String())
		for _, j := range jobs {
			assert.Contains(t, words, j.Kind)
			if w == 80 && len(j.Rule) < 40 {
				assert.Contains(t, words, j.Job+" "+j.Rule)
			}
		}
		assert.Contains(t, words, "maker's manual wins")
	}
}

func someImport() Import {
	return Import{
		NoBike: 1, Warnings: []string{"the watched folder is on a network drive"},
		Files: []ImportedFile{
			{File: "rides/a.fit", Outcome: Taken, Rides: []string{"3fa2019c0000000000000000"}},
			{File: "rides/b.gpx", Outcome: Known, Why: "the same bytes"},
			{File: "rides/c.gpx", Outcome: Twin, Why: "the same outing as 3fa2019c", Rides: []string{"c47700000000000000000000"}},
			{File: "rides/route.gpx", Outcome: NotRide, Why: "a route without a track"},
			{File: "rides/cut\x1b.fit", Outcome: Refused, Why: "cut at byte 4,102 of 9,000", Hint: "copy it from the device again, or take what is there with --salvage"},
			{File: "rides/d.fit", Outcome: Partial, Why: "cut, 512 of 600 records taken", Rides: []string{"d90000000000000000000000"}},
		},
	}
}
