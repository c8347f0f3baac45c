package report

import (
	"fmt"
	"net/url"
	"strings"

	"pawl/wear"
)

// Shop is who writes reminders. From, ReplyTo and StopMail are addresses as
// mail carries them, without a name; only From is needed to send.
type Shop struct {
	Name, Address, Phone string
	From, ReplyTo        string

	// StopURL is a page that ends the messages to a person, https only. A mail
	// program may call it by itself (RFC 8058), and the call must then say whom it
	// is about: where the address holds {message}, the Message-ID stands there.
	StopURL string
	// StopMail is where a person writes to for no more messages; empty = ReplyTo,
	// or From.
	StopMail string
}

// messageSlot is where a StopURL takes the Message-ID.
const messageSlot = "{message}"

// longURL is the most bytes of a StopURL: a line of mail holds 998 (RFC 5322, 2.1.1).
const longURL = 700

// Check is an error where mail cannot be sent in the name of this shop.
func (s Shop) Check() error {
	for _, a := range []struct {
		what, address string
		needed        bool
	}{{"from", s.From, true}, {"reply-to", s.ReplyTo, false}, {"stop-mail", s.StopMail, false}} {
		if a.address == "" && !a.needed {
			continue
		}
		if err := mailable(a.address); err != nil {
			return fmt.Errorf("shop's %s address %w", a.what, err)
		}
	}
	if s.StopURL != "" && !s.validStopURL() {
		return fmt.Errorf("shop's stop address %q: is no https:// address of at most %d letters", brief(s.StopURL, longNote), longURL)
	}
	return nil
}

// mailable is an error that names an address to which no mail can be sent.
// Letters outside ASCII need an extension (RFC 6531) that many servers lack.
func mailable(address string) error {
	plain, ok := wear.PlainEmail(address)
	if !ok || plain != address || strings.ContainsFunc(address, beyondASCII) {
		return fmt.Errorf("%q: is no e-mail address in ASCII letters", brief(address, longNote))
	}
	return nil
}

// beyondASCII reports whether a rune is anything but a visible one of ASCII.
func beyondASCII(r rune) bool { return r <= ' ' || r >= 0x7f }

func (s Shop) validStopURL() bool {
	u, err := url.Parse(strings.ReplaceAll(s.StopURL, messageSlot, "m"))
	return err == nil && u.Scheme == "https" && u.Host != "" && len(s.StopURL) <= longURL &&
		!strings.ContainsFunc(s.StopURL, beyondASCII) && !strings.ContainsAny(s.StopURL, `<>",\`)
}

// stopMail is where to write to for no more messages; empty where nobody said.
func (s Shop) stopMail() string {
	for _, address := range []string{s.StopMail, s.ReplyTo, s.From} {
		if address != "" {
			return address
		}
	}
	return ""
}

// stopWords is what the text of a message can say of how to stop them: a page
// that wants a Message-ID is left to the mail program.
func (s Shop) stopWords() (page, address string) {
	if s.validStopURL() && !strings.Contains(s.StopURL, messageSlot) {
		page = s.StopURL
	}
	if address = s.stopMail(); mailable(address) != nil {
		address = ""
	}
	return page, address
}

// listUnsubscribe is the header that tells mail programs how to stop the
// messages: a page (RFC 8058), else an address (RFC 2369).
func (s Shop) listUnsubscribe(messageID string) string {
	if s.StopURL != "" {
		return "<" + strings.ReplaceAll(s.StopURL, messageSlot, url.QueryEscape(messageID)) + ">"
	}
	return "<mailto:" + url.PathEscape(s.stopMail()) + "?subject=stop%20messages>"
}
