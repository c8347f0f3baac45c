package main

import (
	"bytes"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// Text that cannot be meant is wrong use; a reading that the book contradicts
// fails, and what is in the book stays as it was.
func TestMeasureExitCodes(t *testing.T) {
	book := filepath.Join(t.TempDir(), "the.book")
	code := func(words ...string) int {
		var out, talk bytes.Buffer
		m := quiet(&out)
		m.err, m.now = &talk, exampleNow
		m.env = func(key string) string { return map[string]string{"PAWL_BOOK": book}[key] }
		return exitCode(run(t.Context(), words, m), &talk)
	}
	measure := func(words ...string) int { return code(append([]string{"measure", "enduro", "chain"}, words...)...) }
	assert.Equal(t, exitDone, code("bike", "add", "enduro", "--on", "2026-03-01"))
	assert.Equal(t, exitDone, measure("0.6%", "--tool", "caliper", "--on", "2026-05-01"))
	for want, list := range map[int][][]string{
		exitWrong: {
			{"worn"}, {"306.4mm"}, {"0.5%"}, {"0.62%"}, {"1.6%", "--tool", "caliper"}, {"6%", "--tool", "caliper"}, {"--tool", "caliper", "--", "-1%"},
			{"--drops-in", "0.75", "--stays-out", "0.5"}, {"-1%"}, {"0.5%", "--tool", "eye"}, {"--void", "worn", "--on", "2026-05-01"}, {"--void", "--sure"},
		},
		exitFailed: {
			{"0.1%", "--tool", "caliper", "--on", "2026-05-02"}, {"0.9%", "--tool", "caliper", "--on", "2026-04-30"},
			{"--stays-out", "0.25", "--points", "3", "--on", "2026-05-02"}, {"0.1%", "--tool", "caliper", "--on", "2026-02-01"},
			{"--void", "--on", "2026-05-02"}, {"--void", "--tool", "ruler", "--on", "2026-05-01"},
		},
	} {
		for _, words := range list {
			assert.Equal(t, want, measure(words...), "%q", words)
		}
	}
	assert.Equal(t, exitFailed, code("measure", "enduro", "chain-1", "0.1%", "--tool", "caliper", "--on", "2026-02-01"), "before it was fitted")
	assert.Equal(t, exitDone, measure("--void", "--on", "2026-05-01"), "the reading is still there, and the only one")
}

// An eye can say its four words of every kind of part, and a tool what the
// schedule has a limit for.
func TestLooksAndReadingsOfEveryKind(t *testing.T) {
	book := filepath.Join(t.TempDir(), "the.book")
	pawl := func(words ...string) (said struct{ out, talk string }, code int) {
		var out, talk bytes.Buffer
		m := quiet(&out)
		m.err, m.now = &talk, exampleNow
		m.env = func(key string) string { return map[string]string{"PAWL_BOOK": book}[key] }
		code = exitCode(run(t.Context(), words, m), &talk)
		said.out, said.talk = out.String(), talk.String()
		return said, code
	}
	_, code := pawl("bike", "add", "enduro", "--sheet", "trail")
	require.Equal(t, exitDone, code)
	figures := map[wear.ReadingOf]string{wear.Elongation: "127.3mm/10", wear.Lining: "1.5mm", wear.Thickness: "1.7mm", wear.Knob: "3mm"}
	for i, k := range wear.Default().Kinds() {
		_, _ = pawl("fit", "enduro", k.Name, "--old", "worn", "--on", "2026-05-01") // also what the sheet has not
		word := string(wear.Words[i%len(wear.Words)])
		said, code := pawl("look", "enduro", k.Name, word, "--on", "2026-05-02")
		assert.Equal(t, exitDone, code, "%s: %s", k.Name, said.talk)
		assert.Regexp(t, "^"+k.Name+`-[0-9]+: `+word+" on 2 May 2026\n$", said.out)
		figure, can := figures[k.Measurable()]
		if !can {
			figure = "3mm"
		}
		said, code = pawl("measure", "enduro", k.Name, figure, "--on", "2026-05-02")
		if can {
			assert.Equal(t, exitDone, code, "%s: %s", k.Name, said.talk)
			continue
		}
		assert.Equal(t, exitWrong, code, k.Name)
		assert.Contains(t, said.talk, "is looked at, not measured\nhint: pawl look", k.Name)
	}
}
