package desk

import (
	"context"
	"time"

	"github.com/wneessen/go-mail"

	"pawl/cmd/internal/config"
	"pawl/wear"
)

// Poster hands messages to a mail server.
type Poster interface {
	// Post returns nil once the server took the message. Its error is a *PostError,
	// or that of ctx, which ends it only before the message is on its way.
	Post(ctx context.Context, m wear.Message) error
}

// How long a Mailer waits: for a connection that takes mail, and for all answers
// about one message (RFC 5321, 4.5.3.2, gives a server 5 minutes for most of them).
const (
	dialPatience = 30 * time.Second
	postPatience = 5 * time.Minute
	quitPatience = 3 * time.Second
)

// MailerOptions are what a Mailer needs.
type MailerOptions struct {
	Mail     config.Mail
	Password config.Password
	From     string // address of the shop: its domain is what the server is greeted with
	// Make makes the mail of a message; it must give the same Message-ID each time.
	Make func(wear.Message) (*mail.Msg, error)
}

// Mailer is a Poster that sends by SMTP. It keeps one connection for a run and
// makes another when that one has died. It serves one goroutine.
type Mailer struct {
	o    MailerOptions
	way  way
	line *line // nil = none
}

// NewMailer makes a Mailer, which connects with the first message. It fails where
// the certificates of ca_file cannot be read.
func NewMailer(o MailerOptions) (*Mailer, error) {
	w, err := newWay(o)
	if err != nil {
		return nil, err
	}
	return &Mailer{o: o, way: w}, nil
}

// Close says goodbye to the server.
func (p *Mailer) Close() {
	if p.line != nil {
		p.line.quit()
		p.line = nil
	}
}

// Post sends a message. Where the connection dies before the message is whole
// with the server, it is sent once more by a new one: if the server cannot be
// reached then it is dead; if the message fails again it is the message.
func (p *Mailer) Post(ctx context.Context, m wear.Message) error {
	msg, err := p.o.Make(m)
	if err != nil {
		return &PostError{Permanent: true, Msg: p.quote(err.Error())}
	}
	for again := true; ; {
		if err := p.connect(ctx); err != nil {
			return err
		}
		failed := p.line.send(msg)
		if failed == nil {
			return nil
		}
		if !failed.keep {
			p.line.cut()
			p.line = nil
		}
		if msg.IsDelivered() { // only the words after it failed
			return nil
		}
		if !failed.again || !again {
			failed.Msg = p.quote(failed.Msg)
			return failed.PostError
		}
		again = false
	}
}

// connect makes a connection unless there is one.
func (p *Mailer) connect(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if p.line != nil {
		return nil
	}
	l, err := p.way.connect(ctx)
	if err == nil {
		p.line = l
		return nil
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	dead := p.way.dead(err)
	dead.Msg = p.quote(dead.Msg)
	return dead
}
