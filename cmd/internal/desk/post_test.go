package desk

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/wneessen/go-mail"

	"pawl/cmd/internal/config"
	"pawl/report"
	"pawl/wear"
)

const telltale = `telltale-"5417\`

var testShop = report.Shop{Name: "Ridge Workshop", From: "service@ridge.example", StopMail: "stop@ridge.example"}

func makeMail(m wear.Message) (*mail.Msg, error) { return report.Mail(m, testShop, m.At.Time()) }

func testMessage(to string) wear.Message {
	return wear.Message{
		ID: 1, At: wear.At(time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)), MessageID: "m1@ridge.example",
		To: to, Subject: "Your bikes", Text: "The chain is due.\n", HTML: "<p>The chain is due.</p>",
	}
}

// mailerTo is a Mailer for the fake server with the telltale as password.
func mailerTo(t *testing.T, f *fakeServer, change func(*config.Mail)) *Mailer {
	t.Helper()
	if f.ip == nil {
		f.ip = here
	}
	a := newAuthority(t, t.TempDir(), f.ip)
	f.tls = &tls.Config{Certificates: []tls.Certificate{a.cert}}
	f.start(t)
	m := config.Mail{Host: "127.0.0.1", Port: f.port, TLS: config.StartTLS, User: "service", CAFile: a.caFile}
	if change != nil {
		change(&m)
	}
	p, err := NewMailer(MailerOptions{Mail: m, Password: config.NewPassword(telltale), From: testShop.From, Make: makeMail})
	require.NoError(t, err)
	t.Cleanup(p.Close)
	return p
}

func TestPostKeepsOneConnection(t *testing.T) {
	f := &fakeServer{offer: "AUTH PLAIN LOGIN"}
	p := mailerTo(t, f, nil)
	for range 3 {
		require.NoError(t, p.Post(t.Context(), testMessage("ann@x.example")))
	}
	p.Close()
	assert.Equal(t, 1, f.calls())
	assert.Equal(t, "EHLO ridge.example", f.said("EHLO"), "the name of this machine stays here")
	assert.Equal(t, "AUTH PLAIN "+encoded("\x00service\x00"+telltale), f.said("AUTH"))
	assert.Contains(t, f.said("MAIL"), "<service@ridge.example>")
	assert.Contains(t, f.said("RCPT"), "<ann@x.example>")
	assert.Equal(t, "QUIT", f.verbs()[len(f.verbs())-1])
}

func TestPostLogsInAsTheServerOffers(t *testing.T) {
	for offer, want := range map[string]string{
		"AUTH LOGIN":                             "AUTH LOGIN",
		"AUTH PLAIN":                             "AUTH PLAIN",
		"AUTH LOGIN PLAIN SCRAM-SHA-1":           "AUTH SCRAM-SHA-1",
		"AUTH CRAM-MD5 SCRAM-SHA-256 PLAIN NTLM": "AUTH SCRAM-SHA-256",
	} {
		t.Run(offer, func(t *testing.T) {
			f := &fakeServer{offer: offer}
			p := mailerTo(t, f, nil)
			require.NoError(t, p.Post(t.Context(), testMessage("ann@x.example")))
			assert.True(t, strings.HasPrefix(f.said("AUTH"), want), f.said("AUTH"))
		})
	}
}

func TestPostOverImplicitTLSAndPlainLoopback(t *testing.T) {
	f := &fakeServer{offer: "AUTH PLAIN", whole: true}
	p := mailerTo(t, f, func(m *config.Mail) { m.TLS = config.ImplicitTLS })
	require.NoError(t, p.Post(t.Context(), testMessage("ann@x.example")))
	assert.NotContains(t, f.verbs(), "STARTTLS")

	f = &fakeServer{plain: true}
	p = mailerTo(t, f, func(m *config.Mail) { m.TLS, m.User = config.NoTLS, "" })
	require.NoError(t, p.Post(t.Context(), testMessage("ann@x.example")))
	assert.NotContains(t, f.verbs(), "AUTH")
}

// What the server answers, and what it means for message and run.
func TestPostTellsRefusalsApart(t *testing.T) {
	type says = map[string][]string
	for name, c := range map[string]struct {
		says  says
		want  *PostError // nil = taken
		calls int
	}{
		"later":             {says{"RCPT": {"451 try later"}}, &PostError{Code: 451, Msg: "451 try later"}, 1},
		"no such mailbox":   {says{"RCPT": {"550 5.1.1 no such mailbox"}}, &PostError{Code: 550, Permanent: true, Msg: "550 5.1.1 no such mailbox"}, 1},
		"many lines":        {says{"RCPT": {"550-no\n550 \x1b[31msuch \u202emailbox"}}, &PostError{Code: 550, Permanent: true, Msg: "550 no [31msuch mailbox"}, 1},
		"not logged in":     {says{"RCPT": {"530 log in first"}}, &PostError{Code: 530, Dead: true, Msg: "530 log in first"}, 1},
		"sender refused":    {says{"MAIL": {"550 who are you"}}, &PostError{Code: 550, Dead: true, Msg: "the mail server refuses the sender: 550 who are you"}, 1},
		"sender, later":     {says{"MAIL": {"452 disk full"}}, &PostError{Code: 452, Dead: true, Msg: "the mail server refuses the sender: 452 disk full"}, 1},
		"data refused":      {says{"DATA": {"554 no"}}, &PostError{Code: 554, Permanent: true, Msg: "554 no"}, 1},
		"content refused":   {says{".": {"554 spam"}}, &PostError{Code: 554, Permanent: true, Msg: "554 spam"}, 1},
		"content later":     {says{".": {"452 disk full"}}, &PostError{Code: 452, Msg: "452 disk full"}, 1},
		"closing, mail":     {says{"MAIL": {"421 enough for one connection"}}, nil, 2},
		"closing, rcpt":     {says{"RCPT": {"421 bye"}}, nil, 2},
		"closing, content":  {says{".": {"421 bye"}}, nil, 2},
		"closing always":    {says{"RCPT": {"421 bye", "421 bye"}}, &PostError{Code: 421, Msg: "421 bye"}, 2},
		"dies before data":  {says{"DATA": {hang}}, nil, 2},
		"dies twice":        {says{"DATA": {hang, hang}}, &PostError{Msg: "EOF"}, 2},
		"dies, then gone":   {says{"RCPT": {hang}, "CONNECT": {"220 hello", "554 closed"}}, &PostError{Code: 554, Dead: true, Msg: `mail server %q: 554 closed`}, 2},
		"dies after dot":    {says{".": {hang}}, &PostError{Unsure: true, Msg: "EOF"}, 1},
		"nonsense at dot":   {says{".": {"what"}}, &PostError{Unsure: true, Msg: `short response: "what"`}, 1},
		"dies after yes":    {says{"RSET": {hang}}, nil, 1},
		"log-in refused":    {says{"AUTH": {"535 wrong password"}}, &PostError{Code: 535, Dead: true, Msg: `mail server %q: it refused the log-in of "service": 535 wrong password`}, 1},
		"log-in refused, 5": {says{"AUTH": {"535 not " + telltale}}, &PostError{Code: 535, Dead: true, Msg: "what the mail server said is left out here, for it holds the password"}, 1},
		"refused, quoted":   {says{"AUTH": {"535 \"" + telltale + "\""}}, &PostError{Code: 535, Dead: true, Msg: "what the mail server said is left out here, for it holds the password"}, 1},
		"refused, encoded":  {says{"AUTH": {"535 " + encoded("\x00service\x00"+telltale)}}, &PostError{Code: 535, Dead: true, Msg: "what the mail server said is left out here, for it holds the password"}, 1},
		"closed":            {says{"CONNECT": {"554 no mail here"}}, &PostError{Code: 554, Dead: true, Msg: `mail server %q: 554 no mail here`}, 1},
		"no words":          {says{"CONNECT": {hang}}, &PostError{Dead: true, Msg: `mail server %q: EOF`}, 1},
	} {
		t.Run(name, func(t *testing.T) {
			f := &fakeServer{offer: "AUTH PLAIN", answers: c.says}
			p := mailerTo(t, f, nil)
			err := p.Post(t.Context(), testMessage("ann@x.example"))
			assert.Equal(t, c.calls, f.calls())
			if c.want == nil {
				require.NoError(t, err)
			} else {
				c.want.Msg = strings.ReplaceAll(c.want.Msg, "%q", fmt.Sprintf(`"127.0.0.1:%d"`, f.port))
				got := posted(t, err)
				got.Tip = ""
				assert.Equal(t, c.want, got)
			}
			// Whatever it was, the next message is sent.
			require.NoError(t, p.Post(t.Context(), testMessage("ben@x.example")))
		})
	}
}

// posted is the PostError in err, which does not show the password.
func posted(t *testing.T, err error) *PostError {
	t.Helper()
	var p *PostError
	require.ErrorAs(t, err, &p)
	for _, shown := range []string{err.Error(), p.Hint(), fmt.Sprintf("%+v %#v", p, err)} {
		assert.NotContains(t, shown, "telltale")
		assert.NotContains(t, shown, encoded(telltale))
	}
	return p
}

func TestPostNeedsASafeWay(t *testing.T) {
	gone, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	port := gone.Addr().(*net.TCPAddr).Port
	require.NoError(t, gone.Close())
	for name, c := range map[string]struct {
		f      *fakeServer
		change func(*config.Mail)
		want   string
	}{
		"no STARTTLS":        {&fakeServer{offer: "AUTH PLAIN", plain: true}, nil, "does not support STARTTLS"},
		"STARTTLS refused":   {&fakeServer{answers: map[string][]string{"STARTTLS": {"454 not now"}}}, nil, "454 not now"},
		"no log-in offered":  {&fakeServer{}, nil, "no way to log in: the server offers none of SCRAM, PLAIN and LOGIN"},
		"other ways only":    {&fakeServer{offer: "AUTH CRAM-MD5 NTLM"}, nil, "no way to log in"},
		"log-in without TLS": {&fakeServer{offer: "AUTH PLAIN", plain: true}, func(m *config.Mail) { m.TLS = config.NoTLS }, "no way to log in: the connection has no TLS"},
		"strange authority":  {&fakeServer{}, func(m *config.Mail) { m.CAFile = "" }, "its certificate is not trusted: x509: certificate signed by unknown authority"},
		"another name":       {&fakeServer{ip: net.IPv4(192, 0, 2, 1)}, nil, "its certificate is not trusted: x509: certificate is valid for 192.0.2.1, not 127.0.0.1"},
		"implicit, not TLS":  {&fakeServer{}, func(m *config.Mail) { m.TLS = config.ImplicitTLS }, "tls: first record does not look like a TLS handshake"},
		"nobody there":       {&fakeServer{}, func(m *config.Mail) { m.Port = port }, "cannot be reached: connect: connection refused"},
	} {
		t.Run(name, func(t *testing.T) {
			p := mailerTo(t, c.f, c.change)
			got := posted(t, p.Post(t.Context(), testMessage("ann@x.example")))
			assert.True(t, got.Dead)
			assert.Contains(t, got.Msg, c.want)
			assert.NotEmpty(t, got.Hint())
			assert.NotContains(t, c.f.verbs(), "AUTH", "the password stays here")
			assert.NotContains(t, c.f.verbs(), "MAIL")
		})
	}
}

func TestPostEndsWithItsContext(t *testing.T) {
	f := &fakeServer{offer: "AUTH PLAIN", answers: map[string][]string{"AUTH": {slow}}}
	p := mailerTo(t, f, nil)
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	assert.ErrorIs(t, p.Post(ctx, testMessage("ann@x.example")), context.DeadlineExceeded)
	assert.NotContains(t, f.verbs(), "MAIL")
	assert.ErrorIs(t, p.Post(ctx, testMessage("ann@x.example")), context.DeadlineExceeded)
}

func TestPostRefusesWhatIsNoMail(t *testing.T) {
	f := &fakeServer{offer: "AUTH PLAIN"}
	p := mailerTo(t, f, nil)
	p.o.Make = func(wear.Message) (*mail.Msg, error) { return nil, errors.New("no mail, " + telltale) }
	got := posted(t, p.Post(t.Context(), testMessage("ann@x.example")))
	assert.True(t, got.Permanent)
	assert.Zero(t, f.calls())
}

func TestCertificateFiles(t *testing.T) {
	empty := filepath.Join(t.TempDir(), "empty.pem")
	require.NoError(t, os.WriteFile(empty, []byte("nothing"), 0o600))
	_, err := NewMailer(MailerOptions{Mail: config.Mail{CAFile: empty}})
	assert.EqualError(t, err, fmt.Sprintf("certificates %q: none in it", empty))
	_, err = NewMailer(MailerOptions{Mail: config.Mail{CAFile: empty + ".x"}})
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestGreeting(t *testing.T) {
	for from, want := range map[string]string{"a@ridge.example": "ridge.example", "a@bücher.example": "localhost", "": "localhost"} {
		assert.Equal(t, want, greeting(from))
	}
}
