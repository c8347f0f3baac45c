package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/desk"
)

func someUnit() unitFacts {
	return unitFacts{
		Program: "/usr/local/bin/pawl", Book: "/home/kim/.local/share/pawl/pawl.book",
		Dirs: []string{"/home/kim/rides", "/run/media/kim/STICK/Garage rides"}, Args: []string{"--bike", "enduro"},
	}
}

func makeUnit(t *testing.T, u unitFacts) string {
	t.Helper()
	text, err := systemdUnit(u)
	require.NoError(t, err)
	return text
}

// The whole text; UPDATE=1 rewrites the expected one.
func TestUnitText(t *testing.T) {
	got, path := makeUnit(t, someUnit()), filepath.Join("..", "..", "testdata", "report", "pawl.service")
	if os.Getenv("UPDATE") != "" {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

// setting is what a unit sets, the last time.
func setting(t *testing.T, unit, name string) string {
	t.Helper()
	all := regexp.MustCompile(`(?m)^`+name+`=(.*)$`).FindAllStringSubmatch(unit, -1)
	require.NotEmpty(t, all, name)
	return all[len(all)-1][1]
}

// readWords reads a line as systemd.syntax(7) and systemd.unit(5) say: words
// parted by blanks, quotes round whole words, a backslash before what is meant as
// it is, "%%" for one "%". It fails for all that a unit of ours must not use.
func readWords(t *testing.T, line string) (words []string) {
	t.Helper()
	for line = strings.TrimLeft(line, " "); line != ""; line = strings.TrimLeft(line, " ") {
		var word strings.Builder
		quoted, closed := line[0] == '"', false
		rest := strings.TrimPrefix(line, `"`)
		for rest != "" && !closed && (quoted || rest[0] != ' ') {
			size := 1
			switch c := rest[0]; {
			case c == '"' && quoted:
				closed = true
			case c == '\\' || c == '%':
				require.Greater(t, len(rest), 1, line)
				require.True(t, c == '%' && rest[1] == '%' || c == '\\' && strings.ContainsRune(`\"`, rune(rest[1])), "%s at %s", line, rest)
				word.WriteByte(rest[1])
				size = 2
			default:
				require.True(t, quoted || !strings.ContainsRune(`'";`, rune(c)), line)
				word.WriteByte(c)
			}
			rest = rest[size:]
		}
		require.Equal(t, quoted, closed, line)
		require.True(t, rest == "" || rest[0] == ' ', line)
		words, line = append(words, word.String()), rest
	}
	return words
}

// hostileWords are legal in the path of a folder, and each means something to systemd.
var hostileWords = []string{
	"plain", "two words", " blanks round ", "100%", "%h", "%%n", "$HOME", "${HOME}", "$$", `back\slash`, `ends\`, `\n`, `\x41`, `"`, `"whole"`, "it's", ";", `\;`,
	"#no comment", "-minus", "+plus", "!bang", "@at", ":colon", "a:b", "~", "ümläut", "雪", "e\u0301", "{{command}}", "{{tmp}}", "*?[x]", "a=b", "'", "`id`", "|&<>",
}

// Every word comes out of the unit as it went in. That systemd 252 reads the same
// from it as readWords was seen in what its --test shows.
func TestUnitEscapes(t *testing.T) {
	for _, word := range hostileWords {
		u := unitFacts{Program: "/opt/" + strings.NewReplacer(`\`, "", `"`, "", "'", "").Replace(word) + "x/pawl", Book: "/b/" + word + "/a.book", Dirs: []string{"/r/" + word, "/" + word + "/r"}, Args: []string{"--bike", word}}
		unit := makeUnit(t, u)
		want := append([]string{":" + u.Program, "--book", u.Book, "watch", "--bike", word}, u.Dirs...)
		assert.Equal(t, want, readWords(t, setting(t, unit, "ExecStart")), word)
		assert.Equal(t, []string{filepath.Dir(u.Book)}, readWords(t, setting(t, unit, "ReadWritePaths")), word)
		assert.Equal(t, strings.Count(unitText, "\n"), strings.Count(unit, "\n")-strings.Count(unitTmp, "\n"), "no line more: %s", word)
	}
	u := someUnit()
	u.Args = []string{"--note", ""}
	assert.Contains(t, setting(t, makeUnit(t, u), "ExecStart"), ` --note "" /home`)
}

func TestUnitRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*unitFacts)
		want   string
	}{
		"a relative program":    {func(u *unitFacts) { u.Program = "pawl" }, `program "pawl": a unit needs the whole path, from / on`},
		"a relative book":       {func(u *unitFacts) { u.Book = "a.book" }, `book "a.book": a unit needs the whole path, from / on`},
		"no book":               {func(u *unitFacts) { u.Book = "" }, `book "": a unit needs the whole path, from / on`},
		"a relative folder":     {func(u *unitFacts) { u.Dirs[1] = "~/rides" }, `folder "~/rides": a unit needs the whole path, from / on`},
		"no folder":             {func(u *unitFacts) { u.Dirs = nil }, "a unit needs a folder to watch"},
		"a new line":            {func(u *unitFacts) { u.Dirs[0] = "/r\nExecStart=/bin/sh" }, `folder "/r\nExecStart=/bin/sh": a unit cannot hold a control character or what is not UTF-8`},
		"a carriage return":     {func(u *unitFacts) { u.Book = "/b/a\r.book" }, `book "/b/a\r.book": a unit cannot hold a control character or what is not UTF-8`},
		"a zero byte":           {func(u *unitFacts) { u.Program = "/p\x00" }, `program "/p\x00": a unit cannot hold a control character or what is not UTF-8`},
		"a delete character":    {func(u *unitFacts) { u.Dirs[0] = "/r\x7f" }, `folder "/r\x7f": a unit cannot hold a control character or what is not UTF-8`},
		"not UTF-8":             {func(u *unitFacts) { u.Dirs[0] = "/r\xff" }, `folder "/r\xff": a unit cannot hold a control character or what is not UTF-8`},
		"a flag with a line":    {func(u *unitFacts) { u.Args[1] = "a\nb" }, `flag "a\nb": a unit cannot hold a control character or what is not UTF-8`},
		"a quote of a program":  {func(u *unitFacts) { u.Program = "/it's/pawl" }, `program "/it's/pawl": systemd starts no program with a quote or a backslash in its path`},
		"a book in the root":    {func(u *unitFacts) { u.Book = "/a.book" }, `book "/a.book": a unit that may write into / is not closed in; give the book a folder of its own`},
		"a book in it, by dots": {func(u *unitFacts) { u.Book = "/home/../a.book" }, `book "/home/../a.book": a unit that may write into / is not closed in; give the book a folder of its own`},
	} {
		u := someUnit()
		c.change(&u)
		_, err := systemdUnit(u)
		var wrong *desk.MistakeError
		require.ErrorAs(t, err, &wrong, name)
		assert.Equal(t, c.want, wrong.Error(), name)
		assert.NotEmpty(t, wrong.Hint(), name)
	}
}

// A private /tmp would hide the folder that is to be watched.
func TestUnitSparesTmp(t *testing.T) {
	for path, hidden := range map[string]bool{
		"/tmp": true, "/tmp/rides": true, "/var/tmp/x": true, "/home/../tmp/x": true,
		"/tmpfiles": false, "/home/tmp/rides": false, "/var/tmp2": false,
	} {
		u := someUnit()
		u.Dirs[1] = path
		assert.Equal(t, !hidden, strings.Contains(makeUnit(t, u), "\nPrivateTmp=yes\n"), path)
	}
}

// analyze runs systemd-analyze on a unit as a user's systemd would read it.
func analyze(t *testing.T, unit string, args ...string) string {
	t.Helper()
	program, err := exec.LookPath("systemd-analyze")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("systemd-analyze is not installed")
		}
		t.Skip("systemd-analyze is not installed")
	}
	path := filepath.Join(t.TempDir(), "pawl.service")
	require.NoError(t, os.WriteFile(path, []byte(unit), 0o600))
	cmd := exec.Command(program, append(args, path)...)
	cmd.Env = append(os.Environ(), "XDG_RUNTIME_DIR="+t.TempDir(), "SYSTEMD_LOG_LEVEL=info", "SYSTEMD_PAGER=")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	return string(out)
}

// systemd-analyze verify has no word to say, also where the path of the program
// means something to systemd: it looks for the program itself.
func TestUnitVerifies(t *testing.T) {
	for _, folder := range []string{"plain", "two words", "100%h", "$HOME ${x} $$", ";", "ümläut 雪", "-a:b"} {
		u := someUnit()
		u.Program = filepath.Join(t.TempDir(), folder, "pawl")
		u.Book, u.Dirs = "/b/"+folder+"/a.book", append(u.Dirs, "/r/"+folder)
		require.NoError(t, os.Mkdir(filepath.Dir(u.Program), 0o755))
		require.NoError(t, os.WriteFile(u.Program, []byte("#!/bin/sh\n"), 0o755))
		assert.Empty(t, analyze(t, makeUnit(t, u), "verify", "--user"), folder)
	}
}

// maxExposure is a little above what systemd 252 was seen to give (1.0, of 10 for a unit that
// shuts nothing in): others weigh some settings otherwise.
const maxExposure = 1.5

func TestUnitIsShutIn(t *testing.T) {
	out := analyze(t, makeUnit(t, someUnit()), "security", "--user", "--offline=true", "--no-pager")
	found := regexp.MustCompile(`exposure level for pawl\.service: ([0-9.]+)`).FindStringSubmatch(out)
	require.NotNil(t, found, out)
	exposure, err := strconv.ParseFloat(found[1], 64)
	require.NoError(t, err)
	assert.LessOrEqual(t, exposure, maxExposure, out)
}
