package report

import (
	"fmt"
	"io"
	netmail "net/mail"
	"strings"
	"time"

	"github.com/wneessen/go-mail"

	"pawl/wear"
)

// longMessageID is the most bytes of a Message-ID.
const longMessageID = 250

// Mail makes a stored message ready to be sent: plain text and HTML as
// alternatives, and the calendar, where there is one, as an attachment. The
// same arguments give the same bytes, so that a message that is tried again is
// the same message. It fails where an address, the Message-ID or the body is
// not fit to send.
func Mail(m wear.Message, s Shop, at time.Time) (*mail.Msg, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	if err := sendable(m); err != nil {
		return nil, err
	}
	kind, body, err := mailBody(m)
	if err != nil {
		return nil, fmt.Errorf("message %q: %w", m.MessageID, err)
	}
	msg := mail.NewMsg(mail.WithNoDefaultUserAgent())
	msg.SetMessageIDWithValue(m.MessageID)
	msg.SetDateWithValue(at)
	msg.Subject(headerText(m.Subject, longSubject))
	msg.SetAddrHeaderFromMailAddress(mail.HeaderFrom, &netmail.Address{Name: senderName(s.Name), Address: s.From})
	msg.SetAddrHeaderFromMailAddress(mail.HeaderTo, &netmail.Address{Address: m.To})
	if s.ReplyTo != "" {
		msg.SetAddrHeaderFromMailAddress(mail.HeaderReplyTo, &netmail.Address{Address: s.ReplyTo})
	}
	msg.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834, 5: no answering machine answers
	msg.SetGenHeader(mail.HeaderListUnsubscribe, s.listUnsubscribe(m.MessageID))
	if s.StopURL != "" {
		msg.SetGenHeader(mail.HeaderListUnsubscribePost, "List-Unsubscribe=One-Click")
	}
	msg.SetBodyString(mail.ContentType(kind), body, mail.WithPartEncoding(mail.NoEncoding))
	return msg, nil
}

// WriteEML writes the message as a file that mail programs open (RFC 5322).
func WriteEML(w io.Writer, m wear.Message, s Shop, at time.Time) error {
	msg, err := Mail(m, s, at)
	if err != nil {
		return err
	}
	if _, err := msg.WriteTo(w); err != nil {
		return fmt.Errorf("message %q: %w", m.MessageID, err)
	}
	return nil
}

// sendable is an error where a message lacks what sending needs, as it does
// once it has been sent.
func sendable(m wear.Message) error {
	left, right, ok := strings.Cut(m.MessageID, "@")
	if !ok || left == "" || right == "" || len(m.MessageID) > longMessageID ||
		strings.ContainsFunc(m.MessageID, beyondASCII) || strings.ContainsAny(right, "@") || strings.ContainsAny(m.MessageID, `<>()[]\,;:"`) {
		return fmt.Errorf("message %d: %q is no Message-ID", m.ID, brief(m.MessageID, longNote))
	}
	if err := mailable(m.To); err != nil {
		return fmt.Errorf("message %q: address %w", m.MessageID, err)
	}
	if clean(m.Subject) == "" || clean(m.Text) == "" || clean(m.HTML) == "" {
		return fmt.Errorf("message %q: has no subject or no text: is it sent already?", m.MessageID)
	}
	return nil
}

// headerText is text for a header: one line, bounded, and not to be taken for
// an encoded word (RFC 2047, 2), which would be decoded once more.
func headerText(s string, n int) string { return strings.ReplaceAll(bounded(s, n), "=?", "= ?") }

// senderName is a name before an address. A backslash must not stand in an
// encoded word there (RFC 2047, 5.3), but the standard library lets it.
func senderName(s string) string { return strings.ReplaceAll(headerText(s, longName), `\`, "/") }
