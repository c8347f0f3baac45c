package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/desk"
	"pawl/store"
	"pawl/wear"
)

// tab is what the shell is offered for the last word, asked for as the scripts
// of the completion commands do.
func tab(t testing.TB, book string, words ...string) (offered []string, directive string) {
	t.Helper()
	var out, talk bytes.Buffer
	m := quiet(&out)
	m.err, m.now = &talk, exampleNow
	m.env = func(key string) string { return map[string]string{"PAWL_BOOK": book}[key] }
	require.NoError(t, run(t.Context(), append([]string{"__complete"}, words...), m), words)
	assert.Regexp(t, `^Completion ended with directive: [\w, ]+\n$`, talk.String(), "nothing but cobra's own last line is said")
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	return lines[:len(lines)-1], lines[len(lines)-1]
}

// texts are offers without what is said of them.
func texts(offered []string) []string {
	list := []string{}
	for _, o := range offered {
		text, _, _ := strings.Cut(o, "\t")
		list = append(list, text)
	}
	return list
}

func TestCompletesWordsAndFlags(t *testing.T) {
	book := filepath.Join(newYard(t).dir, "furnished.book")
	bikes := []string{"enduro", "hire 7", "old-bike"}
	grounds := []string{"dry", "dusty", "gritty", "wet", "mud", "unmarked"}
	causes := []string{"worn", "broke", "crash", "early", "lost", "sold"}
	for line, want := range map[string][]string{
		"due ?": bikes, "due enduro ?": {"hire 7", "old-bike"}, "due E?": {"enduro"}, "due x?": {},
		"bike show ?": bikes, "bike change h?": {"hire 7"}, "bike note ?": bikes, "bike hold ?": bikes, "swap ?": bikes,
		"import --bike ?": bikes, "import -b e?": {"enduro"}, "import --bike=e?": {"enduro"}, "ride mark --bike ?": bikes, "bike add new --like ?": bikes,
		"measure enduro chai?": {"chain"}, "measure enduro chain-?": {"chain-1"}, "look enduro guide?": {"guide", "guide-1", "guide-bolts"},
		"remove old-bike sho?": {}, "remove enduro sho?": {"shock"}, "part show fork-?": {"fork-1", "fork-2"},
		"fit enduro guide?": {"guide", "guide-bolts"}, "schedule brake-?": {"brake-fluid"},
		"signoff enduro chain:?":                {"chain:clean", "chain:measure", "chain:change"},
		"signoff enduro chain:clean chain:?":    {"chain:measure", "chain:change"},
		"signoff old-bike sho?":                 {},
		"why enduro guide-bolts ?":              {"check"},
		"why enduro chain-1 ?":                  {"clean", "measure", "change"},
		"look enduro ring ?":                    {"good", "watch", "replace", "unsafe"},
		"look enduro ring good ?":               {},
		"swap enduro ?":                         {"front-wheel", "rear-wheel"},
		"swap enduro rear-wheel ?":              {"rear-wheel-1"},
		"swap enduro front-wheel ?":             {},
		"fit enduro rear-wheel --part ?":        {"rear-wheel-1"},
		"bike note enduro --strike --part rin?": {"ring", "ring-bolts"},
		"import --ground ?":                     grounds,
		"ride add enduro --ground g?":           {"gritty"},
		"ride mark --ground tr?":                {"trainer"},
		"ride mark mu?":                         {"mud"},
		"fit enduro chain --old ?":              append([]string{"shelf"}, causes...),
		"remove enduro chain --cause ?":         append([]string{"shelf"}, causes...),
		"signoff enduro chain:change --cause ?": causes,
		"measure enduro chain 0.6% --tool ?":    {"ruler", "caliper"},
		"bike add new --motor ?":                {"none", "mid", "hub"},
		"bike add new --sheet ?":                {"e-trail", "hardtail", "rigid", "trail"},
		"due --units ?":                         {"metric", "imperial"},
		"rings ?":                               bikes,
		"setup ?":                               bikes,
		"setup enduro --mount i?":               {"iscg", "iscg-05"},
		"part-life cha?":                        {"chain"},
		"bike add ?":                            {},
		"due --today ?":                         {},
		"import ?":                              {},
		"help t?":                               {"tools", "torque"},
		"help bike a?":                          {"add"},
		"help due ?":                            {},
		"completion ?":                          {"bash", "fish", "powershell", "zsh"},
	} {
		words := strings.Fields(strings.TrimSuffix(line, "?"))
		if strings.HasSuffix(line, " ?") {
			words = append(words, "") // the key was pressed after a space
		}
		offered, _ := tab(t, book, words...)
		assert.ElementsMatch(t, want, texts(offered), line)
	}
	offered, _ := tab(t, book, "signoff", "hire 7", "fork:")
	assert.Equal(t, []string{"fork:lowers\tservice the fork's lowers", "fork:service\tfull service of the fork"}, offered)
}

// Files are offered where a file is meant, and nowhere else.
func TestCompletesFiles(t *testing.T) {
	const files, none = ":32", ":4" // cobra's: default and in this order, no files
	for line, want := range map[string]string{
		"import ": files, "schedule read ": files, "due --book ": files, "demo --dir ": files,
		"bike add new --sheet ": files, "due --today ": none, "import --hours ": none, "demo ": none, "audit ": none,
	} {
		words := append(strings.Fields(line), "")
		_, directive := tab(t, filepath.Join(t.TempDir(), "no.book"), words...)
		assert.Equal(t, want, directive, line)
	}
}

func TestCompletesRides(t *testing.T) {
	book := filepath.Join(newYard(t).dir, "furnished.book")
	offered, _ := tab(t, book, "ride", "show", "")
	require.Len(t, offered, 4)
	for i, about := range []string{
		"2026-11-07, .* km enduro", "2026-10-18, .* km", "2026-09-12, .* km enduro", "2026-09-12, .* km enduro",
	} {
		assert.Regexp(t, "^[0-9a-f]{24}\t"+about+"$", offered[i], "the latest first")
	}
	first := texts(offered)[0]
	again, _ := tab(t, book, "ride", "void", strings.ToUpper(first[:6]))
	assert.Equal(t, []string{first}, texts(again))
	rest, _ := tab(t, book, "ride", "mark", first, "")
	assert.Equal(t, append(texts(offered)[1:], "unmarked", "dry", "dusty", "gritty", "wet", "mud", "trainer", "rollers"), texts(rest))
}

// Every word in capitals in a use line is one that completion knows, or one that
// only the user can say.
func TestUseLinesAreKnown(t *testing.T) {
	free := []string{"READING", "DATE", "COMMAND|TOPIC", "[flags]"}
	for _, c := range allCommands() {
		for i := range strings.Fields(c.Use)[1:] {
			for _, slot := range slotsAt(c.Use, i) {
				_, fixed := fixedOffers[slot]
				_, book := bookOffers[slot]
				known := fixed || book || strings.HasPrefix(slot, "FILE") || slot == "PATH" || slot == "DIR" || strings.ToLower(slot) == slot
				assert.True(t, known || strings.Contains(strings.Join(free, " "), slot), "%s: %s", c.CommandPath(), slot)
			}
		}
	}
}

func TestSlots(t *testing.T) {
	for _, c := range []struct {
		use   string
		place int
		want  []string
	}{
		{"why BIKE PART [JOB]", 0, []string{"BIKE"}},
		{"why BIKE PART [JOB]", 2, []string{"JOB"}},
		{"why BIKE PART [JOB]", 3, nil},
		{"signoff BIKE JOB...", 7, []string{"JOB"}},
		{"mark [RIDE...] [GROUND]", 0, []string{"RIDE", "GROUND"}},
		{"mark [RIDE...] [GROUND]", 4, []string{"RIDE", "GROUND"}},
		{"audit", 0, nil},
	} {
		assert.Equal(t, c.want, slotsAt(c.use, c.place), "%s at %d", c.use, c.place)
	}
}

// Where the book is missing, damaged, of a newer program or held by another one,
// the shell is offered nothing and told nothing, and nothing comes into being.
func TestCompletionLeavesBooksAlone(t *testing.T) {
	dir := t.TempDir()
	missing := filepath.Join(dir, "folder", "no.book")
	damaged := filepath.Join(dir, "damaged.book")
	require.NoError(t, os.WriteFile(damaged, bytes.Repeat([]byte("pawl"), 9000), 0o600))
	empty := filepath.Join(dir, "empty.book")
	require.NoError(t, os.WriteFile(empty, nil, 0o600))
	for _, book := range []string{missing, damaged, empty, dir} {
		for _, words := range [][]string{{"due", ""}, {"part", "show", ""}, {"signoff", "enduro", ""}, {"ride", "show", ""}, {"swap", "enduro", "rear-wheel", ""}} {
			offered, _ := tab(t, book, words...)
			assert.Empty(t, offered, "%s %v", book, words)
		}
	}
	assert.NoDirExists(t, filepath.Dir(missing))
	info, err := os.Stat(empty)
	require.NoError(t, err)
	assert.Zero(t, info.Size())

	book := filepath.Join(newYard(t).dir, "furnished.book")
	before, err := os.ReadFile(book)
	require.NoError(t, err)
	for _, words := range [][]string{{"due", ""}, {"part", "show", ""}, {"signoff", "enduro", ""}, {"signoff", "nobody", ""}, {"ride", "show", ""}, {"why", "enduro", "nothing", ""}} {
		tab(t, book, words...)
	}
	after, err := os.ReadFile(book)
	require.NoError(t, err)
	assert.Equal(t, sha256.Sum256(before), sha256.Sum256(after), "completion changes no byte of the book")
}

func TestCompletionDoesNotWaitForAHeldBook(t *testing.T) {
	book := filepath.Join(newYard(t).dir, "furnished.book")
	held, free := make(chan struct{}), make(chan struct{})
	done := make(chan error)
	go func() {
		done <- desk.Open(book, "UTC", "test", exampleNow).Book.Update(t.Context(), func(*store.Tx) error {
			close(held)
			<-free
			return nil
		})
	}()
	<-held
	offered, _ := tab(t, book, "due", "")
	assert.Empty(t, offered)
	close(free)
	require.NoError(t, <-done)
	offered, _ = tab(t, book, "due", "")
	assert.NotEmpty(t, offered)
}

// The scripts that shells read ask this program, and hide what it says on stderr.
func TestCompletionScripts(t *testing.T) {
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		script := pawl(t, "completion", shell)
		assert.Contains(t, script, "__complete", shell)
		assert.Regexp(t, regexp.MustCompile(`2> ?/dev/null|2>&1|2>\$null`), script, shell)
	}
}

// How long a shell waits for the rides of a book of 10,000.
func BenchmarkCompleteRides(b *testing.B) {
	book := rideBook(b, 10_000)
	for b.Loop() {
		offered, _ := tab(b, book, "ride", "show", "")
		require.Len(b, offered, completeRides)
	}
}

// How long a shell waits for the jobs of a bike.
func BenchmarkCompleteJobs(b *testing.B) {
	book := rideBook(b, 1000)
	for b.Loop() {
		offered, _ := tab(b, book, "signoff", "bench", "")
		require.Greater(b, len(offered), len(wear.Causes))
	}
}

// Of thousands of names the shell gets some, and completes as far as with all.
func TestCompletesAmongThousands(t *testing.T) {
	for _, names := range []func(int) string{
		func(i int) string { return fmt.Sprintf("hire %d", i) },
		func(i int) string { return fmt.Sprintf("hire 1%05d", i) },
		func(i int) string { return []string{"a", "b", "自"}[i%3] + fmt.Sprint(i) },
	} {
		var all []desk.Offer
		for i := range 10_000 {
			all = append(all, desk.Offer{Text: names(9_999 - i), About: "bike trail"})
		}
		want := begins(all)
		words := completions(all)
		require.Len(t, words, completeMost+1)
		assert.Contains(t, words[completeMost], "100 of 10000: type more")
		some := make([]desk.Offer, completeMost)
		for i, w := range texts(words[:completeMost]) {
			some[i].Text = w
		}
		assert.Equal(t, want, begins(some))
	}
	assert.Len(t, completions(make([]desk.Offer, completeMost)), completeMost, "nothing is said where all are there")
}

// begins is what all offers begin with.
func begins(offers []desk.Offer) string {
	start := offers[0].Text
	for _, o := range offers {
		for !strings.HasPrefix(o.Text, start) {
			start = start[:len(start)-1]
		}
	}
	return start
}
