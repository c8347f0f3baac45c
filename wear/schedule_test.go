package wear

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The rows of the design's table of defaults (common practice, no published
// source), as the rules say themselves.
func TestDefaultScheduleSaysTheDesign(t *testing.T) {
	for _, row := range []struct{ kind, job, rule string }{
		{"chain", "clean", "every 25,000 turns of the crank and after every wet or mud ride"},
		{"chain", "measure", "every 60,000 turns of the crank and when fitted; every 30,000 turns of the crank after a mud ride or past 60 % of the limit"},
		{"chain", "change", "at 0.75 %, stop at 1 % in a fleet; expected at 480,000 turns of the crank"},
		{"ring", "look", "every 300,000 turns of the crank and with each new chain and when the chain measures past 0.75 % and with the third worn chain; every 150,000 turns of the crank when the chain measures past 0.5 %"},
		{"ring", "change", "expected at 1,000,000 turns of the crank"},
		{"idler", "look", "every 500,000 turns of the idler"},
		{"idler", "change", "expected at 2,000,000 turns of the idler"},
		{"drive-idler", "look", "with each new chain"},
		{"drive-idler", "change", "expected at 800,000 turns of the crank"},
		{"guide", "look", "after 1 ride, then every 25 h"},
		{"guide", "change", "when a look says replace"},
		{"guide-bolts", "check", "after 1 ride of 1 h, at the latest 5 h, then every 25 h"},
		{"ring-bolts", "check", "after 1 ride, then every 50 h"},
		{"crank-bolt", "check", "after 1 ride, then every 50 h"},
		{"pedals", "check", "after 1 ride, then every 50 h"},
		{"cassette", "look", "every 400,000 contacts of a tooth and when the chain measures past 0.75 %; every 200,000 contacts of a tooth when the chain measures past 0.5 %"},
		{"cassette", "skip-test", "with each new chain"},
		{"cassette", "change", "expected at 600,000 contacts of a tooth"},
		{"derailleur-pulleys", "look", "with each new chain"},
		{"derailleur-pulleys", "change", "expected at 2,000,000 turns of the pulley"},
		{"front-pads", "change", "at 1 mm, stop at 0.5 mm; expected at 8 MJ of braking"},
		{"rear-rotor", "change", "at 1.55 mm, stop at 1.5 mm"},
		{"front-tyre", "look", "every 500 km"},
		{"front-tyre", "change", "at 2 mm; expected at 3,000 km"},
		{"rear-tyre", "change", "at 2 mm; expected at 1,500 km"},
		{"front-sealant", "top-up", "every 90 days"},
		{"fork", "lowers", "every 50 h"},
		{"fork", "service", "every 200 h or 365 days, whichever comes first"},
		{"shock", "air-can", "every 50 h"},
		{"shock", "service", "every 200 h or 365 days, whichever comes first"},
		{"pivot-bolts", "check", "after 1 ride, then every 50 h"},
		{"stem-bar-bolts", "check", "after 1 ride, then every 50 h"},
		{"caliper-bolts", "check", "after 1 ride, then every 50 h"},
		{"axles", "check", "after 1 ride, then every 50 h"},
		{"headset", "check", "every 50 h"},
		{"rear-hub", "service", "every 365 days"},
		{"bottom-bracket", "check", "every 50 h"},
		{"dropper", "service", "every 100 h or 365 days, whichever comes first"},
		{"brake-fluid", "change", "every 365 days"},
		{"cable", "change", "every 365 days"},
		{"frame", "look", "every 50 h and after a crash"},
	} {
		k, ok := Default().Kind(row.kind)
		require.True(t, ok, row.kind)
		j, ok := k.Job(row.job)
		require.True(t, ok, row.kind+" "+row.job)
		assert.Equal(t, row.rule, j.Interval.String(), row.kind+" "+row.job)
	}
}

func TestVariantsOfTheDefaultSchedule(t *testing.T) {
	for _, row := range []struct {
		kind, job string
		s         setting
		rule      string
	}{
		{"chain", "clean", setting{part: Part{Treated: "wax"}}, "every 60,000 turns of the crank; every 25,000 turns of the crank after a wet or mud ride"},
		{"chain", "change", setting{speeds: 10}, "at 0.75 %, stop at 1 % in a fleet; expected at 480,000 turns of the crank"},
		{"chain", "change", setting{speeds: 11}, "at 0.5 %, stop at 1 % in a fleet; expected at 320,000 turns of the crank"},
		{"chain", "change", setting{speeds: 0}, "at 0.5 %, stop at 1 % in a fleet; expected at 320,000 turns of the crank"},
		{"chain", "change", setting{speeds: 9, narrow: true}, "at 0.5 %, stop at 1 % in a fleet; expected at 320,000 turns of the crank"},
		{"chain", "change", setting{speeds: 9, motor: MidMotor}, "at 0.5 %, stop at 1 % in a fleet; expected at 320,000 turns of the crank"},
		{"ring", "change", setting{part: Part{Material: "Steel"}}, "expected at 2,000,000 turns of the crank"},
		{"cassette", "change", setting{part: Part{Material: "aluminium"}}, "expected at 250,000 contacts of a tooth"},
		{"rear-pads", "change", setting{part: Part{Material: "sintered"}}, "at 1 mm, stop at 0.5 mm; expected at 14 MJ of braking"},
		{"brake-fluid", "change", setting{part: Part{Treated: "mineral"}}, "every 730 days"},
	} {
		job, ok := Default().kind(row.kind).Job(row.job)
		require.True(t, ok)
		iv, _ := job.at(row.s)
		assert.Equal(t, row.rule, iv.String(), "%s %s %+v", row.kind, row.job, row.s)
	}
}

// Ground factors of the design (common practice, no published source).
func TestGroundFactors(t *testing.T) {
	order := []Ground{Dry, Unmarked, Dusty, Gritty, Wet, Mud, Trainer, Rollers}
	for kind, want := range map[string][8]float64{
		"chain": {1, 1.4, 1.3, 2.5, 2, 3, 1, 1}, "ring": {1, 1.4, 1.3, 2.5, 2, 3, 1, 1},
		"cassette": {1, 1.4, 1.3, 2.5, 2, 3, 0, 1}, "idler": {1, 1.4, 1.3, 2.5, 2, 3, 1, 1},
		"front-pads": {1, 1.5, 1.2, 2, 2, 5, 0, 0}, "fork": {1, 1, 1, 1, 1.5, 2, 0, 0},
		"rear-hub": {1, 1, 1, 1, 1.5, 2, 0, 1}, "front-hub": {1, 1, 1, 1, 1.5, 2, 0, 0},
		"rear-tyre": {1, 1, 1, 1, 1, 1, 0, 1}, "front-tyre": {1, 1, 1, 1, 1, 1, 0, 0},
		"guide-bolts": {1, 1, 1, 1, 1, 1, 1, 1},
	} {
		k := Default().kind(kind)
		require.NotNil(t, k, kind)
		for i, g := range order {
			assert.Equal(t, want[i], k.Factors[g], "%s on %s", kind, g)
		}
	}
}

func TestEveryJobIsWhole(t *testing.T) {
	for _, k := range Default().Kinds() {
		assert.NotContains(t, k.Title, "{", k.Name)
		for _, j := range k.Jobs {
			name := k.Name + " " + j.Name
			assert.NotEmpty(t, j.Source, name)
			assert.NotContains(t, j.Title+j.Advice, "{", name)
			assert.Equal(t, strings.ToLower(j.Title), j.Title, name)
			assert.Positive(t, j.Minutes, name)
			if j.Act == ActCheck && strings.Contains(j.Title, "torque") {
				assert.Contains(t, j.Caution, "unit always written", name)
				assert.NotEmpty(t, j.Interval.First, "%s: a first check after every fit", name)
			}
		}
	}
}

func TestParseScheduleErrors(t *testing.T) {
	whole := string(defaultSchedule)
	for name, c := range map[string]struct{ from, to, want string }{
		"unknown setting":     {"missed_hours = 5", "mist_hours = 5", ":18:1: mist_hours: no such setting"},
		"not TOML":            {"lead_days = 14", "lead_days = = 14", ":17:13: "},
		"a word for a figure": {"then = { turns = 60_000 }", "then = { turns = \"many\" }", "test.toml:"},
		"unknown event":       {`after = ["fitted"]`, `after = ["bought"]`, `kind "chain": job "measure": event "bought": not one of`},
		"unknown source":      {`source = "settle"`, `source = "hearsay"`, `source "hearsay": not in the table`},
		"unknown ground":      {`ground = "pads"`, `ground = "moon"`, `kind "pads": ground "moon"`},
		"missing factor":      {"mud = 3.0\ntrainer = 1.0", "trainer = 1.0", `needs a factor of 0 or more for mud`},
		"unknown condition":   {`is = ["steel"]`, `is = ["wood"]`, `condition "wood": not one of`},
		"unknown restart":     {`"guide-bolts"]`, `"gide-bolts"]`, `restarted by "gide-bolts": no such kind`},
		"unknown job":         {`done_by = ["service"]`, `done_by = ["serve"]`, `done by "serve"`},
		"kind twice":          {`name = "ring"`, `name = "chain"`, `kind "chain": named twice`},
		"job twice":           {`name = "clean"`, `name = "measure"`, `named twice`},
		"limit below new":     {"due = 0.75, fleet", "due = -0.75, fleet", "must lie on the worn side"},
		"stop before due":     {"due = 1.0, stop = 0.5", "due = 1.0, stop = 1.5", "stop must lie beyond due"},
		"negative count":      {"turns = 25_000 }\n  after", "turns = -1 }\n  after", "must be above 0"},
		"soon without event":  {`soon_after = ["mud ride", "past 60 % of the limit"]`, "", "go together"},
		"act":                 {`act = "clean"`, `act = "scrub"`, `act "scrub": not one of`},
		"count condemns":      {"expect = { turns = 1_000_000 }", "then = { turns = 1_000_000 }", "not changed by a count"},
		"lead days":           {"lead_days = 14", "lead_days = 0", "lead_days"},
		"assumed":             {"ring = 32 ", "ring = 0 ", "assumed"},
	} {
		t.Run(name, func(t *testing.T) {
			require.Contains(t, whole, c.from)
			_, err := ParseSchedule([]byte(strings.Replace(whole, c.from, c.to, 1)), "test.toml")
			require.ErrorContains(t, err, c.want)
			assert.True(t, strings.HasPrefix(err.Error(), "test.toml:"), err.Error())
		})
	}
}

func TestEventsReadBack(t *testing.T) {
	for _, s := range []string{"fitted", "wet ride", "mud ride", "new chain", "crash", "third worn chain", "chain past 0.75 %", "past 60 % of the limit"} {
		e, err := ParseEvent(s)
		require.NoError(t, err)
		assert.Equal(t, s, e.String())
	}
}

func TestThousands(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 1: "1", 999: "999", 1000: "1,000", 1234567.891: "1,234,567.89", -4321: "-4,321", 0.5: "0.5", 25000: "25,000"} {
		assert.Equal(t, want, Thousands(v))
	}
}

func TestAmountsAreSaidAsAPersonWould(t *testing.T) {
	for _, c := range []struct {
		of   CountOf
		v    float64
		want string
	}{
		{CountTurns, 75_402.6, "75,403 turns of the crank"}, {CountHours, 18.44 * 3600, "18.4 h"}, {CountHours, 3600, "1 h"},
		{CountKm, 1234_567, "1,235 km"}, {CountBraking, 2.54e6, "2.5 MJ of braking"}, {CountRides, 1, "1 ride"},
		{CountLong, 2, "2 rides of 1 h"}, {CountDays, 40.4, "40 days"},
	} {
		assert.Equal(t, c.want, about(c.of, c.v))
	}
}

func BenchmarkParseSchedule(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ParseSchedule(defaultSchedule, "schedule.toml"); err != nil {
			b.Fatal(err)
		}
	}
}
