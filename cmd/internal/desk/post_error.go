package desk

import (
	"encoding/base64"
	"errors"
	"strconv"
	"strings"
	"unicode"

	"github.com/wneessen/go-mail"
)

// PostError says why a message was not taken. Neither Permanent nor Dead: it may
// be taken later.
type PostError struct {
	Code      int    // the server's answer (RFC 5321, 4.2); 0 = it gave none
	Permanent bool   // the server will never take this message
	Dead      bool   // the server takes no message now: it cannot be reached, or refuses the log-in or the sender
	Unsure    bool   // the connection died while the server's yes was awaited: it may have the message
	Msg       string // one line
	Tip       string // what to do next; "" = nothing
}

// Error says what happened.
func (e *PostError) Error() string { return e.Msg }

// Hint says what to do next.
func (e *PostError) Hint() string { return e.Tip }

// failure is what became of one attempt.
type failure struct {
	*PostError
	again bool // the connection died before the server had the message
	keep  bool // the connection is still good
}

// Answers of RFC 5321, 4.2, and RFC 4954, 6.
const (
	closing       = 421
	badSequence   = 503
	needsLogin    = 530
	tooWeak       = 534
	wrongPassword = 535
	needsTLS      = 538
)

// judge tells what an error of the library means for the message.
func judge(err error) *failure {
	var e *mail.SendError
	if !errors.As(err, &e) {
		return &failure{PostError: &PostError{Dead: true, Msg: err.Error()}, again: true}
	}
	p := &PostError{Code: e.ErrorCode(), Msg: serverWords(e)}
	f := &failure{PostError: p, again: p.Code == 0 || p.Code == closing}
	switch e.Reason {
	case mail.ErrGetSender, mail.ErrGetRcpts, mail.ErrNoUnencoded:
		p.Permanent, f.again, f.keep = true, false, true
	case mail.ErrConnCheck:
		p.Dead = true
	case mail.ErrSMTPMailFrom: // it names the shop alone: the next message would fare no better
		p.Dead = true
		p.Msg = "the mail server refuses the sender: " + p.Msg
		p.Tip = "look at from under [shop], and at user under [mail]"
	case mail.ErrSMTPDataClose:
		p.Permanent, p.Unsure = p.Code >= 500, p.Code == 0
		f.again = p.Code == closing
	default:
		p.Dead = aboutSender(p.Code)
		p.Permanent = p.Code >= 500 && !p.Dead
		f.keep = e.Reason == mail.ErrSMTPRcptTo && !f.again && !p.Dead
	}
	return f
}

// aboutSender reports answers to a recipient that are about whoever sends.
func aboutSender(code int) bool {
	switch code {
	case badSequence, needsLogin, tooWeak, wrongPassword, needsTLS:
		return true
	}
	return false
}

// serverWords are what the server said, without what the library says around it.
func serverWords(e *mail.SendError) string {
	text := strings.TrimPrefix(e.Error(), e.Reason.String()+": ")
	text, _, _ = strings.Cut(text, ", affected recipient(s): ")
	text, _, _ = strings.Cut(text, ", affected message ID: ")
	if code, said, ok := strings.Cut(text, " "); ok && len(code) == len("250") {
		if plain, err := strconv.Unquote(said); err == nil {
			return code + " " + plain
		}
	}
	return text
}

// quote makes one plain line of what a server said. What holds the password, as
// it is or as it was sent, is left out.
func (p *Mailer) quote(text string) string {
	const most = 300 // runes
	if secret := p.o.Password.Reveal(); secret != "" {
		for _, form := range []string{secret, strings.Trim(strconv.Quote(secret), `"`), encoded(secret), encoded("\x00" + p.o.Mail.User + "\x00" + secret)} {
			if strings.Contains(text, form) {
				return "what the mail server said is left out here, for it holds the password"
			}
		}
	}
	text = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp) || r == unicode.ReplacementChar {
			return ' '
		}
		return r
	}, text)
	text = strings.Join(strings.Fields(text), " ")
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

func encoded(text string) string { return base64.StdEncoding.EncodeToString([]byte(text)) }
