package main

import (
	"encoding/base64"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"regexp"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	goical "github.com/emersion/go-ical"
	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/report"
)

// harmless fails for what a terminal or a reader does not see as it is: bad bytes,
// controls but line ends, and characters that turn the direction of text.
func harmless(t *testing.T, what, s string) {
	t.Helper()
	if !utf8.ValidString(s) {
		assert.Fail(t, "bad bytes", "%s", what)
	}
	for _, line := range strings.SplitAfter(s, "\n") {
		for _, r := range strings.TrimSuffix(strings.TrimSuffix(line, "\n"), "\r") {
			if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029' {
				assert.Fail(t, "a character that is not seen", "%s: %U in %.120q", what, r, line)
				return
			}
		}
	}
}

// narrow fails for lines that a terminal would break.
func narrow(t *testing.T, what, s string, columns int) {
	t.Helper()
	for line := range strings.SplitSeq(s, "\n") {
		if w := text.StringWidthWithoutEscSequences(line); w > columns {
			assert.Fail(t, "a line too wide", "%s: %d columns: %.120q", what, w, line)
			return
		}
	}
}

// readJSON wants one object, and nothing behind it. Programs are told texts as they
// are; of what is not seen JSON itself forbids the ASCII controls only.
func readJSON(t *testing.T, what, s string) {
	t.Helper()
	assert.True(t, utf8.ValidString(s), "%s: bad bytes", what)
	assert.False(t, strings.ContainsFunc(s, func(r rune) bool { return r < ' ' && r != '\n' }), "%s: a raw control", what)
	in := json.NewDecoder(strings.NewReader(s))
	var object map[string]any
	require.NoError(t, in.Decode(&object), what)
	assert.NotZero(t, object["version"], what)
	_, err := in.Token()
	assert.ErrorIs(t, err, io.EOF, what)
}

var plainNumber = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)

// readCSV reads by the grammar of RFC 4180, 2, and wants rows of one length and no
// cell that a spreadsheet takes for a formula (OWASP, "CSV Injection").
func readCSV(t *testing.T, what, s string) {
	t.Helper()
	harmless(t, what, s)
	rows := csvRows(t, what, s)
	require.NotEmpty(t, rows, what)
	for _, row := range rows {
		assert.Len(t, row, len(rows[0]), what)
		for _, c := range row {
			for part := range strings.SplitSeq(c, ";") {
				part = strings.TrimLeft(part, " \t\"\u200c\u200d")
				if part != "" && strings.ContainsAny(part[:1], "=+-@") && !plainNumber.MatchString(part) {
					assert.Fail(t, "a formula", "%s: %.80q", what, c)
				}
			}
		}
	}
}

// csvRows are the cells of a file of CRLF lines.
func csvRows(t *testing.T, what, s string) (rows [][]string) {
	t.Helper()
	field := regexp.MustCompile(`^(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n)`)
	var row []string
	for s != "" {
		m := field.FindStringSubmatch(s)
		require.NotNil(t, m, "%s: not by RFC 4180: %.80q", what, s)
		row = append(row, strings.ReplaceAll(m[1], `""`, `"`)+m[2])
		if m[3] != "," {
			rows, row = append(rows, row), nil
		}
		s = s[len(m[0]):]
	}
	require.Empty(t, row, "%s: ends within a line", what)
	return rows
}

// readPage reads HTML as the XML that it also is but for void elements, and wants
// neither a program nor anything that is fetched.
func readPage(t *testing.T, what, s string) {
	t.Helper()
	harmless(t, what, s)
	in := xml.NewDecoder(strings.NewReader(s))
	in.Strict, in.AutoClose, in.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	depth, elements := 0, 0
	for {
		token, err := in.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err, what)
		switch e := token.(type) {
		case xml.StartElement:
			depth, elements = depth+1, elements+1
			assert.NotContains(t, []string{"script", "img", "iframe", "object", "embed", "link", "form"}, strings.ToLower(e.Name.Local), what)
			for _, a := range e.Attr {
				assert.False(t, strings.HasPrefix(strings.ToLower(a.Name.Local), "on"), "%s: %s", what, a.Name.Local)
			}
		case xml.EndElement:
			depth--
		}
	}
	assert.Zero(t, depth, what)
	assert.Greater(t, elements, 10, what)
}

// readForm reads a form with a reader of TOML that did not write it.
func readForm(t *testing.T, s string) (f report.CardForm) {
	t.Helper()
	in := toml.NewDecoder(strings.NewReader(s))
	in.DisallowUnknownFields()
	require.NoError(t, in.Decode(&f))
	assert.NotEmpty(t, f.Jobs)
	return f
}

// readCalendar wants a calendar of whole events, in lines of 75 bytes (RFC 5545, 3.1).
func readCalendar(t *testing.T, what, s string) {
	t.Helper()
	harmless(t, what, strings.ReplaceAll(s, "\r\n ", ""))
	for line := range strings.SplitSeq(s, "\r\n") {
		assert.LessOrEqual(t, len(line), 75, what)
	}
	c, err := goical.NewDecoder(strings.NewReader(s)).Decode()
	require.NoError(t, err, what)
	require.NotEmpty(t, c.Events(), what)
	for _, e := range c.Events() {
		assert.Len(t, e.Children, 1, "%s: one alarm an event", what)
		for _, name := range []string{"UID", "DTSTAMP", "DTSTART", "SUMMARY", "DESCRIPTION"} {
			assert.Len(t, e.Props[name], 1, "%s: %s", what, name)
		}
		said, err := e.Props.Text("DESCRIPTION")
		require.NoError(t, err, what)
		harmless(t, what, said)
	}
}

// readMail wants a message with a head that no text has broken into, and its parts.
func readMail(t *testing.T, what, s string) {
	t.Helper()
	for line := range strings.SplitSeq(s, "\r\n") {
		assert.LessOrEqual(t, len(line), 998, "%s: RFC 5322, 2.1.1", what)
		assert.NotContains(t, line, "\n", what)
	}
	m, err := mail.ReadMessage(strings.NewReader(s))
	require.NoError(t, err, what)
	for name, values := range m.Header {
		assert.Len(t, values, 1, "%s: %s", what, name)
	}
	assert.NotContains(t, m.Header, "Bcc", what)
	to, err := m.Header.AddressList("To")
	require.NoError(t, err, what)
	assert.Equal(t, []*mail.Address{{Address: "kim@example.org"}}, to)
	from, err := m.Header.AddressList("From")
	require.NoError(t, err, what)
	require.Len(t, from, 1, what)
	assert.Equal(t, "hut@example.org", from[0].Address)
	harmless(t, what, from[0].Name)
	subject, err := new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject"))
	require.NoError(t, err, what)
	harmless(t, what, subject)
	kinds := map[string]int{}
	readParts(t, what, m.Header.Get("Content-Type"), m.Header.Get("Content-Transfer-Encoding"), m.Body, kinds)
	assert.Equal(t, map[string]int{"text/plain": 1, "text/html": 1, "text/calendar": 1}, kinds, what)
}

// readParts reads a part, or all that is within it.
func readParts(t *testing.T, what, head, coding string, body io.Reader, kinds map[string]int) {
	t.Helper()
	kind, params, err := mime.ParseMediaType(head)
	require.NoError(t, err, what)
	if strings.HasPrefix(kind, "multipart/") {
		parts := multipart.NewReader(body, params["boundary"])
		for {
			p, err := parts.NextRawPart()
			if errors.Is(err, io.EOF) {
				return
			}
			require.NoError(t, err, what)
			readParts(t, what, p.Header.Get("Content-Type"), p.Header.Get("Content-Transfer-Encoding"), p, kinds)
		}
	}
	kinds[kind]++
	raw, err := decoded(coding, body)
	require.NoError(t, err, what)
	switch kind {
	case "text/html":
		readPage(t, what+" "+kind, raw)
	case "text/calendar":
		readCalendar(t, what+" "+kind, raw)
	default:
		harmless(t, what+" "+kind, raw)
	}
}

// decoded is the text of a part.
func decoded(coding string, body io.Reader) (string, error) {
	switch strings.ToLower(coding) {
	case "base64":
		body = base64.NewDecoder(base64.StdEncoding, body)
	case "quoted-printable":
		body = quotedprintable.NewReader(body)
	}
	raw, err := io.ReadAll(body)
	return string(raw), err
}
