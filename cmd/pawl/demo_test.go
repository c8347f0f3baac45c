package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// quiet is a machine without a terminal at the scripts' time.
func quiet(out *bytes.Buffer) machine {
	m := system()
	m.out, m.err, m.now = out, out, scriptTime("")
	m.env = func(string) string { return "" }
	return m
}

// pawl runs a command in this process and returns what it prints.
func pawl(t testing.TB, words ...string) string {
	t.Helper()
	var out bytes.Buffer
	err := run(context.Background(), words, quiet(&out))
	var status statusError
	if err != nil {
		require.ErrorAs(t, err, &status, "pawl %s: %s", strings.Join(words, " "), out.String())
	}
	return out.String()
}

// The same facts say the same in every time zone and at every run: other
// programs of this test make the demo under other zones.
func TestSameAnswerInEveryZone(t *testing.T) {
	link := pawlProgram(t)
	var answers []string
	for _, zone := range []string{"UTC", "Asia/Kolkata", "America/St_Johns"} {
		dir := filepath.Join(t.TempDir(), "demo")
		cmd := exec.Command(link, "demo", "--dir", dir)
		cmd.Env = append(os.Environ(), "TZ="+zone, "PAWL_BOOK=", "NO_COLOR=1")
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, string(out))
		answers = append(answers, strings.ReplaceAll(string(out), dir, "DIR"))
	}
	assert.Contains(t, answers[0], "STOP: do not ride")
	assert.Equal(t, answers[0], answers[1])
	assert.Equal(t, answers[0], answers[2])
}

// What the demo is to show to somebody who has never seen pawl.
func TestDemoShowsEachVerdict(t *testing.T) {
	book := demoBook(t)
	var due struct {
		Version  int
		Today    string
		Findings []struct {
			Bike, Kind, Job, Verdict, Basis, Data, Advice, Source string
			Share                                                 float64
			Left                                                  struct{ P10, P50, P90 *float64 }
			Date                                                  struct{ P10, P50, P90 *string }
		}
	}
	require.NoError(t, json.Unmarshal([]byte(pawl(t, "--book", book, "due", "--all", "--json", "--today", "2026-10-24")), &due))
	assert.Equal(t, "2026-10-24", due.Today)
	found, ranges := map[string]string{}, 0
	for _, f := range due.Findings {
		found[f.Bike+" "+f.Kind+" "+f.Job] = f.Verdict
		assert.NotEmpty(t, f.Source, "%s %s", f.Kind, f.Job)
		assert.NotEmpty(t, f.Advice, "%s %s", f.Kind, f.Job)
		if f.Left.P10 != nil && f.Left.P90 != nil {
			ranges++
			assert.LessOrEqual(t, *f.Left.P10, *f.Left.P50, "%s %s", f.Kind, f.Job)
			assert.LessOrEqual(t, *f.Left.P50, *f.Left.P90, "%s %s", f.Kind, f.Job)
		}
		if f.Date.P10 != nil && f.Date.P90 != nil {
			assert.LessOrEqual(t, *f.Date.P10, *f.Date.P50, "%s %s", f.Kind, f.Job)
			assert.LessOrEqual(t, *f.Date.P50, *f.Date.P90, "%s %s", f.Kind, f.Job)
		}
	}
	assert.NotZero(t, ranges, "a measured chain has a range")
	for what, verdict := range map[string]string{
		"hire-3 guide-bolts check": "stop",
		"coach chain change":       "due",
		"coach ring look":          "due",
		"rain chain clean":         "due",
		"rain guide-bolts check":   "due",
		"rain chain change":        "order",
		"junior chain change":      "fine",
	} {
		assert.Equal(t, verdict, found[what], what)
	}
	assert.Contains(t, pawl(t, "--book", book, "audit"), "every sum agrees with the facts")
}

// No line is wider than the terminal, at 80 and at 120 columns.
func TestNoLineIsTooWide(t *testing.T) {
	book := demoBook(t)
	for _, columns := range []string{"80", "120"} {
		for _, words := range [][]string{
			{"due", "--all"}, {"why", "coach", "chain"}, {"why", "hire-3", "guide-bolts"}, {"bike", "list"}, {"bike", "show", "rain"},
			{"part", "list"}, {"part", "show", "chain-1"}, {"ride", "list"}, {"schedule"}, {"history"}, {"audit"},
		} {
			var out bytes.Buffer
			m := quiet(&out)
			m.env = func(key string) string { return map[string]string{"COLUMNS": columns, "PAWL_BOOK": book}[key] }
			require.NoError(t, run(t.Context(), words, m), words)
			for line := range strings.Lines(out.String()) {
				assert.LessOrEqual(t, len([]rune(strings.TrimRight(line, "\n"))), map[string]int{"80": 80, "120": 120}[columns], line)
			}
		}
	}
}
