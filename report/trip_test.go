package report

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// someTrip is a week on two bikes.
func someTrip(t *testing.T) TripPage {
	t.Helper()
	chain := padsOrder(t)
	chain.Part, chain.Kind, chain.Title, chain.LoadUnit, chain.Notes = "chain-7", "chain", "change the chain", "turns", []string{assumedSpeeds}
	unread := chain
	unread.Part, unread.Title, unread.Basis = "front-rotor-2", "change the front rotor", wear.ByCount
	again := lube(t)
	again.Verdict, again.Used, again.Share = wear.Fine, 12_000, 0.48
	fine := sealant(t)
	fine.Used, fine.Share = 40, 0.44
	return TripPage{
		Today: on(t, "2026-05-14 18:00"), Trip: wear.Trip{Days: 7, Distance: 250_000, Climb: 9000},
		Bikes: []TripBike{
			{Bike: "Hire 12", Lines: []wear.TripLine{
				{Finding: crackedGuide(t), Chance: 1, After: 1, Text: "due before the trip"},
				{Finding: lube(t), Chance: 1, After: 1.25, Adds: 81_000, Unit: "turns", Text: "due before the trip"},
				{Finding: ringBolts(t), Chance: 1, After: 1, Adds: 7, Unit: "rides", Text: "due before the trip"},
				{Finding: again, Chance: 1, Adds: 81_000, Unit: "turns", After: 3.721, Day: 2, Text: "12,000 turns of the crank now, about 93,000 at the end"},
				{
					Finding: chain, Chance: 0.62, Adds: 81_000, Unit: "turns", After: 1.02, Day: 7,
					Text: "about 0.41 % now, 0.51 % at the end, limit 0.5 %: 62 % likely to be reached: due on about day 7",
				},
				{Finding: unread, Chance: 0.3, Adds: 5e6, Unit: "J", After: 0.8, Text: "not measured yet: 30 % likely to come to 1.55 mm, by what such parts last"},
				{Finding: fine, Lasts: true, Adds: 7, Unit: "days", After: 0.52, Text: "40 days now, about 47 days at the end, limit 90 days"},
			}},
			{Bike: "Plover", Retired: true},
		},
	}
}

func trip(t *testing.T, d TripPage, s Style) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, Trip(&b, d, s))
	narrow(t, b.String(), s.width())
	return b.String()
}

func TestTripGolden(t *testing.T) {
	for _, s := range styles {
		t.Run(styleName(s), func(t *testing.T) { golden(t, "trip-"+styleName(s)+".txt", trip(t, someTrip(t), s)) })
	}
}

func TestTripSaysWhatToDoBefore(t *testing.T) {
	out := unwrap(trip(t, someTrip(t), Style{}))
	for _, said := range []string{
		"The trip: 7 days, 250 km, 9,000 m up",
		"guide-1: change the chain guide (STOP: do not ride)",
		"chain-1: clean and lube the chain, and again on the way",
		"ring-bolts-1: check the torque of the ring bolts ▲ chain-1",
		"chain-1: clean and lube the chain – no 12,000 turns now, about 93,000 turns at the end, limit 25,000 turns: due on about day 2.",
		"chain-7: change the chain – 38 % likely to last About 0.41 % now",
		"Before it: change the chain, or take a new one along.",
		"front-rotor-2: change the front rotor – 70 % likely to last",
		"Before it: measure, it was not measured yet.",
		"rear-sealant-1 top-up yes 52 %",
		"Plover retired: it goes on no trip",
		wear.Caution,
	} {
		assert.Contains(t, strings.ReplaceAll(out, " may not last 3 jobs", ""), said)
	}
	assert.Contains(t, trip(t, someTrip(t), Style{Imperial: true}), "155 mi, 29,528 ft up")
	d := someTrip(t)
	d.Bikes = []TripBike{{Bike: "Hire 12", Lines: d.Bikes[0].Lines[6:]}}
	assert.Contains(t, trip(t, d, Style{}), "nothing falls due on it")
	far := d.Bikes[0].Lines[0]
	far.Finding.Part, far.After = "fork-1", 0.2
	d.Bikes[0].Lines = append(d.Bikes[0].Lines, far)
	assert.Contains(t, trip(t, d, Style{}), "1 job not half way to the limit at the end (--all)")
	assert.NotContains(t, trip(t, d, Style{}), "fork-1")
	d.All = true
	assert.Regexp(t, `fork-1 top-up +yes +20 %`, trip(t, d, Style{}))
	for _, w := range []int{40, 60, 200} {
		trip(t, someTrip(t), Style{Width: w})
	}
}

func TestTripJSON(t *testing.T) {
	doc := object(t, func(b *bytes.Buffer) error { return TripJSON(b, someTrip(t), Style{}) })
	assert.JSONEq(t, `{"days":7,"distance":250000,"climb":9000,"moving":null}`, string(doc["trip"]))
	lines := items(t, doc["lines"])
	require.Len(t, lines, 7)
	assert.Equal(t, []string{
		"bike", "part", "kind", "job", "verdict", "lasts", "chance", "adds", "unit", "after", "day", "text", "advice", "caution",
	}, keys(t, lines[4]))
	first := fields(t, lines[4])
	assert.Equal(t, []string{"0.62", "false", "7"}, []string{string(first["chance"]), string(first["lasts"]), string(first["day"])})
	assert.Equal(t, "null", string(fields(t, lines[6])["day"]))
}
