package main

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// helpOf types a command with --help.
func helpOf(t *testing.T, c *cobra.Command) string {
	t.Helper()
	return pawl(t, append(strings.Fields(c.CommandPath())[1:], "--help")...)
}

func TestHelpFitsATerminal(t *testing.T) {
	for _, c := range allCommands() {
		text := helpOf(t, c)
		assert.Contains(t, text, "Usage:\n  "+c.CommandPath(), c.CommandPath())
		fits(t, c.CommandPath(), text)
	}
}

func fits(t *testing.T, what, text string) {
	t.Helper()
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		assert.LessOrEqual(t, len([]rune(line)), helpWidth, "%s: %s", what, line)
		assert.Equal(t, strings.TrimRight(line, " "), line, "%s: a space at the end of a line", what)
	}
}

// outputOnly are flags that explain themselves.
var outputOnly = []string{"json", "csv", "today", "help"}

func TestCommandsAreDescribed(t *testing.T) {
	for _, c := range allCommands() {
		path := c.CommandPath()
		require.NotEmpty(t, c.Short, path)
		assert.LessOrEqual(t, len([]rune(c.Short)), 60, path)
		assert.False(t, strings.HasSuffix(c.Short, "."), path)
		assert.Equal(t, strings.ToUpper(c.Short[:1]), c.Short[:1], path)
		own := 0
		c.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
			assert.NotEmpty(t, f.Usage, "%s --%s", path, f.Name)
			if !strings.Contains(strings.Join(outputOnly, " "), f.Name) {
				own++
			}
		})
		words := len(strings.Fields(c.Use)) - 1
		if own >= 3 || words >= 2 {
			assert.NotEmpty(t, c.Long, "%s: has %d flags and %d words, and says no more of them than %q", path, own, words, c.Short)
		}
	}
}

func TestHelpListsCommandsAndTopics(t *testing.T) {
	text := pawl(t, "help")
	assert.Equal(t, text, pawl(t, "--help"))
	for _, c := range allCommands()[0].Commands() {
		if !c.Hidden {
			assert.Regexp(t, `(?m)^  `+c.Name()+` +`+regexp.QuoteMeta(c.Short)+`$`, text)
		}
	}
	for _, topic := range topics {
		assert.Contains(t, text, "pawl help "+topic.name+" ")
	}
	assert.Equal(t, helpOf(t, allCommands()[1]), pawl(t, "help", allCommands()[1].Name()))
	assert.Equal(t, pawl(t, "bike", "add", "--help"), pawl(t, "help", "bike", "add"))
}

func TestHelpOnNothingKnown(t *testing.T) {
	for words, want := range map[string]string{
		"nosuch":      "pawl: help \"nosuch\": neither a command nor a topic\nhint: pawl help lists them\n",
		"torqe":       "pawl: help \"torqe\": neither a command nor a topic\nhint: did you mean pawl help torque?\n",
		"mesure":      "pawl: help \"mesure\": neither a command nor a topic\nhint: did you mean pawl help measure?\n",
		"chain":       "pawl: help \"chain\": neither a command nor a topic\nhint: pawl schedule chain shows its jobs\n",
		"bike ad":     "pawl: command \"ad\": no such command of pawl bike\nhint: did you mean pawl bike add?\n",
		"wear chain":  "pawl: help \"wear\": neither a command nor a topic\nhint: did you mean pawl help wear?\n",
		"nosuch bike": "pawl: help \"nosuch\": neither a command nor a topic\nhint: pawl help lists them\n",
	} {
		var out, said bytes.Buffer
		err := run(t.Context(), append([]string{"help"}, strings.Fields(words)...), quiet(&out))
		assert.Equal(t, exitWrong, exitCode(err, &said), words)
		assert.Equal(t, want, said.String(), words)
		assert.Empty(t, out.String(), words)
	}
}

func TestTopicsAreShort(t *testing.T) {
	require.Len(t, topics, 4)
	for _, topic := range topics {
		page := pawl(t, "help", topic.name)
		fits(t, topic.name, page)
		assert.LessOrEqual(t, strings.Count(page, "\n"), 60, topic.name)
		assert.NotContains(t, page, "<no value>")
		assert.NotContains(t, page, "%!")
	}
}

// The pages take their figures from the schedule: with other figures they say others.
func TestTopicsSayTheSchedule(t *testing.T) {
	text, err := os.ReadFile("../../wear/schedule.toml")
	require.NoError(t, err)
	for _, c := range []struct{ topic, was, is, before, after string }{
		{"ground", "[ground.pads]\nunmarked = 1.5\ndry = 1.0\ndusty = 1.2\ngritty = 2.0\nwet = 2.0\nmud = 5.0", "[ground.pads]\nunmarked = 1.5\ndry = 1.0\ndusty = 1.2\ngritty = 2.0\nwet = 2.0\nmud = 7.5", " 1.2        2        2        5\n", " 1.2        2        2      7.5\n"},
		{"ground", "then = { turns = 25_000 }", "then = { turns = 31_000 }", "every 25,000 turns", "every 31,000 turns"},
		{"wear", "lead_days = 14", "lead_days = 21", "within 14 days", "within 21 days"},
		{"wear", "missed_hours = 5", "missed_hours = 6.5", "missed by 5 h", "missed by 6.5 h"},
		{"wear", "then = { MJ = 2.5 }", "then = { MJ = 2.8 }", "every 2.5 MJ", "every 2.8 MJ"},
		{"wear", "mid_motor = 2", "mid_motor = 3", "count 2 times", "count 3 times"},
		{"tools", "new = 2.0, due = 1.0, stop = 0.5", "new = 2.0, due = 1.1, stop = 0.6", "at 1 mm, stop at 0.5 mm", "at 1.1 mm, stop at 0.6 mm"},
		{"tools", "new = 0.0, due = 0.75, fleet_stop = 1.0", "new = 0.0, due = 0.8, fleet_stop = 1.0", "at 0.75 %, stop", "at 0.8 %, stop"},
		{"torque", "first = { long_rides = 1, hours = 5 }", "first = { long_rides = 1, hours = 4 }", "at the latest 5 h", "at the latest 4 h"},
		{"torque", "never mix fluids", "mix no fluids", "never mix fluids", "mix no fluids"},
	} {
		page, err := topicPage(c.topic, wear.Default())
		require.NoError(t, err)
		assert.Contains(t, page, c.before, c.topic)
		require.Contains(t, string(text), c.was)
		other, err := wear.ParseSchedule([]byte(strings.ReplaceAll(string(text), c.was, c.is)), "changed")
		require.NoError(t, err)
		page, err = topicPage(c.topic, other)
		require.NoError(t, err)
		assert.Contains(t, page, c.after, c.topic)
		assert.NotContains(t, page, c.before, c.topic)
	}
}

// What design and trade ask to be said beside the work (design: torque rule and
// promises), each in the schedule's words or the page's own.
func TestTorquePageWarns(t *testing.T) {
	page := strings.Join(strings.Fields(pawl(t, "help", "torque")), " ")
	for _, want := range []string{
		"The maker's manual wins over every figure", "qualified mechanic", "the lower wins", "N·m or in·lb", "8 N·m (71 in·lb)",
		"Threadlocked bolts are not re-torqued by routine", "in the tightening direction", "new threadlock", "witness mark",
		"Plastic (guide, slider, bash) is seated, never driven to a hard stop",
		"never mix fluids", "bed in new pads", "a firm lever before riding", "let the air out first", "dampers go to a trained shop",
		"battery comes out first", "nothing rides until it was looked at", "carbon goes to a specialist", wear.Caution,
	} {
		assert.Contains(t, page, want)
	}
}

// 24 pitches of half an inch are 304.8 mm; lengths at 0.5 and 0.75 %, and what
// 0.2 mm and 0.05 mm are, by hand.
func TestToolsPageFigures(t *testing.T) {
	page := pawl(t, "help", "tools")
	for _, want := range []string{
		"304.8 mm over 24 pitches, 127.0 mm over 10", "306.3 mm over 24 pitches, 127.6 mm over 10",
		"307.1 mm over 24 pitches, 128.0 mm over 10", "0.2 mm is 0.07 %", "0.05 mm is 0.04 %",
	} {
		assert.Contains(t, page, want)
	}
}

func TestFill(t *testing.T) {
	long := strings.Repeat("word ", 40)
	for line := range strings.Lines(fill(long)) {
		assert.LessOrEqual(t, len(line)-1, helpWidth)
		assert.Greater(t, len(line), helpWidth-6, "a line is filled")
		break
	}
	assert.Equal(t, strings.Fields(long), strings.Fields(fill(long)), "no word is lost")
	assert.Equal(t, "two lines\n\n  left   as it is\nnext\n", fill("two\nlines\n\n  left   as it is\nnext"))
	assert.Equal(t, "  a    bb cc\n       0.5 %,\n       dd\n", hang(13, "  a    ", "bb cc 0.5 %, dd"), "a figure keeps its unit")
	assert.Equal(t, "  a    toolongforit\n       b\n", hang(13, "  a    ", "toolongforit b"))
}
