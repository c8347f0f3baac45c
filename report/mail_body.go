package report

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"io"
	"mime/multipart"
	"mime/quotedprintable"
	"net/textproto"
	"strings"

	"pawl/wear"
)

// base64Line is the most letters of a line of base64 (RFC 2045, 6.8).
const base64Line = 76

// mailBody is the body of a message and its content type. It is built here
// since the mail library draws boundaries by lot, or one and the same for all
// levels. All of it is ASCII.
func mailBody(m wear.Message) (kind, body string, err error) {
	kind, body, err = multiparts("alternative", m, []mailPart{
		{"text/plain; charset=UTF-8", "", "quoted-printable", quoted(m.Text)},
		{"text/html; charset=UTF-8", "", "quoted-printable", quoted(m.HTML)},
	})
	if err != nil || m.Calendar == "" {
		return kind, body, err
	}
	return multiparts("mixed", m, []mailPart{
		{kind, "", "7bit", body},
		{"text/calendar; charset=UTF-8; name=jobs.ics", "attachment; filename=jobs.ics", "base64", base64Lines(m.Calendar)},
	})
}

// mailPart is a part of a multipart body with its headers.
type mailPart struct{ kind, disposition, encoding, body string }

// multiparts puts parts into a multipart body (RFC 2046, 5.1).
func multiparts(sort string, m wear.Message, parts []mailPart) (kind, body string, err error) {
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	if err := w.SetBoundary(boundary(sort, m)); err != nil {
		return "", "", err
	}
	for _, p := range parts {
		h := textproto.MIMEHeader{"Content-Type": {p.kind}, "Content-Transfer-Encoding": {p.encoding}}
		if p.disposition != "" {
			h.Set("Content-Disposition", p.disposition)
		}
		part, err := w.CreatePart(h)
		if err != nil {
			return "", "", err
		}
		if _, err := io.WriteString(part, p.body); err != nil {
			return "", "", err
		}
	}
	if err := w.Close(); err != nil {
		return "", "", err
	}
	return "multipart/" + sort + "; boundary=" + w.Boundary(), b.String(), nil
}

// boundary is drawn from what it parts: the same for the same message, and no
// text can hold the boundary of the message that it is in.
func boundary(sort string, m wear.Message) string {
	h := sha256.New()
	for _, s := range []string{sort, m.MessageID, m.Text, m.HTML, m.Calendar} {
		fmt.Fprintf(h, "%d %s\n", len(s), s)
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// quoted is text as quoted-printable (RFC 2045, 6.7), safe to show.
func quoted(text string) string {
	var b strings.Builder
	w := quotedprintable.NewWriter(&b)
	_, _ = io.WriteString(w, safeLines(text)) // a strings.Builder takes everything
	_ = w.Close()
	return b.String()
}

func base64Lines(text string) string {
	var b strings.Builder
	all := base64.StdEncoding.EncodeToString([]byte(strings.ReplaceAll(safeLines(text), "\n", "\r\n")))
	for len(all) > base64Line {
		b.WriteString(all[:base64Line] + "\r\n")
		all = all[base64Line:]
	}
	b.WriteString(all)
	return b.String()
}

// lineEnds makes one end of a line of all, and blanks of tabs.
var lineEnds = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u2028", "\n", "\u2029", "\n", "\t", " ")

// safeLines is text in which every control and direction character but the end
// of a line is spelled out: the last door before the mail.
func safeLines(text string) string {
	text = lineEnds.Replace(text)
	var b strings.Builder
	for i, r := range text {
		if r == '\n' {
			b.WriteByte('\n')
		} else {
			b.WriteString(visible(r, text[i:]))
		}
	}
	return b.String()
}
