package report

import (
	"html"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// seasonReminder is a message about three bikes, one of them with nothing to do
// and one job declined, that of another bike expected in the workshop.
func seasonReminder(t *testing.T) Reminder {
	t.Helper()
	r := fullSample()
	r.Person = wear.Person{Name: "Ines Marlow"}
	r.Findings = season(t).Findings
	for i := range r.Findings {
		r.Findings[i].PartID = wear.ID(100 + i)
		if r.Findings[i].Part == "fork-1" {
			r.Findings[i].Declined = on(t, "2026-05-02 10:00")
		}
	}
	r.Visits = map[string]wear.Instant{"Hire 12": on(t, "2026-05-20 21:59"), "Wren": on(t, "2026-05-19 21:59")}
	return r
}

func shipped(t *testing.T) *Templates {
	t.Helper()
	tpl, err := ParseTemplates(nil)
	require.NoError(t, err)
	return tpl
}

func compose(t *testing.T, r Reminder) (subject, text, html string) {
	t.Helper()
	subject, text, html, err := shipped(t).Compose(r)
	require.NoError(t, err)
	return subject, text, html
}

var (
	htmlHead = regexp.MustCompile(`(?s)<head>.*</head>`)
	htmlTag  = regexp.MustCompile(`<[^>]*>`)
)

// pageWords is what of a page a person reads, without white space.
func pageWords(page string) string {
	return squeezed(html.UnescapeString(htmlTag.ReplaceAllString(htmlHead.ReplaceAllString(page, ""), " ")))
}

func squeezed(s string) string { return strings.Join(strings.Fields(s), "") }

func TestReminderGolden(t *testing.T) {
	subject, text, page := compose(t, seasonReminder(t))
	narrow(t, text, 60)
	assert.Equal(t, "Kestrel 3: do not ride", subject)
	golden(t, "remind.txt", text)
	golden(t, "remind.html", page)

	_, text, _ = compose(t, sampleReminders()[3])
	golden(t, "remind-spare.txt", text)
}

func TestTextAndHTMLSayTheSame(t *testing.T) {
	for _, r := range append(sampleReminders(), seasonReminder(t)) {
		subject, text, page := compose(t, r)
		assert.Equal(t, squeezed(text), pageWords(page))
		assert.Contains(t, page, "<title>"+subject+"</title>")
		narrow(t, text, 60)
	}
}

func TestReminderSaysWhatItMust(t *testing.T) {
	_, text, _ := compose(t, seasonReminder(t))
	text = strings.Join(strings.Fields(text), " ")
	last := -1
	for _, want := range []string{
		"Hello Ines Marlow,",
		"Kestrel 3 ■ STOP: do not ride – guide-bolts-1: check the torque of the guide bolts Why: The first check after the fit is missed by 5.2 h of riding (10.2 of 5 h).",
		"What clears the stop: Check the guide bolts and sign it off with the torque. The maker's manual wins; if in doubt, ask a qualified mechanic.",
		"Caution – torque: the maker's figure",
		"▲ due – chain-1: clean and lube the chain Why: 31,240 of 25,000 turns, estimated.",
		"Caution as for guide-bolts-1.",
		"Hire 12 It is expected in the workshop on 20 May.",
		"◆ order part – rear-pads-4: change the rear pads Why: Reads 1.25 mm, limit 1 mm. Expected: about the week of 25 May. To order: rear pads.",
		"Plover Offered and declined on 2 May 2026 – fork-1: service the lowers of the fork",
		"Wren is expected in the workshop on 19 May.",
		wear.Caution + ".",
		"Mill Lane Cycles 1 Mill Lane, Exampleton Phone: 000 0000",
		"open https://shop.example.org/stop or write to stop@example.org.",
	} {
		at := strings.Index(text, want)
		assert.Greater(t, at, last, "%q comes too early or not at all", want)
		last = at
	}
	for _, not := range []string{"sealant", "pulleys"} {
		assert.NotContains(t, text, not, "what is fine is not told")
	}
}

func TestReminderIsTheSameInAnyOrderOfBikes(t *testing.T) {
	r := seasonReminder(t)
	_, want, _ := compose(t, r)
	fs := r.Findings
	slices.SortStableFunc(fs, func(a, b wear.Finding) int { return strings.Compare(b.Bike, a.Bike) })
	_, got, _ := compose(t, r)
	assert.Equal(t, want, got)
}

func TestReminderSubject(t *testing.T) {
	f := func(bike wear.ID, name string, v wear.Verdict) wear.Finding {
		return wear.Finding{BikeID: bike, Bike: name, Part: "chain-1", Title: "change the chain", Verdict: v}
	}
	tests := []struct {
		want     string
		findings []wear.Finding
	}{
		{"Enduro: do not ride", []wear.Finding{f(2, "Plover", wear.Due), f(1, "Enduro", wear.Stop)}},
		{"2 bikes: do not ride", []wear.Finding{f(2, "Plover", wear.Stop), f(1, "Enduro", wear.Stop)}},
		{"2 bikes: 3 jobs due", []wear.Finding{f(2, "Plover", wear.Due), f(1, "Enduro", wear.Due), f(1, "Enduro", wear.Due), f(3, "Heron", wear.Order)}},
		{"Enduro: 1 job due", []wear.Finding{f(1, "Enduro", wear.Due), f(2, "Plover", wear.Order)}},
		{"Enduro: 1 part to order", []wear.Finding{f(1, "Enduro", wear.Order)}},
		{"2 bikes: 2 parts to order", []wear.Finding{f(1, "Enduro", wear.Order), f(2, "Enduro", wear.Order)}},
		{"a b: 1 job due", []wear.Finding{f(1, "a\r\nb", wear.Due)}},
		{"<b>: 1 job due", []wear.Finding{f(1, "<b>", wear.Due)}},
	}
	for _, tt := range tests {
		r := fullSample()
		r.Findings = tt.findings
		subject, _, _ := compose(t, r)
		assert.Equal(t, tt.want, subject)
	}
}

func TestReminderUnits(t *testing.T) {
	r := fullSample()
	r.Findings = []wear.Finding{{
		BikeID: 1, Bike: "Plover", Part: "rear-tyre-1", Title: "look at the rear tyre", Verdict: wear.Due, Basis: wear.ByCount,
		Used: 1_609_344, Limit: 1_000_000, Unit: "m", Share: 1.609344, Reasons: []wear.Reason{{Text: "1,609 of 1,000 km"}},
	}}
	_, text, _ := compose(t, r)
	assert.Contains(t, text, "Why: 1,609 of 1,000 km.")
	r.Person.Imperial = true
	_, text, _ = compose(t, r)
	assert.Contains(t, text, "Why: 1,000 of 621 mi.", "a mile is 1,609.344 m (international yard, 1959)")
	assert.NotContains(t, text, "km")
}

func TestReminderGrounds(t *testing.T) {
	p := &duePage{today: sampleDay}
	tests := []struct {
		name, want string
		f          wear.Finding
	}{
		{"nothing known", "", wear.Finding{}},
		{"an eye", "The look says replace.", wear.Finding{Basis: wear.ByLook, Unit: "s", Limit: 5, Used: 9, Reasons: []wear.Reason{{Text: "the look says replace"}}}},
		{"only the first reason", "One (9 of 5 days).", wear.Finding{Verdict: wear.Stop, Unit: "days", Limit: 5, Used: 9, Reasons: []wear.Reason{{Text: "one"}, {Text: "two"}}}},
		{"a reason that has the figure", "9 of 5 days are over.", wear.Finding{Verdict: wear.Stop, Unit: "days", Limit: 5, Used: 9, Reasons: []wear.Reason{{Text: "9 of 5 days are over"}}}},
		{"a bound", "Reads below 0.5 %, limit 0.75 %.", wear.Finding{Basis: wear.ByReading, Unit: "%", Below: 0.5, Limit: 0.75}},
		{"estimated", "9 of 5 days, partly estimated.", wear.Finding{Verdict: wear.Due, Basis: wear.ByCount, Data: wear.DataMixed, Unit: "days", Share: 1.8, Limit: 5, Used: 9, Reasons: []wear.Reason{{Text: "x"}}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, p.grounds(&tt.f)) })
	}
}

func TestWeek(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	p := &duePage{page: page{Style: Style{Zone: zone}}, today: on(t, "2026-05-14 18:00")} // a Thursday
	tests := []struct{ name, day, want string }{
		{"today", "2026-05-14 18:00", ""},
		{"past", "2026-05-01 00:00", ""},
		{"the Sunday of this week", "2026-05-17 21:59", "about this week"},
		{"the Monday after it, by the clock of the zone", "2026-05-17 22:00", "about the week of 18 May"},
		{"a Sunday", "2026-05-24 12:00", "about the week of 18 May"},
		{"over the turn of a month", "2026-06-03 12:00", "about the week of 1 Jun"},
		{"half a year", "2026-11-10 18:00", "about the week of 9 Nov"},
		{"a day more", "2026-11-10 18:01", "about Nov 2026"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, p.week(ptr(on(t, tt.day)))) })
	}
	assert.Empty(t, p.week(nil))
}

func TestDeclinedSafetyWorkStaysAJob(t *testing.T) {
	r := fullSample()
	f := ringBolts(t)
	f.Declined = on(t, "2026-05-02 10:00")
	r.Findings = []wear.Finding{f}
	_, text, _ := compose(t, r)
	assert.Contains(t, text, "▲ due – ring-bolts-1")
	assert.Contains(t, text, "It was offered and declined on 2 May 2026.")
}

func TestComposeRefuses(t *testing.T) {
	r := fullSample()
	r.Findings = r.Findings[3:]
	require.Equal(t, wear.Fine, r.Findings[0].Verdict)
	_, _, _, err := shipped(t).Compose(r)
	require.EqualError(t, err, `reminder for "Ida": nothing to tell`)

	r = fullSample()
	r.Shop = Shop{Name: "Mill Lane Cycles", From: "nowhere", StopURL: "http://example.org"}
	_, _, _, err = shipped(t).Compose(r)
	require.EqualError(t, err, `shop "Mill Lane Cycles": gives no address, so nobody could stop its messages`)
}

func TestAPageThatWantsTheMessageIDIsLeftToTheMailProgram(t *testing.T) {
	r := fullSample()
	r.Shop.StopURL = "https://shop.example.org/stop?m={message}"
	_, text, page := compose(t, r)
	assert.Contains(t, text, "To get no more of them, write to stop@example.org.")
	assert.NotContains(t, text+page, "{message}")
}

func TestFlow(t *testing.T) {
	long := "https://example.org/" + strings.Repeat("a", 60)
	tests := []struct{ name, in, want string }{
		{"empty lines", "\n\n a\n\n \n\nb\n\n", " a\n\nb\n"},
		{"indent is kept", "  one two three", "  one two\n  three\n"},
		{"a sign hangs", "■ one two three", "■ one two\n  three\n"},
		{"a sign in an indent", "  - one two three", "  - one\n    two\n    three\n"},
		{"a word that is too long", "abcdefghijklm", "abcdefghij\nklm\n"},
		{"an address is left whole", "see " + long + ". or", "see\n" + long + ".\nor\n"},
		{"and one of mail", "to somebody@example.org.", "to\nsomebody@example.org.\n"},
		{"no end of line", "a", "a\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, flow(tt.in, 10)) })
	}
}

func TestBounded(t *testing.T) {
	assert.Equal(t, "abc", bounded("abc", 3))
	assert.Equal(t, "ab…", bounded("abcd", 3))
	joiners := bounded(strings.Repeat("\u200d", 10_000), 3)
	assert.Equal(t, strings.Repeat("\u200d", 11)+"…", joiners, "they take no columns, but room")
}

// letterFields calls f for each text or list of a letter, with its path.
func letterFields(v reflect.Value, path string, f func(path string, v reflect.Value)) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if sf := v.Type().Field(i); sf.IsExported() {
				letterFields(v.Field(i), path+"."+sf.Name, f)
			}
		}
	case reflect.Slice:
		f(path, v)
		for i := range v.Len() {
			letterFields(v.Index(i), path, f)
		}
	default:
		f(path, v)
	}
}

func TestTheFullSampleFillsEveryFieldAndTheCommentTellsOfIt(t *testing.T) {
	src, err := remindFiles.ReadFile("remind/message.txt")
	require.NoError(t, err)
	comment, _, _ := strings.Cut(string(src), "*/")
	filled := map[string]bool{}
	letterFields(reflect.ValueOf(newLetter(fullSample())), "", func(path string, v reflect.Value) {
		filled[path] = filled[path] || !v.IsZero()
	})
	assert.Greater(t, len(filled), 25)
	for path, ok := range filled {
		assert.True(t, ok, "%s is empty in all of the sample", path)
		name := path[strings.LastIndex(path, "."):]
		assert.Regexp(t, regexp.QuoteMeta(name)+`\b`, comment, path)
	}
}
