package report

import (
	"maps"
	"net/mail"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// hostile are texts that somebody may have typed, or a file may have held.
var hostile = map[string]string{
	"line breaks":     "a\r\nBcc: x@example.org\r\n\r\nbody\rc\nd",
	"formula":         "=HYPERLINK(\"https://example.org\")",
	"at":              "@import x@example.org <y@example.org>, z",
	"script":          "</h3></title></style><script>alert(1)</script><img src=x onerror=alert(1)>\"'>",
	"right to left":   "\u202egnp.exe\u2066\u2069\u200f\u061c",
	"nul and escape":  "a\x00b\x1b[31mc\u009bd\x7f",
	"bad bytes":       "a\xff\xfe\xc3(\xed\xa0\x80",
	"long":            strings.Repeat("0123456789", 1000),
	"long words":      strings.Repeat("自転車 ", 3000),
	"joiners":         strings.Repeat("\u200d", 10_000),
	"marks":           "o" + strings.Repeat("\u0308", 10_000),
	"encoded word":    "=?utf-8?q?a=0D=0ABcc:_x=40example.org?= =?utf-8?b?AA==?=",
	"template":        "{{.Name}}{{/*",
	"calendar":        "a\\nb;c,d\nEND:VEVENT\r\nBEGIN:VALARM:\\",
	"boundary":        "--boundary--\r\n.\r\n",
	"tags and spaces": "\U000e0041\u2028\u2029\u00ad\ufeff\t  ",
	"entities":        "&lt;script&gt; &#x202e; &amp;",
	"joined emoji":    "\U0001f469\u200d\U0001f527",
	"bad and beyond":  "\xf0\u01af\x00Bt\u200d\U0001f527", // found by fuzzing
	"empty":           "",
}

// reminderOf has the text in every place where one from outside can come.
func reminderOf(text string) Reminder {
	r := fullSample()
	r.Person.Name = text
	r.Shop.Name, r.Shop.Address, r.Shop.Phone = text, text, text
	for i := range r.Findings {
		f := &r.Findings[i]
		f.Bike, f.Part, f.Kind, f.Job, f.Title, f.Unit = text, text, text, text, text, text
		f.Advice, f.Clears, f.Caution = text, text, text
		f.PartID = wear.ID(i + 1)
		f.Reasons = []wear.Reason{{Text: text}}
	}
	r.Visits = map[string]wear.Instant{text: sampleDay + wear.Day, text + " 2": sampleDay + wear.Day}
	return r
}

// harmless fails for a letter that a reader would not see as it is: anything
// but joiners, emoji and their like of what Unicode calls control or format.
func harmless(t *testing.T, what, s string) {
	t.Helper()
	if !utf8.ValidString(s) {
		assert.Fail(t, "bad bytes", "%s: %q", what, s)
	}
	for _, r := range strings.ReplaceAll(s, "\r\n", "\n") {
		bad := r != '\n' && r < ' ' || r >= 0x7f && r < 0xa0 || unicode.Is(unicode.Bidi_Control, r) ||
			unicode.Is(unicode.Cf, r) && r != '\u200c' && r != '\u200d' || r == '\u2028' || r == '\u2029'
		if bad {
			assert.Fail(t, "a letter that is not seen", "%s: %U in %.200q", what, r, s)
			return
		}
	}
}

// sendHostile puts text into a reminder and checks all that is made of it
// against what a harmless one makes.
func sendHostile(t *testing.T, tpl *Templates, text string) {
	t.Helper()
	r := reminderOf(text)
	subject, plain, page, err := tpl.Compose(r)
	require.NoError(t, err)
	harmless(t, "subject", subject)
	assert.NotContains(t, subject, "\n")
	assert.LessOrEqual(t, width(subject), longSubject)
	harmless(t, "text", plain)
	harmless(t, "page", page)
	assert.LessOrEqual(t, len(page), 200_000, "of 40 texts of 10,000 letters")
	assert.Equal(t, squeezed(plain), pageWords(page))
	for line := range strings.Lines(plain) {
		assert.LessOrEqual(t, width(strings.TrimSuffix(line, "\n")), mailWidth, "%q", line)
	}
	calmSubject, _, calm, err := tpl.Compose(reminderOf("calm"))
	require.NoError(t, err)
	require.NotEmpty(t, calmSubject)
	if bounded(text, longName) != "" && bounded(text, longName) != bounded(text+" 2", longName) { // else some lines are left out
		assert.Equal(t, countTags(calm), countTags(page), "no markup comes from a name")
	}
	assert.NotContains(t, page, "<script")
	assert.NotContains(t, page, "<img")

	cal := calendarOf(t, r.Findings, CalendarOptions{Name: text, Now: sampleDay.Time()})
	harmless(t, "calendar", cal)
	assert.Len(t, happenings(t, cal), 3)
	assert.Equal(t, 3, strings.Count(cal, "\r\nEND:VEVENT\r\n"))

	m := wear.Message{MessageID: "1@pawl.invalid", To: "ida@example.org", Subject: subject, Text: plain, HTML: page, Calendar: cal}
	raw := eml(t, m, r.Shop)
	wire(t, raw)
	box := opened(t, raw)
	assert.Equal(t, headerNames, slices.Sorted(maps.Keys(box.header)), "no header comes from a name")
	assert.Equal(t, []string{crlf(plain), crlf(page), cal}, []string{box.text, box.page, box.calendar})
	harmless(t, "subject as read", box.subject)
	from, err := mail.ParseAddress(box.header.Get("From"))
	require.NoError(t, err)
	assert.Equal(t, "shop@example.org", from.Address)
	harmless(t, "sender as read", from.Name)
}

// countTags counts the tags of a page.
func countTags(page string) map[string]int {
	n := map[string]int{}
	for _, tag := range htmlTag.FindAllString(page, -1) {
		n[tag]++
	}
	return n
}

func TestHostileTextComesOutHarmless(t *testing.T) {
	tpl := shipped(t)
	for name, text := range hostile {
		t.Run(name, func(t *testing.T) { sendHostile(t, tpl, text) })
	}
}

func FuzzReminderIsHarmless(f *testing.F) {
	for _, text := range hostile {
		if len(text) < 1000 { // the long ones are slow, and have their test
			f.Add(text)
		}
	}
	tpl, err := ParseTemplates(nil)
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, text string) { sendHostile(t, tpl, text) })
}

// mailHostile stores texts as they are, as no template of ours would write them.
func mailHostile(t *testing.T, subject, text, page, cal string) {
	t.Helper()
	m := wear.Message{MessageID: "1@pawl.invalid", To: "ida@example.org", Subject: subject, Text: text, HTML: page, Calendar: cal}
	shop := fullSample().Shop
	shop.Name = subject
	var b strings.Builder
	if err := WriteEML(&b, m, shop, mailTime); err != nil {
		require.ErrorContains(t, err, "has no subject or no text")
		return
	}
	wire(t, b.String())
	box := opened(t, b.String())
	assert.Equal(t, headerNames, slices.Sorted(maps.Keys(box.header)))
	kinds := []string{"multipart/alternative", "text/plain", "text/html"}
	if cal != "" {
		kinds = append(append([]string{"multipart/mixed"}, kinds...), "text/calendar")
	}
	assert.Equal(t, kinds, box.kinds)
	for what, s := range map[string]string{"subject": box.subject, "text": box.text, "page": box.page, "calendar": box.calendar} {
		harmless(t, what, s)
	}
}

func TestMailOfHostileTextsAsTheyAre(t *testing.T) {
	for name, text := range hostile {
		t.Run(name, func(t *testing.T) {
			mailHostile(t, text, "x", "x", "")
			mailHostile(t, "x", text, text, text)
			mailHostile(t, "x "+text, text+"\n.\n--"+text, "<p>"+text, "x")
		})
	}
}

func FuzzMailIsHarmless(f *testing.F) {
	for _, text := range hostile {
		if len(text) < 1000 {
			f.Add(text, text, text, text)
			f.Add("x", text, "<p>"+text, "")
		}
	}
	f.Fuzz(mailHostile)
}
