package report

import (
	"errors"
	"fmt"
	"iter"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/wear"
)

func TestPageOfAList(t *testing.T) {
	for _, c := range []struct {
		rows, page, all int
		from, to, last  int // last = 0: the page is there
		says            string
	}{
		{0, 0, 0, 0, 0, 0, ""},
		{0, 1, 20, 0, 20, 0, ""},
		{0, 0, 21, 0, 20, 0, "1 to 20 of 21 bikes; and 1 more: --page 2, --rows N, or --csv"},
		{0, 2, 21, 20, 21, 0, "21 to 21 of 21 bikes, the last page"},
		{0, 2, 10_000, 20, 40, 0, "21 to 40 of 10,000 bikes; and 9,960 more: --page 3, --rows N, or --csv"},
		{7, 3, 21, 14, 21, 0, "15 to 21 of 21 bikes, the last page"},
		{30, 1, 30, 0, 30, 0, ""},
		{0, 3, 40, 0, 0, 2, ""},
		{0, 2, 0, 0, 0, 1, ""},
		{1_000_000_000, 1_000_000_000, 40, 0, 0, 1, ""},
	} {
		w, err := Pages{c.rows, c.page}.window(c.all, fewRows)
		if c.last > 0 {
			var beyond *PageError
			require.True(t, errors.As(err, &beyond), "%+v", c)
			assert.Equal(t, c.last, beyond.Last, "%+v", c)
			assert.Contains(t, beyond.Hint(), fmt.Sprintf("--page %d", c.last))
			continue
		}
		require.NoError(t, err, "%+v", c)
		p := &page{Style: Style{Width: 200}}
		p.rest(w, "bike", "bikes", "--csv")
		assert.Equal(t, []any{c.from, c.to, c.says}, []any{w.from, w.to, strings.TrimSpace(p.buf.String())}, "%+v", c)
	}
}

// Read one after another, the pages are the list: nothing twice, nothing left out.
func TestPagesAreTheList(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := make([]int, rapid.IntRange(0, 300).Draw(t, "length"))
		for i := range list {
			list[i] = i
		}
		rows := rapid.IntRange(0, 40).Draw(t, "rows")
		read := []int{}
		for page := 1; ; page++ {
			part, w, err := cut(Pages{rows, page}, list, fewRows)
			require.NoError(t, err)
			read = append(read, part...)
			if w.to == len(list) {
				_, _, err := cut(Pages{rows, page + 1}, list, fewRows)
				assert.Equal(t, &PageError{page + 1, page}, err)
				break
			}
		}
		assert.Equal(t, list, read)
	})
}

// nastyName is a name that is hard to keep in its column.
func nastyName(i int) string {
	return []string{
		strings.Repeat("自転車", 20), strings.Repeat("hire bike ", 30), strings.Repeat("x", 200),
		"\x1b[2J\x1b[31mred\u202e\nnext line\t", "plain",
	}[i%5] + fmt.Sprint(i)
}

// longLists are lists of n rows with nasty text, by what their rows are called.
func longLists(t *testing.T, n int) map[string]func(*strings.Builder, Style) error {
	bikes, parts, people := make([]BikeLine, n), make([]PartLine, n), make([]PersonLine, n)
	matches, files, visits := make([]MatchLine, n), make([]RefusedLine, n), make([]VisitLine, n)
	told, sent, entries := make([]ReminderLine, n), make([]OutboxLine, n), make([]HistoryLine, n)
	jobs, rides, at := make([]JobLine, n), make([]RideLine, n), on(t, "2026-05-02 08:15")
	bike, part := someBikes(t)[0], someParts(t)[0]
	for i := range n {
		name := nastyName(i)
		bikes[i], parts[i] = bike, part
		bikes[i].Bike.Name, bikes[i].Bike.Sheet, bikes[i].Standing = name, name, wear.Held
		parts[i].Bike, parts[i].Part.Name, parts[i].Part.Model = name, nastyName(i+1), nastyName(i+2)
		people[i] = PersonLine{Person: wear.Person{Name: name, Email: nastyName(i + 1)}, Bikes: []string{nastyName(i + 2), nastyName(i + 3)}}
		matches[i] = MatchLine{ID: uint64(i), Bike: name, Says: nastyName(i + 1), From: at}
		files[i] = RefusedLine{Path: "x.fit", Why: name, Since: at, Hint: nastyName(i + 1)}
		visits[i] = VisitLine{Day: at, Owner: name, Plan: wear.VisitPlan{Bike: nastyName(i + 1), Minutes: 7, Parts: []string{nastyName(i + 2)}}, Note: nastyName(i + 3)}
		told[i] = ReminderLine{Name: name, Email: nastyName(i + 1), Findings: []wear.Finding{{Bike: nastyName(i + 2), Verdict: wear.Due}}}
		sent[i] = OutboxLine{Name: name, Message: wear.Message{At: at, Why: nastyName(i + 1)}}
		entries[i] = HistoryLine{At: at, Verb: "bike note", Target: name, Undone: i%2 == 0}
		jobs[i] = JobLine{Kind: "chain", Job: fmt.Sprint("job-", i), Rule: nastyName(i + 1), Source: nastyName(i + 2), For: name, Scope: "bike"}
		rides[i] = outings(t)[0]
		rides[i].Bike, rides[i].File = name, nastyName(i+1)
	}
	return map[string]func(*strings.Builder, Style) error{
		"bikes":                  func(w *strings.Builder, s Style) error { return Bikes(w, bikes, s) },
		"parts":                  func(w *strings.Builder, s Style) error { return Parts(w, parts, s) },
		"people":                 func(w *strings.Builder, s Style) error { return People(w, people, at, s) },
		"matches":                func(w *strings.Builder, s Style) error { return Matches(w, matches, s) },
		"files":                  func(w *strings.Builder, s Style) error { return RefusedFiles(w, files, s) },
		"visits":                 func(w *strings.Builder, s Style) error { return Visits(w, visits, s) },
		"messages":               func(w *strings.Builder, s Style) error { return Reminders(w, told, s) },
		"messages of the outbox": func(w *strings.Builder, s Style) error { return Outbox(w, sent, s) },
		"entries":                func(w *strings.Builder, s Style) error { return History(w, entries, s) },
		"jobs":                   func(w *strings.Builder, s Style) error { return Schedule(w, jobs, s) },
		"rides":                  func(w *strings.Builder, s Style) error { return Rides(w, listed(rides), s) },
	}
}

func listed(rides []RideLine) iter.Seq2[RideLine, error] {
	return func(yield func(RideLine, error) bool) {
		for _, r := range rides {
			if !yield(r, nil) {
				return
			}
		}
	}
}

func TestEveryListIsReadPageByPage(t *testing.T) {
	for name, write := range longLists(t, 412) {
		noun, _, _ := strings.Cut(name, " ")
		for _, s := range []Style{{}, {Width: 120}, {Width: 40, Imperial: true}, {Width: 80, Imperial: true, Colour: true}} {
			s.Pages = Pages{Rows: 7, Page: 3}
			var page strings.Builder
			require.NoError(t, write(&page, s), name)
			lines := strings.Split(strings.TrimRight(page.String(), "\n"), "\n")
			for _, l := range lines {
				assert.LessOrEqual(t, width(l), s.width(), "%s: %q", name, l)
			}
			last := strings.Join(strings.Fields(page.String()), " ")
			assert.Contains(t, last, "15 to 21 of 412 "+noun+"; and 391 more: --page 4, --rows N, or --csv", name)
			assert.Less(t, len(lines), 7*25, "%s: as many lines as seven rows take", name)
		}
		var page strings.Builder
		var beyond *PageError
		err := write(&page, Style{Pages: Pages{Rows: 7, Page: 60}})
		require.True(t, errors.As(err, &beyond), "%s: %v", name, err)
		assert.Equal(t, 59, beyond.Last, name)
		assert.Empty(t, page.String(), name)
	}
}

func TestAListThatFitsHasNoPages(t *testing.T) {
	for name, write := range longLists(t, 20) {
		var page strings.Builder
		require.NoError(t, write(&page, Style{}), name)
		assert.NotContains(t, page.String(), "--page", name)
	}
}

func TestTotalsAreOfTheWholeList(t *testing.T) {
	for name, want := range map[string]string{
		"people": "412 people, 0 may be written to", "visits": "412 visits, about 2,884 minutes of known work ahead",
		"messages": "412 messages to send", "rides": "412 counted rides", "files": "412 files not taken",
	} {
		var page strings.Builder
		require.NoError(t, longLists(t, 412)[name](&page, Style{}), name)
		assert.Contains(t, page.String(), want)
	}
}

func TestImportOfManyFilesCanBeRead(t *testing.T) {
	list := Import{Files: make([]ImportedFile, 10_000)}
	for i := range list.Files {
		list.Files[i] = ImportedFile{File: fmt.Sprintf("rides/%d.fit", i), Outcome: Refused, Why: nastyName(i), Hint: "look"}
	}
	for i := range 1419 {
		list.Files[0].Wrong = append(list.Files[0].Wrong, fmt.Sprintf("rides/0.fit: line %d: no date", i))
	}
	var page strings.Builder
	require.NoError(t, ImportSummary(&page, list, Style{}))
	lines := strings.Split(page.String(), "\n")
	assert.Less(t, len(lines), 1000)
	for _, l := range lines {
		assert.LessOrEqual(t, width(l), usualWidth, "%q", l)
	}
	assert.Contains(t, page.String(), "and 1,319 more rows of rides/0.fit, which --json has\n")
	assert.Contains(t, page.String(), "rides/99.fit: ")
	assert.NotContains(t, page.String(), "rides/100.fit: ")
	assert.Contains(t, strings.Join(strings.Fields(page.String()), " "),
		"and 9,900 more files not simply taken: pawl ride list --refused, or --json took 0 rides from 0 files, 10,000 refused")
}

func TestALongPastIsCut(t *testing.T) {
	d := partPage(t)
	stay, look := d.Stays[0], d.Looks[0]
	d.Readings, d.SignOffs, d.Stays, d.Looks = nil, nil, nil, nil
	for i := range 300 {
		stay.Bike, look.Note = nastyName(i), fmt.Sprintf("look %d", i)
		look.At += wear.Day
		d.Stays, d.Looks = append(d.Stays, stay), append(d.Looks, look)
	}
	var page strings.Builder
	require.NoError(t, Part(&page, d, Style{}))
	assert.Contains(t, page.String(), "after 280 earlier ones, which --json has")
	assert.Contains(t, page.String(), "after 200 earlier ones, which --json has")
	assert.NotContains(t, page.String(), "look 199")
	assert.Contains(t, page.String(), "look 200")
	assert.Contains(t, page.String(), "look 299")
	for l := range strings.SplitSeq(page.String(), "\n") {
		assert.LessOrEqual(t, width(l), usualWidth, "%q", l)
	}
}
