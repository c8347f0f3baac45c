package wear

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// aFile of overrides as a mechanic writes it.
const aFile = `
# the workshop's own figures
[[job]]
kind = "chain"
job = "change"
bike = "enduro"
reading.due = 0.6
source = "maker's manual p. 12"

[[job]]
kind = "pads"               # both ends
job = "change"
model = "Grippy 4"
expect = { MJ = 11 }
[job.reading]
due = 0.8

[[job]]
kind = "guide-bolts"
job = "check"
part = "guide-bolts-3"
first = { rides = 2 }
then = { hours = 10, days = 30 }
after = []
torque = ["6 Nm", "44 in·lb"]
advice = "check the three bolts"
minutes = 8
source = "printed on the guide"

[[ground]]
kind = "chain"
mud = 4
wet = 2.5

[[policy]]
drivetrain = "run-out-together"
lead_days = 21

[[policy]]
bike = "enduro"
drivetrain = "save-cassette"
`

func TestParseOverrides(t *testing.T) {
	list, err := ParseOverrides([]byte(aFile), "shop.toml")
	require.NoError(t, err)
	var got []Setting
	for _, s := range list {
		assert.NotEmpty(t, s.Text)
		assert.NotContains(t, s.Text, "enduro", "whom it is for stands in the setting")
		again, err := ParseOverrides([]byte(s.Text), "shop.toml")
		require.NoError(t, err, s.Text)
		require.Len(t, again, 1)
		assert.Equal(t, s.Text, again[0].Text)
		s.Text = ""
		got = append(got, s)
	}
	of := func(scope Scope, key string) Setting {
		return Setting{Name: SettingSchedule, Scope: scope, Key: key, File: "shop.toml"}
	}
	assert.Equal(t, []Setting{
		of(ForBike, "enduro"), of(ForModel, "Grippy 4"), of(ForPart, "guide-bolts-3"),
		of(ForKind, "chain"), of(ForBook, ""), of(ForBike, "enduro"),
	}, got)
	assert.Contains(t, list[2].Text, "after = []", "no event is a figure too")
}

func TestParseOverridesErrors(t *testing.T) {
	job := "\n[[job]]\nkind = \"chain\"\njob = \"change\"\n"
	for name, c := range map[string]struct{ text, want string }{
		"empty":            {"# nothing\n", "f.toml: holds nothing: write a [[job]], [[ground]] or [[policy]]"},
		"not TOML":         {job + "reading.due = = 1", "f.toml:5:15: "},
		"a word":           {job + "reding.due = 0.6", "f.toml:5:1: job.reding.due: no such setting (did you mean reading?)"},
		"a table":          {"[[jobs]]\nkind = \"chain\"", "f.toml:1:3: jobs: no such setting (did you mean job?)"},
		"a figure":         {job + "reading.due = \"much\"", "f.toml:5:15: "},
		"kind":             {job + "reading.due = 0.6\n[[job]]\n  kind = \"chian\"\njob = \"look\"", `f.toml:7:3: kind "chian": not in the schedule (did you mean chain?)`},
		"no kind":          {job + "reading.due = 0.6\n[[job]]\njob = \"look\"", "f.toml:6:3: no kind: write kind"},
		"job":              {"[[job]]\nkind = \"chain\"\njob = \"chnge\"\nreading.due = 0.6", `f.toml:3:1: job "chnge": no such job of chain (did you mean change?)`},
		"job of a family":  {"[[job]]\nkind = \"tyre\"\njob = \"grease\"\nadvice = \"x\"", `f.toml:3:1: job "grease": no such job of front-tyre: it has look, change`},
		"kind without job": {"[[job]]\nkind = \"linkage\"\njob = \"grease\"\nadvice = \"x\"", "no such job of linkage, which has none"},
		"two targets":      {job + "bike = \"a\"\npart = \"b\"\nreading.due = 0.6", `f.toml:6:1: part "b" beside bike "a": name one of`},
		"no change":        {job + "source = \"hearsay\"", "f.toml:2:3: changes nothing"},
		"twice":            {job + "reading.due = 0.6" + job + "reading.due = 0.7", "f.toml:6:3: said twice in this file for the same kind"},
		"past stop":        {job + "reading.due = 1.2", "f.toml:5:1: reading: stop must lie beyond due"},
		"past stop, table": {job + "[job.reading]\ndue = 1.2", "f.toml:5:2: reading: stop must lie beyond due"},
		"below new":        {job + "reading.new = 0.6", "f.toml:5:1: reading: due must lie on the worn side of new"},
		"no limit":         {job + "reading.fleet_stop = 0", "reading: due, stop and fleet_stop must be above 0"},
		"no reading":       {"[[job]]\nkind = \"ring\"\njob = \"change\"\nreading.due = 0.6", "f.toml:4:1: reading: the change job of ring goes by no reading"},
		"condemned":        {job + "then = { turns = 5 }", "f.toml:5:1: then: a part that can be measured"},
		"no count":         {job + "expect = { turns = 0 }", "f.toml:5:1: expect: names no count above 0"},
		"negative count":   {job + "expect = { turns = -3 }", "f.toml:5:1: expect: turns: must be above 0"},
		"infinite count":   {job + "expect = { turns = inf }", "f.toml:5:1: expect: turns: must be above 0"},
		"count":            {job + "expect = { miles = 3 }", "f.toml:5:12: job.miles: no such setting"},
		"event":            {"[[job]]\nkind = \"ring\"\njob = \"look\"\nafter = [\"new rider\"]", `f.toml:4:1: event "new rider": not one of`},
		"soon alone":       {"[[job]]\nkind = \"frame\"\njob = \"look\"\nsoon = { hours = 5 }", "f.toml:4:1: soon and soon_after go together"},
		"torque":           {"[[job]]\nkind = \"axles\"\njob = \"check\"\ntorque = [\"12\"]", `f.toml:4:1: torque "12": write its unit`},
		"minutes":          {job + "minutes = -1", "f.toml:5:1: minutes -1"},
		"factor":           {"[[ground]]\nkind = \"chain\"\nmud = -1", "f.toml:3:1: mud -1: not between 0 and 100"},
		"no factor":        {"[[ground]]\nkind = \"chain\"", "f.toml:1:3: changes nothing: write a factor"},
		"ground":           {"[[ground]]\nkind = \"chain\"\nsand = 2", "f.toml:3:1: ground.sand: no such setting"},
		"ground of what":   {"[[ground]]\nkind = \"mud\"\nmud = 2", `f.toml:2:1: kind "mud": not in the schedule`},
		"policy":           {"[[policy]]\ndrivetrain = \"run-out\"", `f.toml:2:1: drivetrain "run-out": not one of save-cassette, run-out-together`},
		"policy of a part": {"[[policy]]\npart = \"x\"", "f.toml:2:1: policy.part: no such setting"},
		"no policy":        {"[[policy]]\nbike = \"x\"", "f.toml:1:3: changes nothing"},
		"lead days":        {"[[policy]]\nlead_days = 4000", "f.toml:2:1: lead_days 4000"},
		"too long":         {strings.Repeat("# \n", 400_000), "too long for a file of overrides"},
	} {
		_, err := ParseOverrides([]byte(c.text), "f.toml")
		assert.ErrorContains(t, err, c.want, name)
	}
}

// override puts a file of overrides in force from a day on, as the desk does.
func (w *world) override(day float64, text string) {
	w.t.Helper()
	list, err := ParseOverrides([]byte(text), "shop.toml")
	require.NoError(w.t, err)
	for _, s := range list {
		w.next++
		s.ID, s.At = w.next, days(day)
		switch s.Scope {
		case ForBike:
			s.Key, s.Of = "", bikeID
		case ForPart:
			i := slices.IndexFunc(w.parts, func(p *PartCase) bool { return p.Part.Name == s.Key })
			require.GreaterOrEqual(w.t, i, 0, s.Key)
			s.Key, s.Of = "", w.parts[i].Part.ID
		}
		w.settings = append(w.settings, s)
	}
}

func chainAt(due, more string) string {
	return "[[job]]\nkind = \"chain\"\njob = \"change\"\nreading.due = " + due + "\n" + more + "\n"
}

func TestTheNarrowerOverrideWins(t *testing.T) {
	w := newWorld(t, 30)
	chain := w.fit("chain", days(0))
	chain.Part.Model = "Long Link 12"
	w.read(chain, 1, 0.65)
	limit := func() (float64, string) {
		f := w.judged("chain", "change")
		assert.Equal(t, f.Used >= f.Limit, f.Verdict == Due)
		return f.Limit, f.Source
	}
	type step struct {
		due, more string
		limit     float64
		source    string
	}
	steps := []step{
		{"0.55", `source = "the wholesaler"`, 0.55, "the wholesaler (shop.toml)"},
		{"0.6", `model = "long link 12"`, 0.6, "set in shop.toml"},
		{"0.7", `bike = "enduro"`, 0.7, "set in shop.toml"},
		{"0.8", `part = "chain-1"`, 0.8, "set in shop.toml"},
	}
	for _, s := range steps {
		w.override(2, chainAt(s.due, s.more))
		v, source := limit()
		assert.InDelta(t, s.limit, v, 0, s.more)
		assert.Equal(t, s.source, source)
	}
	slices.Reverse(w.settings)
	v, _ := limit()
	assert.InDelta(t, 0.8, v, 0, "in whatever order they come")
	w.override(3, chainAt("0.5", `bike = "enduro"`))
	v, _ = limit()
	assert.InDelta(t, 0.8, v, 0, "a later one does not beat a narrower one")
	w.override(4, chainAt("0.9", `part = "chain-1"`))
	v, _ = limit()
	assert.InDelta(t, 0.9, v, 0, "among equals the later")
	w.settings[len(w.settings)-1].Void = true
	v, _ = limit()
	assert.InDelta(t, 0.8, v, 0)

	back := w.settings[0]
	back.ID, back.At, back.Text = 9999, days(9), ""
	w.settings = append(w.settings, back)
	v, _ = limit()
	assert.InDelta(t, 0.5, v, 0, "without the part's, the bike's later one holds")
}

func TestOverridesOfOthersDoNotHold(t *testing.T) {
	w := newWorld(t, 30)
	chain := w.fit("chain", days(0))
	w.read(chain, 1, 0.65)
	w.override(2, chainAt("0.9", `model = "another"`)+chainAt("0.9", `bike = "enduro"`)+chainAt("0.9", `part = "chain-1"`))
	w.settings[1].Of, w.settings[2].Of = 77, 78
	w.settings = append(w.settings, Setting{Name: SettingGround, Scope: ForBook, Text: "mud"})
	f := w.judged("chain", "change")
	assert.InDelta(t, 0.5, f.Limit, 0)
	assert.Contains(t, f.Source, "common practice")
	assert.NotContains(t, strings.Join(f.Notes, ""), "override")
}

func TestOverridesOfFamiliesAndKinds(t *testing.T) {
	w := newWorld(t, 30)
	for _, k := range []string{"front-tyre", "rear-tyre"} {
		w.read(w.fit(k, days(0)), 1, 2.5)
	}
	w.override(3, "[[job]]\nkind = \"rear-tyre\"\njob = \"change\"\nreading.due = 1.5")
	w.override(4, "[[job]]\nkind = \"tyre\"\njob = \"change\"\nreading.due = 3")
	assert.Equal(t, Due, w.judged("front-tyre", "change").Verdict)
	assert.Equal(t, Fine, w.judged("rear-tyre", "change").Verdict, "the kind itself is narrower than its family")
}

func TestOverriddenCountsEventsAndAdvice(t *testing.T) {
	w := newWorld(t, 60)
	bolts := w.fit("guide-bolts", days(0))
	bolts.Part.Name = "guide-bolts-3"
	w.override(0, `
[[job]]
kind = "guide-bolts"
job = "check"
part = "guide-bolts-3"
first = { rides = 2 }
then = { hours = 10, days = 30 }
torque = ["6 Nm", "44 in·lb"]
advice = "check the three bolts"
minutes = 8
source = "printed on the guide"
[[job]]
kind = "chain"
job = "clean"
after = []
`)
	w.ride(1, Dry, hours(2))
	f := w.judged("guide-bolts", "check")
	assert.Equal(t, Fine, f.Verdict)
	assert.Equal(t, "after 2 rides, then every 10 h or 30 days, whichever comes first", f.Rule)
	assert.Equal(t, "printed on the guide (shop.toml)", f.Source)
	assert.Equal(t, "check the three bolts: 5 N·m (44 in·lb) by printed on the guide (shop.toml)", f.Advice)
	assert.InDelta(t, 44*NmPerInLb, f.Torque, 1e-9, "the lower of both makers")
	assert.Equal(t, 8, f.Minutes)
	w.ride(2, Dry, hours(2))
	assert.Equal(t, Due, w.judged("guide-bolts", "check").Verdict)
	w.signoff(bolts, 3, "check")
	bolts.SignOffs[0].Torque = 6
	f = w.judged("guide-bolts", "check")
	assert.Equal(t, Due, f.Verdict, "30 days")
	assert.Equal(t, "days", f.Unit)
	assert.Contains(t, f.Notes, "signed off on 2024-10-07 at 6 N·m (53 in·lb), above the maker's 5 N·m (44 in·lb)")

	w.fit("chain", days(0))
	w.ride(59, Wet, turns(10))
	assert.Equal(t, Fine, w.judged("chain", "clean").Verdict, "no event makes it due")
}

func TestOverriddenGroundFactors(t *testing.T) {
	w := newWorld(t, 30)
	w.fit("chain", days(0))
	w.fit("ring", days(0))
	w.ride(1, Mud, turns(1000)).ride(2, Dry, turns(1000))
	w.override(0, "[[ground]]\nkind = \"chain\"\nmud = 4\nsource = \"our clay\"")
	f := w.judged("chain", "measure")
	assert.InDelta(t, 5000, f.Used, 1e-9)
	assert.Contains(t, f.Notes, "ground factors mud 4: our clay (shop.toml)")
	assert.InDelta(t, 4000, w.judged("ring", "look").Used, 1e-9)
	e, err := Explain(w.build(), Default(), w.parts[0].Part.ID, "measure")
	require.NoError(t, err)
	assert.InDelta(t, 4, e.Counts[0].Grounds[1].Factor, 0)
	assert.InDelta(t, 3, Default().kind("chain").Factors[Mud], 0, "the shipped schedule stays")
}

func TestPolicies(t *testing.T) {
	w := newWorld(t, 30)
	chain := w.fit("chain", days(0))
	w.fit("cassette", days(0))
	w.read(chain, 1, 0.8)
	assert.Equal(t, Due, w.judged("chain", "change").Verdict)
	w.override(2, "[[policy]]\ndrivetrain = \"run-out-together\"")
	f := w.judged("chain", "change")
	assert.Equal(t, Fine, f.Verdict)
	assert.InDelta(t, 1, f.Limit, 0)
	assert.Contains(t, f.Notes, "policy run-out-together: set in shop.toml")
	assert.Contains(t, f.Advice, "chain, ring and cassette in one go")
	assert.Contains(t, w.judged("cassette", "change").Advice, "in one go")
	w.read(chain, 2, 1.0)
	assert.Equal(t, Due, w.judged("chain", "change").Verdict)
	w.bike.Fleet = true
	assert.Equal(t, Stop, w.judged("chain", "change").Verdict)
	w.bike.Fleet = false
	w.read(chain, 3, 0.8)
	w.override(4, "[[policy]]\nbike = \"enduro\"\ndrivetrain = \"save-cassette\"")
	f = w.judged("chain", "change")
	assert.Equal(t, Due, f.Verdict, "the bike's own policy")
	assert.InDelta(t, 0.5, f.Limit, 0)
	assert.NotContains(t, strings.Join(f.Notes, ""), "policy")
}

func TestLeadDaysAreAPolicy(t *testing.T) {
	w := newWorld(t, 345)
	w.fit("cable", days(0))
	assert.Equal(t, Fine, w.judged("cable", "change").Verdict, "20 days left")
	w.override(0, "[[policy]]\nlead_days = 21")
	assert.Equal(t, Order, w.judged("cable", "change").Verdict)
	assert.InDelta(t, 14, Default().LeadDays, 0)
}

func TestOverridesThatCannotBeAppliedAreSaid(t *testing.T) {
	w := newWorld(t, 30)
	pads := w.fit("rear-pads", days(0))
	w.read(pads, 1, 0.9)
	w.override(2, "[[job]]\nkind = \"pads\"\njob = \"change\"\nreading.due = 0.9\nreading.stop = 0.8")
	assert.Equal(t, Due, w.judged("rear-pads", "change").Verdict)
	w.override(3, "[[job]]\nkind = \"rear-pads\"\njob = \"change\"\nbike = \"enduro\"\nreading.due = 0.7")
	f := w.judged("rear-pads", "change")
	assert.Equal(t, Due, f.Verdict)
	assert.Contains(t, strings.Join(f.Notes, "\n"), "an override of shop.toml does not fit the wider ones and is left out: reading: stop must lie beyond due")
	w.settings = []Setting{{Name: SettingSchedule, Scope: ForBook, Text: "[[job]]\nkind = \"unknown\"", File: "new.toml"}}
	f = w.judged("rear-pads", "change")
	assert.Contains(t, f.Notes, "an override of new.toml cannot be read and is left out")
}

func TestInForceNamesTheSourceOfEveryFigure(t *testing.T) {
	w := newWorld(t, 30)
	w.fit("guide-bolts", days(0)).Part.Name = "guide-bolts-3"
	w.override(1, aFile)
	jobs := 0
	for _, k := range Default().Kinds() {
		jobs += len(k.Jobs)
	}
	shipped := InForce(nil, Default())
	require.Len(t, shipped, jobs)
	for _, l := range shipped {
		assert.NotEmpty(t, l.Rule, l.Kind)
		assert.True(t, strings.Contains(l.Source, "common practice"), "%s %s: %s", l.Kind, l.Job, l.Source)
		assert.Empty(t, l.Scope)
		assert.Equal(t, Ever, l.Since)
	}
	var over []InForceLine
	all := InForce(w.settings, Default())
	for i, l := range all {
		if l.Scope == "" {
			continue
		}
		over = append(over, l)
		assert.Equal(t, days(1), l.Since)
		assert.Equal(t, "shop.toml", l.File)
		if l.Job != "" {
			assert.Equal(t, all[i-1].Kind, l.Kind, "behind the job that it changes")
			assert.Equal(t, all[i-1].Job, l.Job)
		}
	}
	require.Len(t, over, 7)
	assert.Len(t, all, jobs+7)
	type line struct{ kind, job, rule, source, scope string }
	var got []line
	for _, l := range over {
		got = append(got, line{l.Kind, l.Job, l.Rule, l.Source, string(l.Scope)})
	}
	assert.Equal(t, []line{
		{"chain", "change", "at 0.6", "maker's manual p. 12 (shop.toml)", "bike"},
		{"chain", "", "wet × 2.5, mud × 4", "set in shop.toml", "kind"},
		{"guide-bolts", "check", "after 2 rides, then every 10 h or 30 days, whichever comes first; after no event; torque 5 N·m (44 in·lb); check the three bolts; 8 min at the stand", "printed on the guide (shop.toml)", "part"},
		{"front-pads", "change", "expected at 11 MJ of braking; at 0.8", "set in shop.toml", "model"},
		{"rear-pads", "change", "expected at 11 MJ of braking; at 0.8", "set in shop.toml", "model"},
		{"", "", "drivetrain run-out-together; parts ordered 21 days ahead", "set in shop.toml", "book"},
		{"", "", "drivetrain save-cassette", "set in shop.toml", "bike"},
	}, got)
}

func TestARuleSaysWhatDiffers(t *testing.T) {
	j, ok := Default().kind("ring").Job("change")
	require.True(t, ok)
	assert.Equal(t, "expected at 1,000,000 turns of the crank. steel: expected at 2,000,000 turns of the crank", j.Rule())
	j, _ = Default().kind("guide").Job("look")
	assert.Equal(t, "after 1 ride, then every 25 h, and after a strike and after 2 drops within 10 h", j.Rule())
}

func BenchmarkAssessWithOverrides(b *testing.B) {
	w := fullBike(&testing.T{})
	for _, p := range w.parts {
		if p.Part.Kind == "guide-bolts" {
			p.Part.Name = "guide-bolts-3"
		}
	}
	w.override(1, aFile)
	c := w.build()
	b.ReportAllocs()
	for b.Loop() {
		Assess(c, Default())
	}
}

func BenchmarkAssessWholeBike(b *testing.B) {
	c := fullBike(&testing.T{}).build()
	b.ReportAllocs()
	for b.Loop() {
		Assess(c, Default())
	}
}
