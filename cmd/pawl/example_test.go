package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// exampleNow is when the examples are typed: after every fact in them, before the
// end of what they release.
var exampleNow = time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC)

// The names of rides in the examples, which stand for rides of the yard: one of
// no bike yet, one of enduro, and a twin of one.
const (
	homelessRide = "3fa4c09d"
	enduroRide   = "77b2e0f1"
	twinRide     = "c4770a1e"
)

// watched is how long the example of a command that runs for ever is let run.
const watched = 2 * time.Second

// yardLines enter what the examples speak of.
var yardLines = []string{
	`pawl bike add enduro --sheet trail`,
	`pawl bike add "hire 7" --sheet trail --fleet --depot Lakeside --tags "kids large"`,
	`pawl bike add old-bike --sheet rigid`,
	`pawl import -b enduro rides`,
	`pawl import -b enduro twin.gpx`,
	`pawl import homeless.fit`,
	`pawl fit enduro rear-wheel --old shelf --on 2026-05-01`,
	`pawl person add "Kim Doe" --email kim@example.org --consent "form at the counter" --bike enduro`,
}

// unfurnished are the commands whose examples begin with an empty book.
var unfurnished = map[string]bool{"pawl": true, "pawl bike add": true}

// yard is a folder with the files and the book that the examples speak of.
type yard struct{ dir string }

func newYard(t *testing.T) yard {
	t.Helper()
	y := yard{t.TempDir()}
	y.files(t)
	t.Chdir(y.dir)
	for _, line := range yardLines {
		_, err := y.run(t, "furnished.book", line)
		require.NoError(t, err, line)
	}
	return y
}

// files writes the files that the examples name.
func (y yard) files(t *testing.T) {
	t.Helper()
	ride := func(month time.Month, day int) *rig.Ride {
		return rig.Make(rig.Spec{Seed: uint64(month), Minutes: 40, Cadence: true, Start: time.Date(2026, month, day, 9, 0, 0, 0, time.UTC)})
	}
	sheet, err := os.ReadFile("../../wear/sheets/trail.toml")
	require.NoError(t, err)
	for name, data := range map[string][]byte{
		"rides/2026-09-12.fit":    ride(9, 12).FIT(),
		"rides/2026-11-07.gpx":    ride(11, 7).GPX(),
		"twin.gpx":                ride(9, 12).GPX(),
		"homeless.fit":            ride(10, 18).FIT(),
		"2026-10-31.fit":          ride(10, 31).FIT(),
		"track-without-times.gpx": regexp.MustCompile(`<time>[^<]*</time>`).ReplaceAll(ride(5, 17).GPX(), nil),
		"my-build.toml":           sheet,
		"pawl.toml":               []byte("[shop]\nname = \"Hut Workshop\"\nfrom = \"hut@example.org\"\n"),
		"people.csv":              []byte("name,email,consent_on,consent_how\nBo Roe,bo@example.org,2026-05-03,letter\n"),
		"bikes.csv":               []byte("name;sheet;owner;rider kg\nenduro;trail;Kim Doe;72,5\nnew one;hardtail;;\n"),
		"fleet.csv":               []byte("bike,depot,tags,price,odometer_km,chain\nhire 70,Lakeside,kids,18.50,640,Ten\nhire 71,Lakeside,,45,0,Twelve\n"),
		"filled.toml":             []byte("bike = \"enduro\"\nby = \"Kim\"\n[[job]]\npart = \"fork-1\"\njob = \"lowers\"\ndone = true\n"),
		"my-figures.toml":         []byte(sample(t, "pawl schedule read")),
	} {
		path := filepath.Join(y.dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, data, 0o600))
	}
}

// sample is the file that the help of a command shows.
func sample(t *testing.T, path string) string {
	t.Helper()
	for _, c := range allCommands() {
		if c.CommandPath() == path {
			return strings.Join(regexp.MustCompile(`(?m)^  .*$`).FindAllString(c.Long, -1), "\n")
		}
	}
	require.Fail(t, "no such command: "+path)
	return ""
}

// fresh is a yard of its own with the same book, or with an empty one.
func (y yard) fresh(t *testing.T, empty bool) yard {
	t.Helper()
	own := yard{t.TempDir()}
	require.NoError(t, os.CopyFS(own.dir, os.DirFS(y.dir)))
	if !empty {
		require.NoError(t, os.Rename(filepath.Join(own.dir, "furnished.book"), filepath.Join(own.dir, "the.book")))
		require.NoError(t, os.Rename(filepath.Join(own.dir, "furnished.book.originals"), filepath.Join(own.dir, "the.book.originals")))
	}
	t.Chdir(own.dir)
	t.Setenv("TMPDIR", own.dir)
	return own
}

// run types a line and returns what it prints on both ways out.
func (y yard) run(t *testing.T, book, line string) (string, error) {
	t.Helper()
	words := splitWords(strings.ReplaceAll(line, "~/", y.dir+"/"))
	require.Equal(t, "pawl", words[0], line)
	if raced && words[1] == "demo" { // others watch how it is made
		out, err := exec.Command(pawlProgram(t), words[1:]...).CombinedOutput()
		return string(out), err
	}
	var out bytes.Buffer
	m := quiet(&out)
	m.now = exampleNow
	m.env = func(key string) string {
		return map[string]string{"PAWL_BOOK": filepath.Join(y.dir, book), "PAWL_CONFIG": filepath.Join(y.dir, "pawl.toml"), "COLUMNS": "80"}[key]
	}
	ctx := t.Context()
	if words[1] == "watch" {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, watched)
		defer cancel()
	}
	err := run(ctx, words[1:], m)
	return out.String(), err
}

// try runs an example: what it prints must be something, and the exit code 0, or
// what due --check promises. A shell's own words behind it are left out.
func (y yard) try(t *testing.T, line string) {
	t.Helper()
	line, _, _ = strings.Cut(line, " && ")
	line, file, redirected := strings.Cut(line, " > ")
	out, err := y.run(t, "the.book", strings.TrimSpace(line))
	if strings.Contains(line, "--check") {
		if code := exitCode(err, &bytes.Buffer{}); code == exitDue || code == exitStop {
			err = nil
		}
	}
	var said bytes.Buffer
	assert.Equal(t, exitDone, exitCode(err, &said), "%s: %s", line, said.String())
	assert.NotEmpty(t, strings.TrimSpace(out), line)
	if redirected {
		assert.Regexp(t, `^(~/)?[\w./-]+$`, file, line)
	}
}

// rides are ids of the yard: one of no bike, one of enduro, a twin.
func (y yard) rides(t *testing.T) *strings.Replacer {
	t.Helper()
	out, err := y.run(t, "furnished.book", "pawl ride list --json")
	require.NoError(t, err)
	var list struct {
		Rides []struct {
			ID, State string
			Bike      *string
		}
	}
	require.NoError(t, json.Unmarshal([]byte(out), &list), out)
	var none, enduro, twin string
	for _, r := range list.Rides {
		switch {
		case r.Bike == nil:
			none = r.ID
		case r.State == "twin":
			twin = r.ID
		default:
			enduro = r.ID
		}
	}
	require.NotEmpty(t, none)
	require.NotEmpty(t, enduro)
	require.NotEmpty(t, twin)
	return strings.NewReplacer(homelessRide, none, enduroRide, enduro, twinRide, twin)
}

// allCommands are the commands that a user can type.
func allCommands() []*cobra.Command {
	root := newRoot(&app{machine: quiet(&bytes.Buffer{})})
	root.InitDefaultHelpCmd()
	list := []*cobra.Command{root}
	for i := 0; i < len(list); i++ {
		for _, c := range list[i].Commands() {
			if !c.Hidden {
				list = append(list, c)
			}
		}
	}
	return list
}

// Every example of every command runs as it stands, one after the other in a
// book of the command's own, and so do the commands on the pages that teach.
func TestExamplesRun(t *testing.T) {
	y := newYard(t)
	ids := y.rides(t)
	for _, c := range allCommands() {
		lines := strings.Split(c.Example, "\n")
		t.Run(c.CommandPath(), func(t *testing.T) {
			if holds(c) {
				return // its examples are those of its commands
			}
			own := y.fresh(t, unfurnished[c.CommandPath()])
			for _, line := range lines {
				if c.HasParent() || line != "  pawl demo" { // demo's own, and slow
					own.try(t, ids.Replace(line))
				}
			}
		})
	}
	for _, topic := range topics {
		page, err := topicPage(topic.name, wear.Default())
		require.NoError(t, err)
		t.Run("help "+topic.name, func(t *testing.T) {
			own := y.fresh(t, false)
			for _, line := range regexp.MustCompile(`(?m)^  pawl .*$`).FindAllString(page, -1) {
				own.try(t, ids.Replace(line))
			}
		})
	}
}

// holds reports whether a command does nothing but hold others.
func holds(c *cobra.Command) bool { return c.HasParent() && c.Use == c.Name() && c.HasSubCommands() }

// Every command has an example, and its examples are of the command itself.
func TestEveryCommandHasExamples(t *testing.T) {
	for _, c := range allCommands() {
		require.NotEmpty(t, c.Example, c.CommandPath())
		for line := range strings.SplitSeq(c.Example, "\n") {
			assert.True(t, strings.HasPrefix(line+" ", "  "+c.CommandPath()+" "), fmt.Sprintf("%s: %q", c.CommandPath(), line))
		}
	}
}
