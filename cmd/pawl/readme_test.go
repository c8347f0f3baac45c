package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
)

// readmeBike is whose rides the reader of README.md imports.
const readmeBike = "junior"

var consoleBlock = regexp.MustCompile("(?s)```console\n(.*?)```")

// Every `$ pawl` line of README.md runs, in order, in a folder with some rides,
// and prints what stands below it; "..." stands for anything.
func TestReadmeCommands(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	dir := t.TempDir()
	readmeRides(t, filepath.Join(dir, "rides"))
	fleet, err := os.ReadFile("../../testdata/fleet.csv")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "fleet.csv"), fleet, 0o600))
	t.Chdir(dir)
	blocks := consoleBlock.FindAllSubmatch(text, -1)
	require.NotEmpty(t, blocks)
	for _, b := range blocks {
		for _, example := range strings.Split(string(b[1]), "$ pawl ")[1:] {
			command, want, _ := strings.Cut(example, "\n")
			got := readmeRun(t, splitWords(command), filepath.Join(dir, "my.book"))
			assert.Regexp(t, pattern(want), got, "$ pawl "+command)
		}
	}
}

func readmeRides(t *testing.T, dir string) {
	t.Helper()
	require.NoError(t, os.Mkdir(dir, 0o755))
	for _, o := range rig.Season().Outings {
		if o.Bike == readmeBike {
			require.NoError(t, os.WriteFile(filepath.Join(dir, filepath.Base(o.File)), o.Bytes(), 0o600))
		}
	}
}

func readmeRun(t *testing.T, words []string, book string) string {
	t.Helper()
	var out bytes.Buffer
	m := quiet(&out)
	m.env = func(key string) string { return map[string]string{"PAWL_BOOK": book}[key] }
	err := run(t.Context(), words, m)
	assert.NoError(t, err, words)
	return out.String()
}

// splitWords splits as a shell does, as far as the README goes.
func splitWords(line string) []string {
	var words []string
	for _, m := range regexp.MustCompile(`"([^"]*)"|(\S+)`).FindAllStringSubmatch(line, -1) {
		words = append(words, m[1]+m[2])
	}
	return words
}

// pattern matches the expected output, with "..." for anything.
func pattern(want string) string {
	quoted := regexp.QuoteMeta(want)
	quoted = strings.ReplaceAll(quoted, `\.\.\.`+"\n", `(?:.*\n)*?`)
	return "^" + strings.ReplaceAll(quoted, `\.\.\.`, `.*`) + "$"
}
