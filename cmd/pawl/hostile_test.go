package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hostileTexts are what somebody may type, or what a file from elsewhere may hold.
var hostileTexts = map[string]string{
	"plain":           "Kim O'Neil-Doe",
	"line breaks":     "kim\r\nBcc: x@example.org\r\n\r\nbody",
	"formula":         `=HYPERLINK("https://example.org";"x")`,
	"formula inside":  "kim;=1+1;\t@SUM(A1)",
	"other formulas":  "@x +1 -1",
	"script":          `</title></style><script>alert(1)</script><img src=x onerror=alert(1)>"'>`,
	"right to left":   "kim \u202egnp.exe\u2066\u200f\u061c kim",
	"nul and escape":  "kim\x00b\x1b[31mc\u009b2Jd\x7fe",
	"bad bytes":       "kim\xff\xfe\xc3(",
	"toml":            "kim\"\"\"\ndone = true\n[[job]] # \\u0000",
	"calendar":        "kim\\n;,\r\nEND:VEVENT\r\nBEGIN:VALARM",
	"encoded word":    "=?utf-8?q?a=0D=0ABcc:_x=40example.org?=",
	"lines of others": "kim\u2028\u2029\u0085end",
	"long":            "kim " + strings.Repeat("0123456789", 1000),
	"long words":      strings.Repeat("自転車 ", 900),
	"marks":           "o" + strings.Repeat("\u0308", 5000),
}

// victim is a book in which a text stands wherever one can be typed.
type victim struct {
	*testing.T
	dir, bike, person, part string
}

// pawl runs a command on a terminal of 80 columns, and looks at what it says.
func (v *victim) pawl(words ...string) (string, error) {
	v.Helper()
	var out, talk bytes.Buffer
	m := quiet(&out)
	m.err, m.now = &talk, exampleNow
	m.terminal = func(io.Writer) (int, bool) { return 80, true }
	m.env = func(key string) string {
		return map[string]string{"PAWL_BOOK": filepath.Join(v.dir, "book"), "PAWL_CONFIG": filepath.Join(v.dir, "pawl.toml"), "NO_COLOR": "1"}[key]
	}
	err := run(v.Context(), words, m)
	if err != nil {
		exitCode(err, &talk)
	}
	harmless(v.T, fmt.Sprintf("what %.3s says", words), talk.String())
	return out.String(), err
}

// enters runs a command that must go well.
func (v *victim) enters(words ...string) {
	v.Helper()
	out, err := v.pawl(words...)
	require.NoError(v, err, "%.60q", words)
	harmless(v.T, fmt.Sprintf("%.3s", words), out)
}

// named runs a command that gives something a name: the text, or where that is
// refused, as it must be in one line with a hint, a harmless one.
func (v *victim) named(text, instead string, words func(name string) []string) string {
	v.Helper()
	_, err := v.pawl(words(text)...)
	if err == nil {
		return strings.TrimSpace(strings.ToValidUTF8(text, "\uFFFD"))
	}
	var hinted interface{ Hint() string }
	require.ErrorAs(v, err, &hinted)
	v.enters(words(instead)...)
	return instead
}

// newVictim enters a text wherever one can be typed.
func newVictim(t *testing.T, text string) *victim {
	v := &victim{T: t, dir: t.TempDir()}
	shop := text
	if strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r >= 0x7f && r < 0xa0 || r == '\uFFFD' }) {
		shop = "hut" // a config with such a name is refused
	}
	config := fmt.Sprintf("[shop]\nname = '''%s'''\nfrom = \"hut@example.org\"\n", strings.ReplaceAll(shop, "'''", ""))
	require.NoError(t, os.WriteFile(filepath.Join(v.dir, "pawl.toml"), []byte(config), 0o600))
	v.bike = v.named(text, "bike", func(name string) []string {
		return []string{"bike", "add", "--sheet", "trail", "--on", "2026-05-01", "--note", text, "--", name}
	})
	v.person = v.named(text, "kim", func(name string) []string {
		return []string{"person", "add", "--email", "kim@example.org", "--consent", "at the counter", "--note", text, "--bike", v.bike, "--", name}
	})
	v.enters("person", "change", "kim@example.org", "--consent", text+".")
	v.part = v.named(text, "link", func(name string) []string {
		return []string{"fit", "--name", name, "--model", text, "--old", "worn", "--on", "2026-06-01", "--", v.bike, "chain"}
	})
	v.works(text)
	return v
}

// works enters rides, readings, looks, sign-offs and plans.
func (v *victim) works(text string) {
	v.Helper()
	for day := 1; day <= 28; day += 3 {
		v.enters("ride", "add", "--km", "80", "--climb", "1500", "--hours", "7", "--on", fmt.Sprintf("2026-10-%02d", day), "--title", text, "--", v.bike)
	}
	v.enters("measure", "--tool", "ruler", "--note", text, "--on", "2026-10-30", "--", v.bike, "chain", "0.55%")
	v.enters("look", "--note", text, "--by", text, "--", v.bike, "guide", "unsafe")
	v.enters("look", "--note", text, "--", v.bike, "frame", "watch")
	v.enters("signoff", "--note", text, "--by", text, "--", v.bike, "chain:clean")
	v.enters("signoff", "--declined", "--note", text, "--by", text, "--", v.bike, "fork:lowers")
	v.enters("bike", "note", "--strike", "--part", "frame", "--note", text, "--", v.bike)
	v.enters("visit", "--note", text, "--", v.bike, "2026-11-24")
}

// TestHostileTexts types them wherever a text can be typed, and reads all that pawl
// says of it with other programs' readers.
func TestHostileTexts(t *testing.T) {
	for what, text := range hostileTexts {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			v := newVictim(t, text)
			v.looks()
			v.card()
			v.calendar()
			v.mail()
			out, err := v.pawl("audit")
			require.NoError(t, err, out)
		})
	}
}

// looks runs all commands that show something, in each form.
func (v *victim) looks() {
	v.Helper()
	for _, l := range []struct {
		words []string
		forms string // beside that of a terminal
	}{
		{[]string{"person", "list"}, "json csv"}, {[]string{"remind"}, "json csv"}, {[]string{"visit", "list"}, "json csv"},
		{[]string{"bike", "list"}, "json csv"}, {[]string{"bike", "show", v.bike}, "json"}, {[]string{"part", "list", v.bike}, "json csv"},
		{[]string{"part", "show", v.part}, "json"}, {[]string{"due"}, "json csv"}, {[]string{"due", "--all", v.bike}, "json csv"},
		{[]string{"ride", "list"}, "json csv"}, {[]string{"why", v.bike, v.part}, "json"}, {[]string{"why", v.bike, "guide"}, "json"},
		{[]string{"why", v.bike, "frame"}, "json"}, {[]string{"history"}, "json csv"}, {[]string{"setup", v.bike}, "json"},
		{[]string{"part-life"}, "json csv"}, {[]string{"cogs", v.bike}, "json"}, {[]string{"rings", v.bike}, "json"},
	} {
		out, err := v.pawl(l.words...)
		require.NoError(v, err, "%.60q", l.words)
		name := strings.Join(l.words[:1], " ")
		harmless(v.T, name, out)
		assert.NotEmpty(v, out, name)
		if name != "history" { // one line an entry
			narrow(v.T, name, out, 80)
		}
		for form := range strings.FieldsSeq(l.forms) {
			out, err := v.pawl(append(slices.Clone(l.words), "--"+form)...)
			require.NoError(v, err, "%.60q", l.words)
			map[string]func(*testing.T, string, string){"json": readJSON, "csv": readCSV}[form](v.T, name+" --"+form, out)
		}
	}
}

// card reads the card and its form.
func (v *victim) card() {
	v.Helper()
	page, err := v.pawl("card", v.bike)
	require.NoError(v, err)
	readPage(v.T, "card", page)
	form, err := v.pawl("card", "--form", "--", v.bike)
	require.NoError(v, err)
	harmless(v.T, "form", form)
	read := readForm(v.T, form)
	assert.Equal(v, v.bike, read.Bike, "the form names the bike as it is")
	for _, j := range read.Jobs {
		assert.False(v, j.Done || j.Declined, "nothing is filled in")
	}
}

// calendar reads the calendar of what is due.
func (v *victim) calendar() {
	v.Helper()
	path := filepath.Join(v.dir, "due.ics")
	v.enters("due", "--ics", path)
	data, err := os.ReadFile(path)
	require.NoError(v, err)
	readCalendar(v.T, "calendar", string(data))
}

// mail reads the messages that are written.
func (v *victim) mail() {
	v.Helper()
	dir := filepath.Join(v.dir, "out")
	v.enters("remind", "--to-dir", dir)
	files, err := os.ReadDir(dir)
	require.NoError(v, err)
	kinds := map[string]int{}
	for _, f := range files {
		data, err := os.ReadFile(filepath.Join(dir, f.Name()))
		require.NoError(v, err)
		kinds[filepath.Ext(f.Name())]++
		switch filepath.Ext(f.Name()) {
		case ".eml":
			readMail(v.T, f.Name(), string(data))
		case ".ics":
			readCalendar(v.T, f.Name(), string(data))
		}
	}
	assert.Equal(v, map[string]int{".eml": 1, ".ics": 1}, kinds)
	for _, form := range []string{"--json", "--csv"} {
		out, err := v.pawl("remind", "--status", form)
		require.NoError(v, err)
		map[string]func(*testing.T, string, string){"--json": readJSON, "--csv": readCSV}[form](v.T, "status "+form, out)
	}
	out, err := v.pawl("remind", "--status")
	require.NoError(v, err)
	harmless(v.T, "status", out)
	narrow(v.T, "status", out, 80)
}
