package report

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// keys is the field names of a JSON object in the order in which they stand.
func keys(t *testing.T, raw json.RawMessage) []string {
	t.Helper()
	dec := json.NewDecoder(bytes.NewReader(raw))
	_, err := dec.Token()
	require.NoError(t, err)
	var names []string
	for dec.More() {
		name, err := dec.Token()
		require.NoError(t, err)
		names = append(names, name.(string))
		var skip json.RawMessage
		require.NoError(t, dec.Decode(&skip))
	}
	return names
}

func fields(t *testing.T, raw json.RawMessage) map[string]json.RawMessage {
	t.Helper()
	var m map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(raw, &m))
	return m
}

func items(t *testing.T, raw json.RawMessage) []json.RawMessage {
	t.Helper()
	require.NotEqual(t, "null", string(raw))
	var list []json.RawMessage
	require.NoError(t, json.Unmarshal(raw, &list))
	return list
}

// object is one JSON object with a newline behind it and nothing else.
func object(t *testing.T, write func(*bytes.Buffer) error) map[string]json.RawMessage {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b))
	require.True(t, bytes.HasSuffix(b.Bytes(), []byte("}\n")))
	assert.Equal(t, []string{"version", "warnings"}, keys(t, b.Bytes())[:2])
	return fields(t, b.Bytes())
}

var (
	loadFields    = []string{"distance", "climb", "descent", "moving", "turns", "work", "braking"}
	quantileNames = []string{"p10", "p50", "p90"}
)

func TestDueJSONKeepsThePromise(t *testing.T) {
	d := season(t)
	d.Warnings = []string{"a < b & c"}
	var b bytes.Buffer
	require.NoError(t, DueJSON(&b, d, Style{}))
	assert.Contains(t, b.String(), `"a < b & c"`, "no HTML escapes")
	assert.Equal(t, []string{"version", "warnings", "today", "findings"}, keys(t, b.Bytes()))
	all := fields(t, b.Bytes())
	assert.JSONEq(t, `"2026-05-14"`, string(all["today"]))
	findings := items(t, all["findings"])
	require.Len(t, findings, 6, "what is fine is left out")
	for _, f := range findings {
		assert.Equal(t, []string{
			"bike", "part", "kind", "job", "verdict", "safety", "used", "limit", "unit", "share", "basis", "data",
			"since", "left", "date", "advice", "caution", "source",
		}, keys(t, f))
		assert.Equal(t, quantileNames, keys(t, fields(t, f)["left"]))
		assert.Equal(t, quantileNames, keys(t, fields(t, f)["date"]))
	}
}

func TestDueJSONValues(t *testing.T) {
	one := func(f wear.Finding) map[string]any {
		var b bytes.Buffer
		require.NoError(t, DueJSON(&b, DueList{Findings: []wear.Finding{f}, All: true}, Style{}))
		var got struct{ Findings []map[string]any }
		require.NoError(t, json.Unmarshal(b.Bytes(), &got))
		require.Len(t, got.Findings, 1)
		return got.Findings[0]
	}
	stop := one(guideBolts(t))
	assert.Equal(t, "stop", stop["verdict"])
	assert.Equal(t, true, stop["safety"])
	assert.InDelta(t, 36_720, stop["used"], 0)
	assert.Equal(t, "s", stop["unit"])
	assert.Equal(t, "2026-03-03T22:00:00Z", stop["since"])
	assert.Contains(t, stop["caution"], "To clear it: check the guide bolts")
	assert.Contains(t, stop["caution"], "qualified mechanic")

	look := one(crackedGuide(t))
	for _, name := range []string{"used", "limit", "unit", "since"} {
		assert.Nil(t, look[name], name)
	}
	assert.Equal(t, "look", look["basis"])

	order := one(padsOrder(t))
	assert.Equal(t, map[string]any{"p10": "2026-05-18", "p50": "2026-05-26", "p90": "2026-06-09"}, order["date"])
	assert.Equal(t, map[string]any{"p10": 0.4e6, "p50": 1.9e6, "p90": 3.1e6}, order["left"])

	odd := lube(t)
	odd.Share, odd.Used = math.NaN(), math.Inf(1)
	assert.Nil(t, one(odd)["share"])
	assert.Nil(t, one(odd)["used"])
}

func TestRidesJSONKeepsThePromise(t *testing.T) {
	all := object(t, func(b *bytes.Buffer) error { return RidesJSON(b, each(outings(t)), nil, Style{}) })
	rides := items(t, all["rides"])
	require.Len(t, rides, 4)
	for _, r := range rides {
		assert.Equal(t, []string{
			"id", "bike", "start", "file", "format", "ground", "indoor", "state", "load", "estimated", "notes",
			"rule", "because", "twin_of",
		}, keys(t, r))
		assert.Equal(t, loadFields, keys(t, fields(t, r)["load"]))
	}
	assert.JSONEq(t, `{"id":"3fa2019c0000000000000000","bike":"Kestrel 3","start":"2026-05-02T08:15:00Z","file":"2026-05-02.fit",
		"format":"fit","ground":"wet","indoor":false,"state":"counted","load":{"distance":42130,"climb":905,"descent":905,
		"moving":11160,"turns":12400,"work":1180000,"braking":412000},"estimated":["turns","work","braking"],"notes":[],
		"rule":"sensors","because":"shifter 4711, speed sensor ANT 12","twin_of":null}`, string(rides[0]))
	assert.Equal(t, `"3fa2019c0000000000000000"`, string(fields(t, rides[2])["twin_of"]))
	assert.Equal(t, "null", string(fields(t, rides[1])["rule"]))
	assert.Equal(t, "null", string(fields(t, rides[1])["bike"]))
	assert.Equal(t, "null", string(fields(t, fields(t, rides[1])["load"])["climb"]))
	assert.Equal(t, "null", string(fields(t, rides[3])["file"]))
	assert.Equal(t, "[]", string(fields(t, rides[3])["estimated"]))
}

func TestRefusedAndMatchesJSON(t *testing.T) {
	all := object(t, func(b *bytes.Buffer) error { return RefusedJSON(b, notTaken(t), Style{}) })
	refused := items(t, all["refused"])
	require.Len(t, refused, 2)
	assert.JSONEq(t, `{"file":"/srv/rides/2026-05-02 cut.fit","format":"fit","since":"2026-05-02T18:00:00Z",
		"why":"cut off: 61 of 74 minutes are whole","hint":"copy it again from the device, or --salvage counts what is whole",
		"gone":false}`, string(refused[0]))
	all = object(t, func(b *bytes.Buffer) error { return MatchesJSON(b, someMatches(t), Style{}) })
	assert.JSONEq(t, `{"match":7,"bike":"Kestrel 3","rides_of":"folder \"/srv/rides/kestrel\"","from":null}`, string(items(t, all["matches"])[0]))
}

func TestRidesJSONOfNone(t *testing.T) {
	all := object(t, func(b *bytes.Buffer) error { return RidesJSON(b, each[RideLine](nil), nil, Style{}) })
	assert.Empty(t, items(t, all["rides"]))
	assert.Empty(t, items(t, all["warnings"]))
}

func TestPartsJSONKeepsThePromise(t *testing.T) {
	all := object(t, func(b *bytes.Buffer) error { return PartsJSON(b, someParts(t), nil, Style{}) })
	parts := items(t, all["parts"])
	require.Len(t, parts, 4)
	for _, p := range parts {
		assert.Equal(t, []string{"part", "kind", "model", "bike", "since", "total"}, keys(t, p))
		assert.Equal(t, append([]string{"rides"}, loadFields...), keys(t, fields(t, p)["total"]))
	}
	assert.Equal(t, "null", string(fields(t, parts[2])["bike"]), "on the shelf")
	assert.Equal(t, "null", string(fields(t, parts[1])["since"]), "came with the bike")
	assert.Equal(t, "61", string(fields(t, fields(t, parts[0])["total"])["rides"]))
}

func TestImportJSONKeepsThePromise(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, ImportJSON(&b, someImport()))
	assert.Equal(t, []string{"version", "warnings", "taken", "known", "not_rides", "refused", "files"}, keys(t, b.Bytes()))
	var got struct {
		Taken, Known, Refused int
		NotRides              int `json:"not_rides"`
		Files                 []json.RawMessage
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	assert.Equal(t, []int{2, 2, 1, 1}, []int{got.Taken, got.Known, got.NotRides, got.Refused})
	require.Len(t, got.Files, 6)
	for _, f := range got.Files {
		assert.Equal(t, []string{"file", "outcome", "rides", "why", "notes", "wrong"}, keys(t, f))
	}
	assert.Equal(t, "[]", string(fields(t, got.Files[4])["rides"]))
}

func TestOtherJSON(t *testing.T) {
	parts, bikes := someParts(t), someBikes(t)
	why := object(t, func(b *bytes.Buffer) error { return WhyJSON(b, explained(t), Style{}) })
	assert.Len(t, items(t, why["counts"]), 2)
	assert.Len(t, items(t, why["rides"]), 1)
	assert.Equal(t, "7", string(why["earlier_rides"]))
	assert.JSONEq(t, `["31,240 of 25,000 turns of the crank"]`, string(why["reasons"]))

	list := object(t, func(b *bytes.Buffer) error { return BikesJSON(b, bikes, nil, Style{}) })
	first := fields(t, items(t, list["bikes"])[0])
	assert.JSONEq(t, `"stop"`, string(first["verdict"]))
	assert.JSONEq(t, `"mid"`, string(first["motor"]))

	bike := object(t, func(b *bytes.Buffer) error { return BikeJSON(b, bikes[0], parts[:2], Style{}) })
	assert.Len(t, items(t, bike["parts"]), 2)

	part := object(t, func(b *bytes.Buffer) error { return PartJSON(b, partPage(t), Style{}) })
	assert.Len(t, items(t, part["readings"]), 2)
	assert.JSONEq(t, `24.5`, string(fields(t, items(t, part["signoffs"])[0])["cost"]))

	jobs := object(t, func(b *bytes.Buffer) error {
		return ScheduleJSON(b, JobLines(wear.InForce(nil, wear.Default()), nil), nil)
	})
	assert.NotEmpty(t, items(t, jobs["jobs"]))
}

func TestDueJSONOfNothing(t *testing.T) {
	var b strings.Builder
	require.NoError(t, DueJSON(&b, DueList{Today: on(t, "2026-05-14 18:00")}, Style{}))
	assert.JSONEq(t, `{"version":1,"warnings":[],"today":"2026-05-14","findings":[]}`, b.String())
}
