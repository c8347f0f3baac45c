package report

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/wear"
)

// OWASP, "CSV Injection": a cell must not start with = + - @ TAB or CR, also
// not behind blanks, no-break spaces or line ends; full-width forms count too.
func TestCellNeutralisesFormulas(t *testing.T) {
	tests := []struct{ in, want string }{
		{"=1+1", "'=1+1"}, {"+1", "'+1"}, {"-1", "'-1"}, {"@SUM(A1)", "'@SUM(A1)"},
		{"\t=1", "'=1"}, {"\r=1", "'=1"}, {" =1+1", "'=1+1"}, {"\u00a0=1", "'=1"}, {"x\n=1", "x =1"},
		{"\"=1", "'\"=1"}, {"＝1", "'＝1"}, {"＋1", "'＋1"}, {"－1", "'－1"}, {"＠1", "'＠1"},
		{"\u200d=1", "'\u200d=1"}, {"a;=1", "a;'=1"}, {"a; -1", "a;' -1"},
		{"chain-1", "chain-1"}, {"10-51", "10-51"}, {"a=b", "a=b"}, {"", ""}, {"'quoted'", "'quoted'"},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, cell(tt.in), "%q", tt.in)
	}
}

func TestCellNeverStartsAFormula(t *testing.T) {
	piece := rapid.SampledFrom([]string{"=", "+", "-", "@", "\t", "\r", "\n", " ", "\u00a0", ";", "\"", "＝", "x", "1", "\u200b", "'"})
	rapid.Check(t, func(t *rapid.T) {
		in := strings.Join(rapid.SliceOf(piece).Draw(t, "pieces"), "")
		for part := range strings.SplitSeq(cell(in), ";") {
			part = strings.TrimLeft(part, " \u00a0\"")
			for _, bad := range []string{"=", "+", "-", "@", "\t", "\r", "\n", "＝"} {
				if strings.HasPrefix(part, bad) {
					t.Fatalf("%q gives %q, which starts with %q", in, part, bad)
				}
			}
		}
	})
}

// parse reads CSV as RFC 4180 has it: every record ends in CRLF and has as
// many fields as the header.
func parse(t *testing.T, out string) (records []map[string]string) {
	t.Helper()
	require.True(t, strings.HasSuffix(out, "\r\n"))
	assert.Equal(t, strings.Count(out, "\n"), strings.Count(out, "\r\n"), "a line ends without CR")
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	for _, row := range rows[1:] {
		record := map[string]string{}
		for i, name := range rows[0] {
			record[name] = row[i]
		}
		records = append(records, record)
	}
	return records
}

func TestRefusedAndMatchesCSV(t *testing.T) {
	var b strings.Builder
	require.NoError(t, RefusedCSV(&b, notTaken(t), Style{}))
	got := parse(t, b.String())
	require.Len(t, got, 2)
	assert.Equal(t, "fit", got[0]["format"])
	assert.Equal(t, "no", got[0]["gone"])
	assert.Equal(t, `/srv/=rides/old\x1b.bin`, got[1]["file"], "no control characters")
	assert.Empty(t, got[1]["format"], "it could not be told")
	assert.Equal(t, "yes", got[1]["gone"])
	b.Reset()
	require.NoError(t, MatchesCSV(&b, someMatches(t), Style{}))
	got = parse(t, b.String())
	assert.Equal(t, map[string]string{
		"match": "12", "bike": "Plover", "rides_of": `sensor "4711", indoors`, "from": "2026-04-01T00:00:00Z",
	}, got[1])
}

func TestRidesCSV(t *testing.T) {
	rides := outings(t)
	rides[0].Bike, rides[0].File = `=HYPERLINK("http://x","y")`, "a,\"b\"\nc.fit"
	var b strings.Builder
	require.NoError(t, RidesCSV(&b, each(rides), Style{}))
	got := parse(t, b.String())
	require.Len(t, got, len(rides))
	assert.Equal(t, map[string]string{
		"id": "3fa2019c0000000000000000", "bike": `'=HYPERLINK("http://x","y")`, "start": "2026-05-02T08:15:00Z",
		"file": `a,"b" c.fit`, "format": "fit", "ground": "wet", "indoor": "no", "state": "counted",
		"distance": "42130", "climb": "905", "descent": "905", "moving": "11160", "turns": "12400", "work": "1180000",
		"braking": "412000", "estimated": "turns work braking",
		"rule": "sensors", "because": "shifter 4711, speed sensor ANT 12", "twin_of": "",
	}, got[0])
	assert.Equal(t, got[0]["id"], got[2]["twin_of"])
	assert.Empty(t, got[1]["bike"])
	assert.Empty(t, got[1]["climb"], "what lacks is empty, not 0")
	assert.Equal(t, "yes", got[3]["indoor"])
}

func TestDueCSV(t *testing.T) {
	d := season(t)
	d.Findings[0].Bike = "+Kestrel; =2"
	d.All = true
	var b strings.Builder
	require.NoError(t, DueCSV(&b, d, Style{}))
	got := parse(t, b.String())
	require.Len(t, got, len(d.Findings))
	assert.Equal(t, "stop", got[0]["verdict"])
	byPart := map[string]map[string]string{}
	for _, r := range got {
		byPart[r["part"]] = r
	}
	assert.Equal(t, "'+Kestrel;' =2", byPart["chain-1"]["bike"])
	assert.Equal(t, "1.2496", byPart["chain-1"]["share"])
	assert.Equal(t, "2026-05-26", byPart["rear-pads-4"]["date_p50"])
	assert.Equal(t, "400000", byPart["rear-pads-4"]["left_p10"])
	assert.Empty(t, byPart["guide-1"]["limit"])
}

// A negative figure is a number and must stay one.
func TestNumbersStayNumbers(t *testing.T) {
	f := lube(t)
	f.Used, f.Left.P50 = -5.2, ptr(-5.2)
	var b strings.Builder
	require.NoError(t, DueCSV(&b, DueList{Findings: []wear.Finding{f}}, Style{}))
	got := parse(t, b.String())[0]
	assert.Equal(t, "-5.2", got["used"])
	assert.Equal(t, "-5.2", got["left_p50"])
}

func TestPartsAndBikesCSV(t *testing.T) {
	var b strings.Builder
	parts := someParts(t)
	parts[0].Part.Model = "@model"
	require.NoError(t, PartsCSV(&b, parts, Style{}))
	got := parse(t, b.String())
	assert.Equal(t, "'@model", got[0]["model"])
	assert.Equal(t, "61", got[0]["rides"])
	assert.Equal(t, "1742300", got[0]["distance"])
	assert.Empty(t, got[2]["bike"])

	b.Reset()
	require.NoError(t, BikesCSV(&b, someBikes(t), Style{}))
	got = parse(t, b.String())
	assert.Equal(t, "stop", got[0]["verdict"])
	assert.Equal(t, "自転車", got[1]["bike"])
	assert.Empty(t, got[1]["last_ride"])

	b.Reset()
	require.NoError(t, ScheduleCSV(&b, JobLines(wear.InForce(nil, wear.Default()), nil)))
	assert.NotEmpty(t, parse(t, b.String())[0]["rule"])
}
