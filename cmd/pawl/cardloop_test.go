package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// loopBike is a book with a bike that was ridden for a season and never looked at.
type loopBike struct {
	*testing.T
	dir string
}

func (l loopBike) pawl(words ...string) string {
	l.Helper()
	var out bytes.Buffer
	m := quiet(&out)
	m.now = exampleNow
	m.env = func(key string) string { return map[string]string{"PAWL_BOOK": filepath.Join(l.dir, "book")}[key] }
	require.NoError(l, run(l.Context(), words, m), "%q: %s", words, out.String())
	return out.String()
}

// loopFinding is what the test reads of a finding.
type loopFinding struct {
	Part, Job, Verdict, Basis string
	Used                      *float64
}

// findings are all of the bike, by part and job.
func (l loopBike) findings() map[string]loopFinding {
	l.Helper()
	var due struct{ Findings []loopFinding }
	require.NoError(l, json.Unmarshal([]byte(l.pawl("due", "enduro", "--all", "--json")), &due))
	all := map[string]loopFinding{}
	for _, f := range due.Findings {
		all[f.Part+" "+f.Job] = f
	}
	return all
}

// asking are the findings that ask for work.
func asking(all map[string]loopFinding) (names []string) {
	for name, f := range all {
		if f.Verdict == "due" || f.Verdict == "stop" {
			names = append(names, name)
		}
	}
	return names
}

func (l loopBike) entries() []json.RawMessage {
	l.Helper()
	var history struct{ Entries []json.RawMessage }
	require.NoError(l, json.Unmarshal([]byte(l.pawl("history", "--json", "--entries", "1000")), &history))
	return history.Entries
}

// fillForm fills in all jobs as somebody at the stand would: done, with a torque
// where one is asked for, a look that finds the part good, and readings of parts
// that are hardly worn.
func fillForm(form string) (filled string, jobs int) {
	jobs = strings.Count(form, "done = false")
	for _, line := range []struct{ old, new string }{
		{`(?m)^done = false`, `done = true`},
		{`(?m)^torque = ""`, `torque = "8 Nm"`},
		{`(?m)^look = ""`, `look = "good"`},
		{`(?m)^minutes = 0`, `minutes = 7`},
		{`(?m)^reading = ""(.*length over pitches.*)$`, `reading = "0.12%"$1`},
		{`(?m)^reading = ""(.*the (?:lining|knob).*)$`, `reading = "3.2mm"$1`},
		{`(?m)^reading = ""(.*)$`, `reading = "1.8mm"$1`},
		{`(?m)^tool = ""`, `tool = "caliper"`}, {`(?m)^by = ""`, `by = "Kim"`},
	} {
		form = regexp.MustCompile(line.old).ReplaceAllString(form, line.new)
	}
	return form, jobs
}

// A card with many jobs is printed, filled in and entered: what was asked for is
// done, in one entry of the history, and undo asks for all of it again.
func TestCardFormLoop(t *testing.T) {
	l := loopBike{t, t.TempDir()}
	l.pawl("bike", "add", "enduro", "--sheet", "trail", "--on", "2026-03-01")
	for day := range 40 {
		on := exampleNow.AddDate(0, 0, -5*(40-day)).Format("2006-01-02")
		l.pawl("ride", "add", "enduro", "--km", "40", "--climb", "900", "--hours", "4", "--on", on)
	}
	before, entries := l.findings(), l.entries()
	due := asking(before)
	require.GreaterOrEqual(t, len(due), 10, "due: %q", due)
	require.Contains(t, due, "chain-1 measure")

	form, jobs := fillForm(l.pawl("card", "enduro", "--form"))
	require.GreaterOrEqual(t, jobs, len(due))
	path := filepath.Join(l.dir, "filled.toml")
	require.NoError(t, os.WriteFile(path, []byte(form), 0o600))
	said := l.pawl("signoff", "--card", path)
	assert.Contains(t, said, fmt.Sprintf("enduro: %d jobs signed off", jobs))

	after := l.findings()
	assert.Empty(t, asking(after))
	chain := after["chain-1 change"]
	assert.Equal(t, "reading", chain.Basis, "the reading weighs")
	if assert.NotNil(t, chain.Used) {
		assert.InDelta(t, 0.12, *chain.Used, 1e-9)
	}
	assert.NotEqual(t, "reading", before["chain-1 change"].Basis)
	assert.Len(t, l.entries(), len(entries)+1, "one entry")

	l.pawl("undo")
	assert.Equal(t, before, l.findings())
	l.pawl("audit")
	t.Logf("%d due, %d on the form: %s", len(due), jobs, strings.TrimSpace(said))
}
