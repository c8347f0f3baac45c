package desk

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/wneessen/go-mail/smtp"

	"pawl/cmd/internal/config"
)

// errNoLogin is in the error of a log-in that was not tried.
var errNoLogin = errors.New("no way to log in")

// login is the best log-in of those that the server offers, and only over TLS.
type login struct {
	user, host string
	password   config.Password
	chosen     smtp.Auth
}

// Start chooses and begins.
func (l *login) Start(server *smtp.ServerInfo) (string, []byte, error) {
	if !server.TLS {
		return "", nil, fmt.Errorf("%w: the connection has no TLS", errNoLogin)
	}
	offers := func(name string) bool {
		return slices.ContainsFunc(server.Auth, func(offer string) bool { return strings.EqualFold(offer, name) })
	}
	secret := l.password.Reveal()
	switch {
	case offers("SCRAM-SHA-256"):
		l.chosen = smtp.ScramSHA256Auth(l.user, secret)
	case offers("SCRAM-SHA-1"):
		l.chosen = smtp.ScramSHA1Auth(l.user, secret)
	case offers("PLAIN"):
		l.chosen = smtp.PlainAuth("", l.user, secret, l.host, false)
	case offers("LOGIN"):
		l.chosen = smtp.LoginAuth(l.user, secret, l.host, false)
	default:
		return "", nil, fmt.Errorf("%w: the server offers none of SCRAM, PLAIN and LOGIN", errNoLogin)
	}
	return l.chosen.Start(server)
}

// Next answers the server.
func (l *login) Next(from []byte, more bool) ([]byte, error) { return l.chosen.Next(from, more) }
