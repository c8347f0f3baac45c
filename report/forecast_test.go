package report

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// straightBand is a range about a line from start to end that widens.
func straightBand(start, rate, end float64) []wear.BandPoint {
	list := make([]wear.BandPoint, 41)
	for i := range list {
		u := end * float64(i) / 40
		mid, off := start+rate*u, 0.03+0.3*rate*u
		if rate < 0 {
			off = 0.03 - 0.3*rate*u
		}
		list[i] = wear.BandPoint{Load: u, P10: mid - off, P50: mid, P90: mid + off}
	}
	return list
}

// chainForecast is a chain that was read by caliper, by gauge and by ruler.
func chainForecast(t *testing.T) WhyPage {
	t.Helper()
	f := chainChange(t)
	f.Verdict, f.Used, f.Share, f.Reasons, f.Notes = wear.Order, 0.42, 0.84, []wear.Reason{{Basis: wear.ByReading,
		Text: "measured 0.42 % by ruler, limit 0.5 %: 31 % likely to be reached within 14 days at the way the bike is ridden"}}, nil
	f.Left = wear.Range{P50: ptr(0.07)}
	f.Date = wear.Dates{P10: ptr(on(t, "2026-05-22 18:00")), P50: ptr(on(t, "2026-06-05 18:00")), P90: ptr(on(t, "2026-07-02 18:00"))}
	read := func(at string, v float64, tool string) wear.Reading {
		return wear.Reading{At: on(t, at), Of: wear.Elongation, Value: v, Tool: tool}
	}
	gauge := read("2026-02-20 18:00", 0.25, "gauge")
	gauge.Gauge = &wear.Gauge{Out: 0.5, Points: 3}
	worn := read("2026-04-17 18:00", 0.42, "ruler")
	worn.Places = []float64{0.41, 0.43}
	return WhyPage{
		Today: on(t, "2026-05-14 18:00"), Bikes: map[wear.ID]string{12: "Hire 12"},
		Explanation: wear.Explanation{
			Finding: f, Rule: "at 0.5 %, stop at 1 % in a fleet; expected at 320,000 turns of the crank",
			Anchor: wear.Anchor{At: on(t, "2025-09-20 22:00"), Why: "it was fitted", First: true},
			Counts: []wear.CountLine{{
				By: "turns", Unit: "turns", Used: 21_400, Limit: 60_000, Data: wear.DataMixed, Decides: true,
				Grounds: []wear.GroundUse{{Ground: wear.Wet, Rides: 3, Amount: 10_700, Factor: 2, Used: 21_400}},
			}},
			Readings: []wear.Reading{read("2025-12-01 18:00", 0.2, "caliper"), gauge, worn},
			Recent:   wear.Recent{Days: 84, Used: 117_600, PerDay: 1400, Unit: "turns", Last: on(t, "2026-05-11 09:00")},
			Forecast: &wear.Forecast{
				Of: wear.Elongation, Unit: "%", By: "turns", LoadUnit: "turns", Limit: 0.5, Earlier: 2,
				Prior: wear.Line{Start: 0.06, StartSD: 0.05, Rate: 0.44 / 320_000, RateSpread: 0.45},
				Line:  wear.Line{Start: 0.05, StartSD: 0.02, Rate: 1.4e-6, RateSpread: 0.12},
				Weights: []wear.Weight{
					{Reading: read("2025-12-01 18:00", 0.2, "caliper"), Load: 104_200, Share: 0.2, Off: 0.1},
					{Reading: gauge, Load: 198_000, Share: 0.05},
					{Reading: worn, Load: 262_300, Share: 0.5, Off: 2.9},
				},
				Load: 283_700, Last: 262_300, Now: wear.Range{P10: ptr(0.39), P50: ptr(0.447), P90: ptr(0.5)},
				Crossing: wear.Range{P10: ptr(284_000.0), P50: ptr(321_400.0), P90: ptr(371_900.0)},
				Left:     wear.Range{P10: ptr(300.0), P50: ptr(37_700.0), P90: ptr(88_200.0)},
				Days:     wear.Range{P10: ptr(8.0), P50: ptr(22.0), P90: ptr(49.0)}, PerDay: 1523, Lead: 14, Chance: 0.31,
				Band: straightBand(0.05, 1.4e-6, 390_000),
				Turn: "a reading by ruler today short of 0.41 % would make it fine again, 0.5 % or more would make it due",
			},
			Method:  "forecast from the readings and what such parts last",
			Changes: []string{"a reading by ruler today short of 0.41 % would make it fine again, 0.5 % or more would make it due", "a look that says replace, or a new part"},
		},
	}
}

func why(t *testing.T, d WhyPage, s Style) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, Why(&b, d, s))
	narrow(t, b.String(), s.width())
	return b.String()
}

func TestForecastGolden(t *testing.T) {
	for _, s := range styles {
		t.Run(styleName(s), func(t *testing.T) {
			golden(t, "forecast-"+styleName(s)+".txt", why(t, chainForecast(t), s))
		})
	}
}

func TestForecastSaysWhatItRestsOn(t *testing.T) {
	out := unwrap(why(t, chainForecast(t), Style{}))
	for _, said := range []string{
		"prior 0.06 % as it came (± 0.05), 0.5 % at about 320,000 weighted turns (8 cases of 10: 180,000 – 570,000), updated by 2 earlier ones of this bike",
		"1 Dec 2025 0.20 % by caliper 104,200 20 %",
		"20 Feb 2026 0.5 % stayed out 198,000 5 %",
		"the prior 25 %",
		"limit 0.5 % at about 321,000 weighted turns, 37,700 from now; in 8 cases of 10 between 284,000 and 372,000",
		"date about 5 Jun (22 May – 2 Jul); 31 % likely to be reached within 14 days",
		"what if a reading by ruler today short of 0.41 % would make it fine again",
		"ground weighted: what was ridden counts × 1 in the dry, 1.4 unmarked, 2 in the wet, 3 in mud",
		"Counted since the reading of 17 Apr 2026 turns 21,400 weighted turns, partly estimated",
	} {
		assert.Contains(t, out, said)
	}
	assert.Contains(t, unwrap(why(t, chainForecast(t), Style{Width: 120})), "0.42 % by ruler, mean of 2, far above the line")
	assert.Equal(t, 1, strings.Count(out, "short of 0.41 %"), "what would change it is said once")
	assert.NotContains(t, out, " 0 turns")
}

var plotRow = regexp.MustCompile(`^ +(limit )?([0-9.]+ (%|mm))? ?\|`)

// plotOf is the lines of a page's plot.
func plotOf(out string) []string {
	var list []string
	for l := range strings.Lines(out) {
		if plotRow.MatchString(l) {
			list = append(list, strings.TrimRight(l, "\n"))
		}
	}
	return list
}

func TestPlotHoldsReadingsLineAndLimit(t *testing.T) {
	for _, w := range []int{40, 80, 120, 300} {
		d := chainForecast(t)
		rows := plotOf(why(t, d, Style{Width: w}))
		require.Len(t, rows, plotRows, "%d columns", w)
		all := strings.Join(rows, "\n")
		assert.Equal(t, 2, strings.Count(all, "o"), "two figures")
		assert.Equal(t, 1, strings.Count(all, "v"), "one gauge end that stayed out")
		assert.NotContains(t, all, "^")
		limit := ""
		for _, r := range rows {
			if strings.Contains(r, "limit 0.5 %") {
				limit = r
			}
			assert.Equal(t, -1, strings.IndexFunc(r, func(r rune) bool { return r > '~' }), "letters only: %q", r)
		}
		// The line comes to the limit after today.
		require.Contains(t, limit, "*")
		assert.Greater(t, strings.Index(limit, "*"), strings.LastIndex(limit, "|"))
		d.NoPlot = true
		assert.Empty(t, plotOf(why(t, d, Style{Width: w})))
	}
}

func TestPlotOfWearThatThins(t *testing.T) {
	d := chainForecast(t)
	f := d.Explanation.Forecast
	d.Explanation.Finding.Kind = "front-pads"
	f.Of, f.Unit, f.LoadUnit, f.New, f.Limit = wear.Lining, "mm", "J", 2, 1
	f.Line = wear.Line{Start: 2.1, Rate: -1e-7, RateSpread: 0.2}
	f.Weights = []wear.Weight{{Reading: wear.Reading{At: on(t, "2026-02-20 18:00"), Of: wear.Lining, Value: 1.5, Tool: "caliper"}, Load: 6e6, Share: 0.6}}
	f.Load, f.Band = 7e6, straightBand(2.1, -1e-7, 16e6)
	f.Crossing = wear.Range{P10: ptr(9e6), P50: ptr(11e6), P90: ptr(14.2e6)}
	out := why(t, d, Style{})
	rows := plotOf(out)
	require.Len(t, rows, plotRows)
	assert.Contains(t, rows[0], "*", "new at the top left")
	assert.Contains(t, unwrap(out), "limit 1 mm at about 11 weighted MJ, 4 from now; in 8 cases of 10 between 9 and 14.2")
	assert.Contains(t, unwrap(out), "line 2.1 mm as it came, then 0.1 mm for every weighted MJ")
	at := func(letter string) int {
		for i, r := range rows {
			if strings.Contains(r, letter) {
				return i
			}
		}
		return -1
	}
	assert.Less(t, at("o"), at("limit"), "worn less than the limit is above it")
}

func TestForecastWithoutADate(t *testing.T) {
	d := chainForecast(t)
	f := d.Explanation.Forecast
	f.PerDay, f.Days, d.Explanation.Finding.Date = 0, wear.Range{}, wear.Dates{}
	out := unwrap(why(t, d, Style{}))
	assert.Contains(t, out, "use the bike was not ridden in the last 12 weeks: no date")
	assert.NotContains(t, out, "likely to be reached within 14 days;")
	f.Crossing = wear.Range{}
	assert.Contains(t, unwrap(why(t, d, Style{})), "limit 0.5 %: too far ahead to tell")
	f.Crossing.P10 = ptr(284_000.0)
	assert.Contains(t, unwrap(why(t, d, Style{})), "limit 0.5 % not before 284,000 weighted turns in 9 cases of 10")
}

func TestForecastOfAnotherBikesReading(t *testing.T) {
	d := chainForecast(t)
	w := &d.Explanation.Forecast.Weights[0]
	w.Load, w.Share = -1, 0
	out := why(t, d, Style{Width: 120})
	assert.Contains(t, out, "on an earlier bike")
	assert.Equal(t, 1, strings.Count(strings.Join(plotOf(out), ""), "o"))
	var b bytes.Buffer
	require.NoError(t, WhyJSON(&b, d, Style{}))
	var got struct {
		Forecast struct {
			Readings []map[string]any `json:"readings"`
		} `json:"forecast"`
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	assert.Nil(t, got.Forecast.Readings[0]["load"])
}

func TestForecastJSON(t *testing.T) {
	doc := object(t, func(b *bytes.Buffer) error { return WhyJSON(b, chainForecast(t), Style{}) })
	f := fields(t, doc["forecast"])
	assert.JSONEq(t, `{"start":0.06,"start_sd":0.05,"rate":0.000001375,"rate_spread":0.45,"earlier":2,"guessed":false}`, string(f["prior"]))
	assert.JSONEq(t, `{"p10":284000,"p50":321400,"p90":371900}`, string(f["crossing"]))
	readings := items(t, f["readings"])
	require.Len(t, readings, 3)
	assert.JSONEq(t, `{"at":"2025-12-01T18:00:00Z","value":0.2,"tool":"caliper","gauge":null,"load":104200,"weight":0.2,"off":0.1}`, string(readings[0]))
	assert.JSONEq(t, `{"at":"2026-02-20T18:00:00Z","value":null,"tool":"gauge","gauge":{"drops_in":null,"stays_out":0.5,"points":3},"load":198000,"weight":0.05,"off":null}`, string(readings[1]))
	curve := items(t, f["curve"])
	require.Len(t, curve, 41)
	assert.JSONEq(t, `{"load":0,"p10":0.02,"p50":0.05,"p90":0.08}`, string(curve[0]))
	assert.Equal(t, "0.5", string(f["limit"]))
	assert.JSONEq(t, `"2026-04-17T18:00:00Z"`, string(fields(t, items(t, doc["counts"])[0])["since"]))
	none := object(t, func(b *bytes.Buffer) error { return WhyJSON(b, explained(t), Style{}) })
	assert.Equal(t, "null", string(none["forecast"]))
}

// Every figure of a bike with readings is explained, at any width.
func TestForecastsOfAWholeBike(t *testing.T) {
	c := wholeBike(t)
	read := map[string]wear.Reading{
		"chain": {Of: wear.Elongation, Value: 0.3, Tool: "caliper"}, "front-pads": {Of: wear.Lining, Value: 1.4, Tool: "caliper"},
		"rear-rotor": {Of: wear.Thickness, Value: 1.7, Tool: "caliper"}, "rear-tyre": {Of: wear.Knob, Value: 3.1, Tool: "ruler"},
	}
	plots := 0
	for i := range c.Parts {
		if r, ok := read[c.Parts[i].Part.Kind]; ok {
			r.At = on(t, "2026-05-10 20:00")
			c.Parts[i].Readings = []wear.Reading{r}
		}
	}
	for i := range c.Parts {
		if _, ok := read[c.Parts[i].Part.Kind]; !ok {
			continue
		}
		e, err := wear.Explain(c, wear.Default(), c.Parts[i].Part.ID, "change")
		require.NoError(t, err)
		require.NotNil(t, e.Forecast, c.Parts[i].Part.Kind)
		for _, w := range []int{40, 80, 120} {
			out := why(t, WhyPage{Explanation: e, Today: c.Today, Bikes: map[wear.ID]string{3: "Kestrel 3"}}, Style{Width: w, Imperial: w == 40})
			assert.Contains(t, out, "since the reading of 10 May 2026")
			plots += len(plotOf(out)) / plotRows
		}
	}
	assert.Equal(t, 3*len(read), plots)
}

func TestLoadsAreRoundInTheUnitShown(t *testing.T) {
	p := &whyPage{e: &wear.Explanation{Finding: wear.Finding{Kind: "rear-tyre"}}}
	assert.Equal(t, "1,840 km", p.about(1_839_511, "m"))
	p.Imperial = true
	assert.Equal(t, "1,140 mi", p.about(1_839_511, "m"))
	assert.Equal(t, "1.24 M turns", p.about(1_239_511, "turns"))
	assert.Equal(t, "124,000", p.aboutOnly(123_951, "turns"))
	p.e.Finding.Kind = "chain"
	assert.Equal(t, "1.24 M weighted turns", p.about(1_239_511, "turns"))
	assert.Equal(t, "0 weighted turns", p.about(0, "turns"))
}

func TestTicksAreRound(t *testing.T) {
	for _, tt := range []struct {
		from, to float64
		n        int
		want     []float64
	}{
		{0, 0.68, 4, []float64{0, 0.2, 0.4, 0.6}},
		{0.65, 2, 4, []float64{1, 1.5, 2}},
		{0, 560_000, 5, []float64{0, 100_000, 200_000, 300_000, 400_000, 500_000}},
		{0, 9, 5, []float64{0, 2, 4, 6, 8}},
		{1.5, 1.8, 4, []float64{1.5, 1.6, 1.7, 1.8}},
	} {
		got := ticks(tt.from, tt.to, tt.n)
		require.Len(t, got, len(tt.want), "%v: %v", tt, got)
		for i := range got {
			assert.InDelta(t, tt.want[i], got[i], 1e-9)
		}
	}
}
