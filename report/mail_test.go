package report

import (
	"bytes"
	"encoding/base64"
	"io"
	"maps"
	"mime"
	"mime/multipart"
	"net/mail"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

var mailTime = time.Date(2026, 5, 14, 8, 30, 0, 0, time.FixedZone("", 2*3600))

// storedMessage is a reminder as the outbox holds it.
func storedMessage(t *testing.T, r Reminder) wear.Message {
	t.Helper()
	subject, text, page := compose(t, r)
	var cal strings.Builder
	require.NoError(t, Calendar(&cal, r.Findings, CalendarOptions{Name: r.Shop.Name, Now: r.Today.Time()}))
	return wear.Message{
		ID: 7, MessageID: "4f1c.7@pawl.invalid", To: "ines@example.org", Subject: subject, Text: text, HTML: page, Calendar: cal.String(),
	}
}

func eml(t *testing.T, m wear.Message, s Shop) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, WriteEML(&b, m, s, mailTime))
	return b.String()
}

// letterbox is what a mail program that is not ours makes of a message.
type letterbox struct {
	header               mail.Header
	subject              string
	kinds                []string
	text, page, calendar string
}

// opened reads a message with the standard library.
func opened(t *testing.T, raw string) letterbox {
	t.Helper()
	msg, err := mail.ReadMessage(strings.NewReader(raw))
	require.NoError(t, err)
	subject, err := new(mime.WordDecoder).DecodeHeader(msg.Header.Get("Subject"))
	require.NoError(t, err)
	box := letterbox{header: msg.Header, subject: subject}
	box.open(t, msg.Header.Get("Content-Type"), msg.Header.Get("Content-Disposition"), msg.Body)
	return box
}

func (box *letterbox) open(t *testing.T, contentType, disposition string, body io.Reader) {
	t.Helper()
	kind, params, err := mime.ParseMediaType(contentType)
	require.NoError(t, err)
	box.kinds = append(box.kinds, kind)
	if strings.HasPrefix(kind, "multipart/") {
		for parts := multipart.NewReader(body, params["boundary"]); ; {
			p, err := parts.NextPart() // decodes quoted-printable
			if err == io.EOF {
				return
			}
			require.NoError(t, err)
			var in io.Reader = p
			if p.Header.Get("Content-Transfer-Encoding") == "base64" {
				in = base64.NewDecoder(base64.StdEncoding, p)
			}
			box.open(t, p.Header.Get("Content-Type"), p.Header.Get("Content-Disposition"), in)
		}
	}
	all, err := io.ReadAll(body)
	require.NoError(t, err)
	assert.Equal(t, "UTF-8", params["charset"])
	switch kind {
	case "text/plain":
		box.text = string(all)
	case "text/html":
		box.page = string(all)
	case "text/calendar":
		assert.Equal(t, "attachment; filename=jobs.ics", disposition)
		box.calendar = string(all)
	}
}

func crlf(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }

func TestMailAsAnotherProgramReadsIt(t *testing.T) {
	r := seasonReminder(t)
	m := storedMessage(t, r)
	raw := eml(t, m, r.Shop)
	golden(t, "remind.eml", strings.ReplaceAll(raw, "\r\n", "\n"))
	wire(t, raw)

	box := opened(t, raw)
	assert.Equal(t, []string{"multipart/mixed", "multipart/alternative", "text/plain", "text/html", "text/calendar"}, box.kinds,
		"the richest alternative comes last (RFC 2046, 5.1.4)")
	assert.Equal(t, m.Subject, box.subject)
	assert.Equal(t, crlf(m.Text), box.text)
	assert.Equal(t, crlf(m.HTML), box.page)
	assert.Equal(t, m.Calendar, box.calendar)
	assert.Equal(t, squeezed(box.text), pageWords(box.page))

	for name, want := range map[string]string{
		"From": `"Mill Lane Cycles" <shop@example.org>`, "Reply-To": "<desk@example.org>", "To": "<ines@example.org>",
		"Date": "Thu, 14 May 2026 08:30:00 +0200", "Message-Id": "<4f1c.7@pawl.invalid>", "Auto-Submitted": "auto-generated",
		"List-Unsubscribe": "<https://shop.example.org/stop>", "List-Unsubscribe-Post": "List-Unsubscribe=One-Click", "Mime-Version": "1.0",
	} {
		assert.Equal(t, want, box.header.Get(name), name)
	}
	assert.Equal(t, headerNames, slices.Sorted(maps.Keys(box.header)), "no User-Agent, nothing else, nothing twice")
	host, err := os.Hostname()
	require.NoError(t, err)
	assert.NotContains(t, box.header.Get("Message-Id"), host)
}

// headerNames are the headers of every message with a page to stop and an
// address to answer to.
var headerNames = []string{
	"Auto-Submitted", "Content-Transfer-Encoding", "Content-Type", "Date", "From", "List-Unsubscribe", "List-Unsubscribe-Post",
	"Message-Id", "Mime-Version", "Reply-To", "Subject", "To",
}

// wire checks what any mail server asks of bytes: ASCII, lines of at most 998
// octets that end in CRLF, and of 78 where they can be folded (RFC 5322, 2.1.1).
func wire(t *testing.T, raw string) {
	t.Helper()
	require.True(t, strings.HasSuffix(raw, "\r\n"))
	for _, line := range strings.Split(strings.TrimSuffix(raw, "\r\n"), "\r\n") {
		if len(line) > 998 || len(line) > 78 && strings.Contains(strings.TrimSpace(line), " ") {
			assert.Fail(t, "line is too long", "%q", line)
		}
		if i := strings.IndexFunc(line, func(r rune) bool { return r < ' ' || r >= 0x7f }); i >= 0 {
			assert.Fail(t, "a byte that mail does not carry", "%q", line)
		}
	}
}

func TestMailWithoutCalendar(t *testing.T) {
	m := storedMessage(t, fullSample())
	m.Calendar = ""
	box := opened(t, eml(t, m, fullSample().Shop))
	assert.Equal(t, []string{"multipart/alternative", "text/plain", "text/html"}, box.kinds)
	assert.Equal(t, crlf(m.Text), box.text)
}

func TestMailIsTheSameEveryTime(t *testing.T) {
	m, shop := storedMessage(t, seasonReminder(t)), fullSample().Shop
	first := eml(t, m, shop)
	for range 20 {
		require.Equal(t, first, eml(t, m, shop))
	}
	msg, err := Mail(m, shop, mailTime)
	require.NoError(t, err)
	for range 2 { // also where one message is written twice, as for a second try
		var b bytes.Buffer
		_, err = msg.WriteTo(&b)
		require.NoError(t, err)
		require.Equal(t, first, b.String())
	}
}

func TestSenderAndSubjectComeBack(t *testing.T) {
	tests := []struct{ name, in, subject, sender string }{
		{"plain", "Mill Lane Cycles", "Mill Lane Cycles", "Mill Lane Cycles"},
		{"quotes and commas", `"Mill", Lane (Cycles)`, `"Mill", Lane (Cycles)`, `"Mill", Lane (Cycles)`},
		{"letters beyond ASCII", "Räder & Söhne, 自転車", "Räder & Söhne, 自転車", "Räder & Söhne, 自転車"},
		{"a control character before such letters", "ä\x00\\", `ä\x00\`, "ä/x00/"},
		{"what looks encoded is not decoded", "=?utf-8?q?a=0D=0AX:_y?=", "= ?utf-8?q?a=0D=0AX:_y?=", "= ?utf-8?q?a=0D=0AX:_y?="},
		{"a long one", strings.Repeat("ö", 200), strings.Repeat("ö", 99) + "…", strings.Repeat("ö", 47) + "…"},
	}
	m, shop := storedMessage(t, fullSample()), fullSample().Shop
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m.Subject, shop.Name = tt.in, tt.in
			raw := eml(t, m, shop)
			wire(t, raw)
			box := opened(t, raw)
			assert.Equal(t, tt.subject, box.subject)
			from, err := mail.ParseAddress(box.header.Get("From"))
			require.NoError(t, err)
			assert.Equal(t, mail.Address{Name: tt.sender, Address: "shop@example.org"}, *from)
		})
	}
}

func TestBoundariesDifferByPlaceAndText(t *testing.T) {
	a := wear.Message{MessageID: "a@b", Text: "x", HTML: "y"}
	b := a
	b.Text, b.HTML = "xy", ""
	all := []string{boundary("mixed", a), boundary("alternative", a), boundary("mixed", b), boundary("alternative", b)}
	slices.Sort(all)
	assert.Len(t, slices.Compact(all), 4)
	assert.Regexp(t, regexp.MustCompile("^[0-9a-f]{32}$"), all[0])
}

func TestHowToStop(t *testing.T) {
	long := "https://shop.example.org/" + strings.Repeat("a", 600)
	tests := []struct {
		name       string
		shop       Shop
		want, post string
	}{
		{"a page (RFC 8058, 3.1)", Shop{StopURL: "https://shop.example.org/stop", StopMail: "stop@example.org"}, "<https://shop.example.org/stop>", "List-Unsubscribe=One-Click"},
		{"a page that is told of whom", Shop{StopURL: "https://shop.example.org/s?m={message}&x=1"}, "<https://shop.example.org/s?m=4f1c.7%40pawl.invalid&x=1>", "List-Unsubscribe=One-Click"},
		{"a long page", Shop{StopURL: long}, "<" + long + ">", "List-Unsubscribe=One-Click"},
		{"an address (RFC 2369, 3.2)", Shop{StopMail: "stop@example.org", ReplyTo: "desk@example.org"}, "<mailto:stop@example.org?subject=stop%20messages>", ""},
		{"else the one to answer to", Shop{ReplyTo: "desk@example.org"}, "<mailto:desk@example.org?subject=stop%20messages>", ""},
		{"else the sender", Shop{}, "<mailto:shop@example.org?subject=stop%20messages>", ""},
		{"signs that a link takes for its own (RFC 6068, 2)", Shop{StopMail: "a?b%c@example.org"}, "<mailto:a%3Fb%25c@example.org?subject=stop%20messages>", ""},
	}
	m := storedMessage(t, fullSample())
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.shop.From = "shop@example.org"
			raw := eml(t, m, tt.shop)
			wire(t, raw)
			box := opened(t, raw)
			assert.Equal(t, tt.want, box.header.Get("List-Unsubscribe"))
			assert.Equal(t, tt.post, box.header.Get("List-Unsubscribe-Post"))
			assert.Equal(t, tt.shop.ReplyTo != "", box.header.Get("Reply-To") != "")
		})
	}
}

func TestMailRefuses(t *testing.T) {
	good := storedMessage(t, fullSample())
	tests := []struct {
		name string
		edit func(*wear.Message, *Shop)
		want string
	}{
		{"no sender", func(_ *wear.Message, s *Shop) { s.From = "" }, `shop's from address "": is no e-mail address in ASCII letters`},
		{"a sender with a name", func(_ *wear.Message, s *Shop) { s.From = "Mill <shop@example.org>" }, `shop's from address "Mill <shop@example.org>": is no`},
		{"a sender with a line break", func(_ *wear.Message, s *Shop) { s.From = "shop@example.org\r\nBcc: x@example.org" }, "shop's from address"},
		{"an answer to nobody", func(_ *wear.Message, s *Shop) { s.ReplyTo = "desk" }, `shop's reply-to address "desk": is no`},
		{"no address to stop", func(_ *wear.Message, s *Shop) { s.StopMail = "stop@@example.org" }, "shop's stop-mail address"},
		{"a page without TLS", func(_ *wear.Message, s *Shop) { s.StopURL = "http://example.org" }, `shop's stop address "http://example.org": is no https:// address`},
		{"a page on no host", func(_ *wear.Message, s *Shop) { s.StopURL = "https:///x" }, "shop's stop address"},
		{"a page with a line break", func(_ *wear.Message, s *Shop) { s.StopURL = "https://example.org/\r\nX: y" }, "shop's stop address"},
		{"a page that ends the header", func(_ *wear.Message, s *Shop) { s.StopURL = "https://example.org/>,<mailto:x@y" }, "shop's stop address"},
		{"a page that is too long", func(_ *wear.Message, s *Shop) { s.StopURL = "https://example.org/" + strings.Repeat("a", longURL) }, "shop's stop address"},
		{"nobody to write to", func(m *wear.Message, _ *Shop) { m.To = "" }, `message "4f1c.7@pawl.invalid": address "": is no`},
		{"two to write to", func(m *wear.Message, _ *Shop) { m.To = "a@example.org, b@example.org" }, "is no e-mail address"},
		{"letters beyond ASCII", func(m *wear.Message, _ *Shop) { m.To = "jürgen@example.org" }, `address "jürgen@example.org": is no e-mail address in ASCII letters`},
		{"no Message-ID", func(m *wear.Message, _ *Shop) { m.MessageID = "" }, `message 7: "" is no Message-ID`},
		{"brackets in it", func(m *wear.Message, _ *Shop) { m.MessageID = "<a@b>" }, "is no Message-ID"},
		{"a line break in it", func(m *wear.Message, _ *Shop) { m.MessageID = "a@b\r\nX: y" }, "is no Message-ID"},
		{"a second at in it", func(m *wear.Message, _ *Shop) { m.MessageID = "a@b@c" }, "is no Message-ID"},
		{"too long an ID", func(m *wear.Message, _ *Shop) { m.MessageID = strings.Repeat("a", longMessageID) + "@b" }, "is no Message-ID"},
		{"sent already", func(m *wear.Message, _ *Shop) { m.Subject, m.Text, m.HTML = "", "", "" }, "has no subject or no text: is it sent already?"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m, shop := good, fullSample().Shop
			tt.edit(&m, &shop)
			var b strings.Builder
			err := WriteEML(&b, m, shop, mailTime)
			require.ErrorContains(t, err, tt.want)
			assert.NotContains(t, err.Error(), "\n")
			assert.Empty(t, b.String(), "nothing is written")
		})
	}
}
