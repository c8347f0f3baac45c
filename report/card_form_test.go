package report

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func cardForm(t *testing.T, c CardPage) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, WriteCardForm(&b, c, Style{}))
	return b.String()
}

func TestCardFormUnfilledSaysThatNothingWasDone(t *testing.T) {
	for name, c := range map[string]CardPage{
		"trail": trailCard(t), "by hand": kestrelCard(t), "nothing due": {Bike: wear.Bike{Name: "Plover"}},
	} {
		f, err := ReadCardForm([]byte(cardForm(t, c)))
		require.NoError(t, err, name)
		assert.Empty(t, f.Filled())
		want := CardForm{Bike: c.Bike.Name}
		for _, job := range c.jobs() {
			want.Jobs = append(want.Jobs, CardJob{Part: job.Part, Job: job.Job})
		}
		assert.Equal(t, want, f)
	}
}

func TestCardFormKeepsHostileNames(t *testing.T) {
	for _, name := range []string{
		"plain", `quo"te \u0041 \`, "\x00\x01\x1f\x7f", "\r\n[[job]]\r\ndone = true", "\u202eltr\u2066\ufeff\u00a0\u2028", "\U000e0041 é 山", strings.Repeat("x", 10_000), "# no comment", "'''\"\"\"",
	} {
		c := kestrelCard(t)
		c.Bike.Name, c.Findings[0].Part, c.Findings[0].Title, c.Findings[0].Clears = name, name, name, name
		text := cardForm(t, c)
		f, err := ReadCardForm([]byte(text))
		require.NoError(t, err, "%q", name)
		assert.Equal(t, name, f.Bike)
		assert.Equal(t, name, f.Jobs[0].Part)
		assert.Len(t, f.Jobs, len(c.jobs()))
		assert.Empty(t, f.Filled())
		for _, r := range "\x00\r\x7f\u202e\u2066\ufeff\u2028" {
			assert.NotContains(t, text, string(r))
		}
	}
	assert.Equal(t, "\"a\ufffdb\"", tomlString("a\xffb"), "what is no text cannot be kept")
}

func TestCardFormAsksWhatEachJobNeeds(t *testing.T) {
	f := func(kind string, act wear.Act, title string) wear.Finding {
		return wear.Finding{Kind: kind, Part: kind + "-1", Job: string(act), Act: act, Title: title, Verdict: wear.Due, Minutes: 7}
	}
	bolts := f("axles", wear.ActCheck, "check the torque of the axles")
	bolts.Torque = 12
	for _, tt := range []struct {
		of   wear.Finding
		has  []string
		lack []string
	}{
		{bolts, []string{"torque", "minutes", "cost", "note"}, []string{"reading", "tool", "look", "model"}},
		{f("chain", wear.ActMeasure, "measure"), []string{"reading", "tool"}, []string{"torque", "look", "model"}},
		{f("ring", wear.ActLook, "look"), []string{"look"}, []string{"torque", "reading", "model"}},
		{f("rear-tyre", wear.ActLook, "look"), []string{"look", "reading"}, []string{"torque", "model"}},
		{f("idler", wear.ActCheck, "check the bearing"), []string{"look"}, []string{"torque", "reading"}},
		{f("chain", wear.ActChange, "change"), []string{"model"}, []string{"torque", "look", "reading"}},
	} {
		text := cardForm(t, CardPage{Findings: []wear.Finding{tt.of}})
		for _, key := range append(tt.has, "part", "job", "done", "declined") {
			assert.Contains(t, text, "\n"+key+" = ", tt.of.Title)
		}
		for _, key := range tt.lack {
			assert.NotContains(t, text, "\n"+key+" = ", tt.of.Title)
		}
		assert.Contains(t, text, "usually 7\n")
	}
	assert.Contains(t, cardForm(t, CardPage{Findings: []wear.Finding{bolts}}), "maker's 12 N·m\n")
}

func TestCardFormFilledIn(t *testing.T) {
	text := "\ufeff" + cardForm(t, kestrelCard(t))
	for _, change := range [][2]string{
		{`by = ""`, `by = "Ada"`}, {`on = ""`, `on = "2026-05-16"`},
		{"job = \"check\"\ndone = false", "job = \"check\"\ndone = true"}, {`torque = ""`, `torque = "8 Nm"`}, {`reading = ""`, `reading = "0.41%"`}, {`tool = ""`, `tool = "caliper"`},
		{"job = \"clean\"\ndone = false      # true once it is done\ndeclined = false", "job = \"clean\"\ndeclined = true"},
	} {
		require.Contains(t, text, change[0])
		text = strings.Replace(text, change[0], change[1], 1)
	}
	f, err := ReadCardForm([]byte(strings.ReplaceAll(text, "\n", "\r\n")))
	require.NoError(t, err)
	assert.Equal(t, "Ada", f.By)
	assert.Equal(t, "2026-05-16", f.On)
	assert.Equal(t, []CardJob{
		{Part: "guide-bolts-1", Job: "check", Done: true, Torque: "8 Nm"},
		{Part: "chain-1", Job: "clean", Declined: true},
		{Part: "chain-1", Job: "measure", Reading: "0.41%", Tool: "caliper"},
	}, f.Filled())
}

func TestReadCardFormRefuses(t *testing.T) {
	job := "bike = \"B\"\n[[job]]\npart = \"axles-1\"\njob = \"check\"\n"
	for name, tt := range map[string]struct{ text, want string }{
		"no bike":          {"by = \"Ada\"\n", `bike "": say which bike the card is of`},
		"empty":            {"", `bike "": say which bike the card is of`},
		"blank bike":       {"\nbike = \" \"", `line 2, column 1: bike "": say which bike the card is of`},
		"unknown key":      {"bike = \"B\"\nbyy = \"Ada\"", `line 2, column 1: key "byy": no form has it (did you mean by?)`},
		"unknown job key":  {job + "torqe = \"8 Nm\"", `line 5, column 1: key "job.torqe": no form has it (did you mean torque?)`},
		"unknown table":    {"bike = \"B\"\n[extra]\nx = 1", `line 2, column 2: key "extra": no form has it`},
		"wrong type":       {job + "done = \"yes\"", `line 5, column 8: `},
		"minutes in half":  {job + "minutes = 2.5", `line 5, column 11: `},
		"minutes too big":  {job + "minutes = 99999999999999999999", `line 5, column 11: `},
		"date, no text":    {"bike = \"B\"\non = 2026-05-14", `line 2, column 6: `},
		"one table":        {"bike = \"B\"\n[job]\npart = \"a\"", `line 2, column`},
		"no TOML":          {"bike = \"B\"\nwell, then", `line 2, column`},
		"no text":          {"bike = \"\xff\"", `line 1, column`},
		"twice a key":      {"bike = \"B\"\nbike = \"C\"", `line 2, column`},
		"no part":          {"bike = \"B\"\n[[job]]\njob = \"check\"", `line 2, column 3: part "": say which part the job was done to`},
		"no job":           {"bike = \"B\"\n[[job]]\npart = \"axles-1\"", `line 2, column 3: job "" of part "axles-1": say which job it is`},
		"twice a job":      {job + job[len("bike = \"B\"\n"):], `line 7, column 1: job "check" of part "axles-1": it is on the form already`},
		"done, declined":   {job + "done = true\ndeclined = true", `line 6, column 1: job "check" of part "axles-1": both done and declined: one of them is false`},
		"look":             {job + "look = \"bad\"", `line 5, column 1: job "check" of part "axles-1": look "bad": not one of good, watch, replace, unsafe`},
		"minutes below":    {job + "done = true\nminutes = -1", `line 6, column 1: job "check" of part "axles-1": minutes -1: not between 0 and 1440`},
		"minutes above":    {job + "done = true\nminutes = 1441", `minutes 1441: not between 0 and 1440`},
		"torque, no unit":  {job + "done = true\ntorque = \"8\"", `line 6, column 1: job "check" of part "axles-1": torque "8": write its unit, Nm or in·lb`},
		"torque, declined": {job + "declined = true\ntorque = \"8 Nm\"", `line 6, column 1: job "check" of part "axles-1": declined work has no torque`},
		"tool alone":       {job + "tool = \"ruler\"", `line 5, column 1: job "check" of part "axles-1": tool "ruler": what did it read? write the reading`},
		"torque, not done": {job + "torque = \"8 Nm\"", `line 5, column 1: job "check" of part "axles-1": torque is filled in, but neither done nor declined is true`},
		"note, not done":   {job + "note = \"stuck\"", `note is filled in, but neither done nor declined is true`},
		"cost, not done":   {job + "cost = \"1\"", `cost is filled in, but neither`},
		"model, not done":  {job + "model = \"M\"", `model is filled in, but neither`},
		"time, not done":   {job + "minutes = 3", `minutes is filled in, but neither`},
		"inline":           {"bike = \"B\"\njob = [{part = \"a\"}]", `say which job it is`},
		"too long":         {strings.Repeat("#", mostFormBytes+1), `1048577 bytes: too long for a job card`},
	} {
		t.Run(name, func(t *testing.T) {
			f, err := ReadCardForm([]byte(tt.text))
			require.ErrorContains(t, err, tt.want)
			assert.Equal(t, CardForm{}, f)
			assert.NotContains(t, err.Error(), "\n", "one line")
			assert.NotContains(t, err.Error(), "toml:")
			var at *CardFormError
			require.True(t, errors.As(err, &at))
		})
	}
}

func TestReadCardFormBounds(t *testing.T) {
	for _, minutes := range []string{"0", "1", "1440"} {
		_, err := ReadCardForm([]byte("bike = \"B\"\n[[job]]\npart = \"p\"\njob = \"j\"\ndone = true\nminutes = " + minutes))
		assert.NoError(t, err, minutes)
	}
	_, err := ReadCardForm([]byte("bike = \"B\"\n" + strings.Repeat("#", mostFormBytes-11)))
	assert.NoError(t, err)
}

func FuzzReadCardForm(f *testing.F) {
	f.Add([]byte("bike = \"B\"\n[[job]]\npart = \"p\"\njob = \"check\"\ndone = true\ntorque = \"8 Nm\"\n"))
	f.Add([]byte("\ufeffbike = 'B'\non = \"\"\njob = [{part = \"p\", job = \"j\", look = \"good\"}]"))
	f.Add([]byte("\"b\\u0069ke\" = \"B\"\n[[\"job\"]]\npart = \"p\"\n\"j\\u006fb\" = \"\""))
	f.Add([]byte("bike = 1\n[job]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		form, err := ReadCardForm(data)
		if err != nil {
			var at *CardFormError
			require.True(t, errors.As(err, &at), "%v", err)
			assert.LessOrEqual(t, at.Line, 1+strings.Count(string(data), "\n"))
			assert.Equal(t, CardForm{}, form)
			return
		}
		assert.NotEmpty(t, strings.TrimSpace(form.Bike))
		for _, j := range form.Jobs {
			assert.False(t, j.Done && j.Declined)
			assert.True(t, j.Part != "" && j.Job != "")
			assert.True(t, j.Says() || j.written() == "")
			if j.Torque != "" {
				_, err := wear.ParseTorque(j.Torque)
				assert.NoError(t, err)
			}
		}
	})
}
