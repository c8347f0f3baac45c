package report

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// styles is the widths and colours that goldens are kept for.
var styles = []Style{{Width: 80}, {Width: 120}, {Width: 80, Colour: true}, {Width: 120, Colour: true}}

func styleName(s Style) string {
	colour := "plain"
	if s.Colour {
		colour = "colour"
	}
	return fmt.Sprintf("%d-%s", s.Width, colour)
}

func TestDueGolden(t *testing.T) {
	d := season(t)
	d.NoBike = outings(t)[1:2]
	d.NoBikeDo = "give it its bike: pawl ride move b0110000 BIKE"
	for _, s := range styles {
		t.Run(styleName(s), func(t *testing.T) {
			var b strings.Builder
			require.NoError(t, Due(&b, d, s))
			narrow(t, b.String(), s.Width)
			golden(t, "due-"+styleName(s)+".txt", b.String())
		})
	}
}

func due(t *testing.T, d DueList, s Style) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, Due(&b, d, s))
	return b.String()
}

func TestDueAllImperialGolden(t *testing.T) {
	d := season(t)
	d.All = true
	d.Warnings = []string{"the book's zone is UTC"}
	tyre := fork(t)
	tyre.Part, tyre.Kind, tyre.Job, tyre.Unit = "rear-tyre-1", "rear-tyre", "look", "m"
	tyre.Used, tyre.Limit, tyre.Share = 300_000, 500_000, 0.6
	d.Findings = append(d.Findings, tyre)
	got := due(t, d, Style{Width: 80, Imperial: true})
	narrow(t, got, 80)
	golden(t, "due-80-all-imperial.txt", got)
	assert.Contains(t, got, "60 % of 311 mi")
}

func TestDueIsMostUrgentFirst(t *testing.T) {
	out := due(t, season(t), Style{})
	last := -1
	for _, word := range []string{"STOP: do not ride ■", "due ▲", "order part ◆", "coming next", wear.Caution + "."} {
		at := strings.Index(out, word)
		assert.Greater(t, at, last, "%q comes too early or not at all", word)
		last = at
	}
	assert.True(t, strings.HasSuffix(out, wear.Caution+".\n"))
	assert.NotContains(t, out, "derailleur-pulleys-1", "what is fine and far off is not listed")
}

func TestDueKeepsABikeTogether(t *testing.T) {
	d := season(t)
	out := due(t, d, Style{})
	stop := out[:strings.Index(out, "due ▲")]
	assert.Equal(t, 1, strings.Count(stop, "Kestrel 3\n"))
	// Whatever order the bikes come in, the list is the same.
	slices.SortStableFunc(d.Findings, func(a, b wear.Finding) int { return strings.Compare(b.Bike, a.Bike) })
	assert.Equal(t, out, due(t, d, Style{}))
}

func TestDueStopSaysWhatClearsIt(t *testing.T) {
	out := unwrap(due(t, season(t), Style{}))
	assert.Contains(t, out, "To clear it: check the guide bolts and sign it off with the torque.")
	assert.Contains(t, out, "The maker's manual wins; if in doubt, ask a qualified mechanic.")
	assert.Contains(t, out, "Caution – torque: the maker's figure for both parts")
}

// unwrap undoes the wrapping.
func unwrap(s string) string { return strings.Join(strings.Fields(s), " ") }

func TestDueSaysEstimatedInTheSameLine(t *testing.T) {
	d := season(t)
	d.All = true
	found := 0
	for l := range strings.SplitSeq(due(t, d, Style{Width: 120}), "\n") {
		if strings.Contains(l, "31,240") || strings.Contains(l, "22 % of 2 M pulley turns") {
			assert.Contains(t, l, "estimated")
			found++
		}
	}
	assert.Equal(t, 2, found)
}

func TestDueTellsEventsFromCounts(t *testing.T) {
	wet := lube(t)
	wet.Used, wet.Share = 9_000, 1
	wet.Reasons = []wear.Reason{{Basis: wear.ByCount, Text: "2 rides in the wet since the last sign-off of clean"}}
	out := unwrap(due(t, DueList{Today: on(t, "2026-05-14 18:00"), Findings: []wear.Finding{wet}}, Style{}))
	assert.Contains(t, out, "9,000 of 25,000 turns, estimated, since 2 Apr: 2 rides in the wet since the last sign-off of clean")
	assert.NotContains(t, out, "100 %", "the count did not reach its limit")
}

func TestDueWatchList(t *testing.T) {
	d := DueList{Today: on(t, "2026-05-14 18:00"), Watched: []WatchLine{
		{Bike: "Kestrel 3", Part: "ring-1", Look: wear.Look{At: on(t, "2026-05-12 22:00"), Note: "a little hooked", By: "Ada"}},
	}}
	assert.Contains(t, unwrap(due(t, d, Style{})), "watch 1 part bike part last look Kestrel 3 ring-1 a little hooked (12 May, by Ada)")
}

func TestDueSharesACautionWithinABike(t *testing.T) {
	stem := ringBolts(t)
	stem.Part = "stem-bar-bolts-1"
	out := unwrap(due(t, DueList{Findings: []wear.Finding{ringBolts(t), stem}}, Style{}))
	assert.Equal(t, 1, strings.Count(out, "Caution – torque:"))
	assert.Contains(t, out, "Caution as for ring-bolts-1.")
	stem.Bike, stem.BikeID = "Plover", 1
	out = unwrap(due(t, DueList{Findings: []wear.Finding{ringBolts(t), stem}}, Style{}))
	assert.Equal(t, 2, strings.Count(out, "Caution – torque:"), "another bike has it in full")
}

func TestNothingDue(t *testing.T) {
	tests := []struct {
		name     string
		findings []wear.Finding
		want     string
	}{
		{"no job at all", nil, "Nothing is due."},
		{
			"the first date comes next",
			[]wear.Finding{pulleys(t), fork(t), sealant(t)},
			"Next: Plover, rear-sealant-1: top up the sealant of the rear tyre, 81 of 90 days, 90 % used, since 22 Feb, left 9 days, about 23 May.",
		},
		{
			"without dates the greatest share",
			[]wear.Finding{fork(t)},
			"Next: Plover, fork-1: service the lowers of the fork, 30.6 of 50 h, 61 % used, since 2 Nov 2025, left 19.4 h.",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			out := due(t, DueList{Today: on(t, "2026-05-14 18:00"), Findings: tt.findings}, Style{})
			assert.True(t, strings.HasPrefix(out, "Nothing is due.\n"), out)
			assert.Contains(t, unwrap(out), tt.want)
			assert.True(t, strings.HasSuffix(out, wear.Caution+".\n"), out)
		})
	}
}

func TestDueMeetsHostileText(t *testing.T) {
	d := season(t)
	d.NoBike = outings(t)
	for i := range d.Findings {
		f := &d.Findings[i]
		f.Bike += "\x1b[31m\u202eevil\r\n" + strings.Repeat("界", 60)
		f.Part = strings.Repeat("x", 300) + "\x07"
		f.Title = "\x1b]0;title\x07 " + strings.Repeat("長い", 80)
		f.Notes = []string{strings.Repeat("note ", 2000)}
		f.Reasons = []wear.Reason{{Text: strings.Repeat("e\u0301\u0301\u0301\u0301\u0301\u0301\u0301", 50)}}
		f.Caution = strings.Repeat("y", 10_000)
	}
	for _, w := range []int{40, 80, 120} {
		d.All = true
		out := due(t, d, Style{Width: w})
		narrow(t, out, w)
		assert.Equal(t, -1, strings.IndexFunc(out, func(r rune) bool { return r != '\n' && unicode.In(r, unicode.Cc, unicode.Bidi_Control) }))
	}
}

func TestDueDoesNotDependOnTheMachinesZone(t *testing.T) {
	kolkata, err := time.LoadLocation("Asia/Kolkata")
	require.NoError(t, err)
	before := time.Local
	t.Cleanup(func() { time.Local = before })
	var outs [2]string
	for i, zone := range []*time.Location{time.UTC, kolkata} {
		time.Local = zone
		var b strings.Builder
		require.NoError(t, Due(&b, season(t), Style{}))
		require.NoError(t, DueJSON(&b, season(t), Style{}))
		require.NoError(t, DueCSV(&b, season(t), Style{}))
		outs[i] = b.String()
	}
	assert.Equal(t, outs[0], outs[1])
	// The zone of the style does matter: 22:00 UTC is the next day in Kolkata.
	assert.Contains(t, due(t, season(t), Style{Zone: kolkata}), "since 4 Mar")
}

func TestDueShowsHowSureADateIs(t *testing.T) {
	f := padsOrder(t)
	list := DueList{Today: on(t, "2026-12-14 18:00"), Findings: []wear.Finding{f}}
	day := func(s string) *wear.Instant { return ptr(on(t, s+" 18:00")) }
	for _, tt := range []struct {
		name string
		date wear.Dates
		want string
	}{
		{"a range", wear.Dates{P10: day("2026-12-20"), P50: day("2026-12-28"), P90: day("2027-01-18")}, "28 Dec (20 Dec – 18 Jan)"},
		{"an exact day", wear.Dates{P10: day("2026-12-28"), P50: day("2026-12-28"), P90: day("2026-12-28")}, "28 Dec"},
		{"no end of it", wear.Dates{P10: day("2026-12-20"), P50: day("2027-02-28")}, "28 Feb (not before 20 Dec)"},
		{"far ahead", wear.Dates{P10: day("2027-03-20"), P50: day("2027-08-28"), P90: day("2028-09-18")}, "Aug 2027 (Mar 2027 – Sep 2028)"},
		{"likely past, not read yet", wear.Dates{P10: day("2026-12-14"), P50: day("2026-12-14"), P90: day("2027-01-02")}, "now (– 2 Jan)"},
		{"perhaps now", wear.Dates{P10: day("2026-12-14"), P50: day("2026-12-28"), P90: day("2027-01-02")}, "28 Dec (now – 2 Jan)"},
		{"all but surely past", wear.Dates{P10: day("2026-12-14"), P50: day("2026-12-14"), P90: day("2026-12-14")}, "now"},
		{"none", wear.Dates{}, ""},
	} {
		list.Findings[0].Date = tt.date
		for _, w := range []int{80, 120} {
			out := due(t, list, Style{Width: w})
			narrow(t, out, w)
			row := strings.TrimPrefix(out[strings.Index(out, "Hire 12"):], "Hire 12  rear-pads-4 change  83 %, reads 1.25 mm")
			row, _, _ = strings.Cut(row, "\n")
			assert.Equal(t, tt.want, strings.TrimSpace(row), "%s at %d columns", tt.name, w)
		}
	}
}
