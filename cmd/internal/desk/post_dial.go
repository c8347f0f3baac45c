package desk

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/textproto"
	"os"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/wneessen/go-mail"
	"github.com/wneessen/go-mail/smtp"

	"pawl/cmd/internal/config"
)

// way is how a server is reached.
type way struct {
	o    MailerOptions
	tls  *tls.Config
	hail string // what the server is greeted with
}

func newWay(o MailerOptions) (way, error) {
	roots, err := roots(o.Mail.CAFile)
	if err != nil {
		return way{}, err
	}
	return way{
		o: o, hail: greeting(o.From),
		tls: &tls.Config{ServerName: o.Mail.Host, RootCAs: roots, MinVersion: tls.VersionTLS12},
	}, nil
}

// roots are the certificates of the system and those of a file.
func roots(file string) (*x509.CertPool, error) {
	if file == "" {
		return nil, nil // the system's
	}
	pem, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("certificates: %w", err)
	}
	pool, err := x509.SystemCertPool()
	if err != nil {
		pool = x509.NewCertPool()
	}
	if !pool.AppendCertsFromPEM(pem) {
		return nil, refusal("ca_file under [mail] names a file of PEM certificates", "certificates %q: none in it", file)
	}
	return pool, nil
}

// greeting is the domain of an address: the name of this machine is nobody's business.
func greeting(from string) string {
	_, domain, _ := strings.Cut(from, "@")
	if domain == "" || strings.ContainsFunc(domain, func(r rune) bool { return r >= utf8.RuneSelf }) {
		return "localhost"
	}
	return domain
}

// line is a connection that takes mail.
type line struct {
	mail *mail.Client
	smtp *smtp.Client
	conn net.Conn
}

// connect makes a connection, up to the log-in.
func (w way) connect(ctx context.Context) (*line, error) {
	ctx, cancel := context.WithTimeout(ctx, dialPatience)
	defer cancel()
	l := &line{}
	keep := func() bool { return true }
	dial := func(_ context.Context, network, addr string) (conn net.Conn, err error) {
		if conn, err = w.dial(ctx, network, addr); err == nil {
			// The library waits for answers without looking at ctx.
			l.conn, keep = conn, context.AfterFunc(ctx, func() { _ = conn.Close() })
		}
		return conn, err
	}
	err := w.talk(ctx, l, dial)
	if !keep() {
		err = ctx.Err()
	}
	if err != nil {
		l.cut()
		return nil, err
	}
	return l, nil
}

// talk greets the server, begins TLS and logs in.
func (w way) talk(ctx context.Context, l *line, dial mail.DialContextFunc) (err error) {
	m := w.o.Mail
	o := []mail.Option{
		mail.WithPort(m.Port), mail.WithTimeout(postPatience), mail.WithHELO(w.hail),
		mail.WithTLSConfig(w.tls), mail.WithDialContextFunc(dial),
	}
	switch m.TLS {
	case config.ImplicitTLS:
		o = append(o, mail.WithSSL())
	case config.NoTLS:
		o = append(o, mail.WithTLSPolicy(mail.NoTLS))
	default:
		o = append(o, mail.WithTLSPolicy(mail.TLSMandatory))
	}
	if m.User != "" {
		o = append(o, mail.WithSMTPAuthCustom(&login{user: m.User, host: m.Host, password: w.o.Password}))
	}
	if l.mail, err = mail.NewClient(m.Host, o...); err != nil {
		return err
	}
	l.smtp, err = l.mail.DialToSMTPClientWithContext(ctx)
	return err
}

// dial opens the connection, with TLS where that comes first. One without TLS
// goes to this machine, whatever a name may have been resolved to.
func (w way) dial(ctx context.Context, network, addr string) (net.Conn, error) {
	plain := &net.Dialer{}
	if w.o.Mail.TLS == config.ImplicitTLS {
		return (&tls.Dialer{NetDialer: plain, Config: w.tls}).DialContext(ctx, network, addr)
	}
	conn, err := plain.DialContext(ctx, network, addr)
	if err != nil || w.o.Mail.TLS != config.NoTLS {
		return conn, err
	}
	if to, ok := conn.RemoteAddr().(*net.TCPAddr); !ok || !to.IP.IsLoopback() {
		_ = conn.Close()
		return nil, errors.New("not this machine, and mail goes nowhere else without TLS")
	}
	return conn, nil
}

// dead says why no connection could be made.
func (w way) dead(err error) *PostError {
	m := w.o.Mail
	p := &PostError{Dead: true, Tip: "look at host, port and tls under [mail]"}
	why := err.Error()
	var answer *textproto.Error
	var untrusted *tls.CertificateVerificationError
	var dial *net.OpError
	switch {
	case errors.As(err, &answer):
		p.Code, why = answer.Code, fmt.Sprintf("%d %s", answer.Code, answer.Msg)
		if aboutSender(answer.Code) {
			why = fmt.Sprintf("it refused the log-in of %q: %s", m.User, why)
			p.Tip = "look at user and password_file under [mail], and at PAWL_MAIL_PASSWORD"
		}
	case errors.As(err, &untrusted):
		why = fmt.Sprintf("its certificate is not trusted: %v", untrusted.Err)
		p.Tip = "host under [mail] must be the name in the certificate; ca_file names the certificates of a private authority"
	case errors.As(err, &dial) && dial.Op == "dial":
		why = fmt.Sprintf("cannot be reached: %v", dial.Err)
	case errors.Is(err, context.DeadlineExceeded):
		why = fmt.Sprintf("no answer within %v", dialPatience)
	}
	p.Msg = fmt.Sprintf("mail server %q: %s", net.JoinHostPort(m.Host, strconv.Itoa(m.Port)), why)
	return p
}

// send sends a message.
func (l *line) send(msg *mail.Msg) *failure {
	if err := l.mail.SendWithSMTPClient(l.smtp, msg); err != nil {
		return judge(err)
	}
	return nil
}

// quit ends the connection as RFC 5321, 4.1.1.10, wants it.
func (l *line) quit() {
	_ = l.conn.SetDeadline(time.Now().Add(quitPatience))
	_ = l.smtp.Quit()
	_ = l.conn.Close()
}

// cut ends the connection at once; what the server has not got whole it drops.
func (l *line) cut() {
	if l.conn != nil {
		_ = l.conn.Close()
	}
}
