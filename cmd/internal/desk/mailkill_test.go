package desk

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/config"
	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// errand is what the child process of a test is to send.
type errand struct {
	Book string
	Mail config.Mail
	Now  time.Time
	Most int    // after so many messages it waits for its end; 0 = it never does
	At   string // before the first message to a name that ends so it waits as well; "" = it does not
}

const errandVar = "PAWL_TEST_ERRAND"

// tellingPoster says when a message was taken, and when it waits for its end.
type tellingPoster struct {
	Poster
	errand
	posted int
}

func (p *tellingPoster) Post(ctx context.Context, m wear.Message) error {
	name, _, _ := strings.Cut(m.To, "@")
	if p.Most > 0 && p.posted == p.Most || p.At != "" && strings.HasSuffix(name, p.At) {
		fmt.Println("waiting")
		_, _ = io.Copy(io.Discard, os.Stdin) // ends with the parent, if that is killed first
		os.Exit(1)
	}
	err := p.Poster.Post(ctx, m)
	p.posted++
	fmt.Println("posted")
	return err
}

// TestSendingChild is no test but the process that others start and kill.
func TestSendingChild(t *testing.T) {
	text := os.Getenv(errandVar)
	if text == "" {
		t.Skip("runs in a process of its own")
	}
	var e errand
	require.NoError(t, json.Unmarshal([]byte(text), &e))
	s := &mailServer{}
	d := &Desk{Book: store.At(e.Book, store.Options{}), Now: e.Now}
	poster := &tellingPoster{s.mailer(t, e.Mail, shopPassword), e, 0}
	res, err := d.SendOutbox(t.Context(), poster, clock(e.Now))
	for range 10 { // a busy machine: the server has not answered in time
		var p *PostError
		if !errors.As(err, &p) || !p.Dead {
			break
		}
		res, err = d.SendOutbox(t.Context(), poster, clock(e.Now))
	}
	require.NoError(t, err)
	assert.Zero(t, res.Left)
}

// child runs a child, tells hear each line that it writes, and returns how it ended.
func child(t *testing.T, e errand, hear func(line string, p *os.Process)) error {
	t.Helper()
	text, err := json.Marshal(e)
	require.NoError(t, err)
	cmd := exec.Command(os.Args[0], "-test.run=^TestSendingChild$", "-test.count=1")
	cmd.Env = append(os.Environ(), errandVar+"="+string(text))
	cmd.Stderr = os.Stderr
	_, err = cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	for in := bufio.NewScanner(out); in.Scan(); {
		hear(in.Text(), cmd.Process)
	}
	return cmd.Wait()
}

// send lets a child send what is due. It returns how many messages it had posted.
func send(t *testing.T, e errand) (posted int) {
	t.Helper()
	rest := ""
	err := child(t, e, func(line string, _ *os.Process) {
		if line == "posted" {
			posted++
		} else {
			rest += line + "\n"
		}
	})
	require.NoError(t, err, rest)
	return posted
}

// sendKilled kills a child a little after so many messages, or when it waits: at the
// latest 20 messages on, so that the kill finds it at work however slow this process is.
func sendKilled(t *testing.T, e errand, after int, delay time.Duration) {
	t.Helper()
	e.Most = after + 20
	posted := 0
	err := child(t, e, func(line string, p *os.Process) {
		switch line {
		case "posted":
			if posted++; posted != after {
				return
			}
			time.Sleep(delay)
			fallthrough
		case "waiting":
			_ = p.Kill() // how it ended tells whether that worked
		}
	})
	var ended *exec.ExitError
	require.ErrorAs(t, err, &ended)
	require.Equal(t, syscall.SIGKILL, ended.Sys().(syscall.WaitStatus).Signal(), "it was to be killed after %d messages", after)
}

// A run that is killed midway neither loses a message nor doubles one without
// saying so. Every tenth person's server first asks to come back later; the run is
// killed at six seeded moments and once between the mark and the try of one whom the
// server will put off; then it goes on until nothing is left to send. Each person
// has one message, or the outbox says that it may be two.
func TestSendOutboxSurvivesKills(t *testing.T) {
	people, kills := 2000, 6
	if testing.Short() {
		people = 200
	}
	names := make([]string, people)
	for i := range names {
		names[i] = fmt.Sprintf("p%04d", i)
	}
	s := newMailServer(t, names...)
	book := storetest.OpenAt(t, filepath.Join(s.Dir, "the.book"), store.Options{})
	fillOutbox(t, book, names...)

	rng := rand.New(rand.NewPCG(6, 1))
	e := errand{Book: book.Path(), Mail: s.settings(), Now: sendingDay}
	began := time.Now()
	for range kills {
		sendKilled(t, e, 1+rng.IntN(people/kills-1), time.Duration(rng.IntN(8000))*time.Microsecond)
	}
	held := e
	held.At = "0"
	sendKilled(t, held, people, 0)
	kills++
	s.settle(t)
	t.Logf("after %d kills: %v", kills, storyOf(t, s, book))
	send(t, e)
	e.Now = e.Now.Add(16 * time.Minute)
	later := putOff(t, s, book, e.Now)
	assert.LessOrEqual(t, len(later), people/10)
	assert.Equal(t, len(later), send(t, e), "only those who asked for it are tried later")
	s.settle(t)
	told := storyOf(t, s, book)
	t.Logf("at last: %v, in %v", told, time.Since(began).Round(time.Second))
	assert.Equal(t, people, told.accepted)
	assert.LessOrEqual(t, told.perhaps, kills, "no more than one for each kill")
	assert.Greater(t, told.second, people/20, "who was asked to come back came back")
}

// story is what outbox and mailboxes say together.
type story struct{ accepted, perhaps, twice, second int }

func (s story) String() string {
	return fmt.Sprintf("%d accepted, %d of them at a second try, %d perhaps twice, %d twice", s.accepted, s.second, s.perhaps, s.twice)
}

// putOff are the people whose messages wait. Each was asked to come back later, by
// the server and by no other cause, and its time has come by then.
func putOff(t *testing.T, s *mailServer, book *store.Book, then time.Time) (names []string) {
	t.Helper()
	for name, m := range outboxOf(t, book) {
		if m.State == wear.Accepted {
			continue
		}
		require.Equal(t, wear.Waiting, m.State, name)
		require.Equal(t, "451 come back later", m.Why, name)
		require.FileExists(t, filepath.Join(s.path("later"), name))
		require.LessOrEqual(t, m.Next, wear.At(then), "%s is put off for the first time, at try %d", name, m.Tries)
		names = append(names, name)
	}
	return names
}

// storyOf compares the outbox with the mailboxes: a message is accepted if and only
// if it is there, once, unless a try of it broke off.
func storyOf(t *testing.T, s *mailServer, book *store.Book) (told story) {
	t.Helper()
	for name, m := range outboxOf(t, book) {
		ids := s.messages(t, name)
		for _, id := range ids {
			require.Equal(t, m.MessageID, id, "a message of another")
		}
		unsure := m.Twice || m.State == wear.Trying
		switch {
		case m.State == wear.Accepted && m.Twice:
			require.Contains(t, []int{1, 2}, len(ids), "messages to %s", name)
		case m.State == wear.Accepted:
			require.Len(t, ids, 1, "messages to %s", name)
		case unsure:
			require.LessOrEqual(t, len(ids), 1, "messages to %s", name)
		default:
			require.Empty(t, ids, "messages to %s, which is %v", name, m.State)
		}
		if m.State == wear.Accepted {
			told.accepted++
			told.second += min(1, m.Tries-1)
		}
		if unsure {
			told.perhaps++
			told.twice += max(0, len(ids)-1)
		}
	}
	return told
}

// What a real server says no to, and what then is in the outbox.
func TestRealServerRefuses(t *testing.T) {
	s := newMailServer(t, "ann", "ben")
	for name, c := range map[string]struct {
		change   func(*config.Mail)
		password string
		code     int
		want     string
	}{
		"wrong password":     {nil, "telltale-wrong", 535, "it refused the log-in of"},
		"no log-in":          {func(m *config.Mail) { m.User = "" }, shopPassword, 530, "refuses the sender: 530 log in first"},
		"strange authority":  {func(m *config.Mail) { m.CAFile = "" }, shopPassword, 0, "its certificate is not trusted"},
		"another name":       {func(m *config.Mail) { m.Host = "localhost" }, shopPassword, 0, "its certificate is not trusted"},
		"implicit TLS there": {func(m *config.Mail) { m.TLS = config.ImplicitTLS }, shopPassword, 0, "first record does not look like"},
		"nobody there":       {func(m *config.Mail) { m.Port = freePort(t) }, shopPassword, 0, "cannot be reached"},
	} {
		t.Run(name, func(t *testing.T) {
			d, m := outboxDesk(t, "ann", "ben"), s.settings()
			if c.change != nil {
				c.change(&m)
			}
			res, err := d.SendOutbox(t.Context(), s.mailer(t, m, c.password), clock(sendingDay))
			got := posted(t, err)
			assert.True(t, got.Dead)
			assert.Equal(t, c.code, got.Code)
			assert.Contains(t, got.Msg, c.want)
			assert.Equal(t, SendResult{Left: 2}, res)
			for _, m := range outboxOf(t, d.Book) {
				assert.Equal(t, wear.Waiting, m.State)
				assert.Zero(t, m.Tries)
				assert.NotContains(t, m.Why, "telltale")
			}
			assert.Empty(t, s.messages(t, "ann"))
		})
	}
}

func TestRealServerRefusesARecipient(t *testing.T) {
	s := newMailServer(t, "ann", "cat", "dan0")
	d := outboxDesk(t, "ann", "ben", "cat", "dan0")
	res, err := d.SendOutbox(t.Context(), s.mailer(t, s.settings(), shopPassword), clock(sendingDay))
	require.NoError(t, err)
	assert.Equal(t, SendResult{Accepted: 2, Rejected: 1, Later: 1}, res)
	got := outboxOf(t, d.Book)
	assert.Equal(t, "550 this address has no mailbox here", got["ben"].Why)
	assert.Equal(t, "451 come back later", got["dan0"].Why)
	s.settle(t)
	assert.Equal(t, []string{"ann@ridge.example"}, s.messages(t, "ann"))
	assert.Equal(t, []string{"cat@ridge.example"}, s.messages(t, "cat"))
	assert.Empty(t, s.messages(t, "dan0"))
}

// dyingPoster stops the server before a message.
type dyingPoster struct {
	Poster
	server *mailServer
	left   int
}

func (p *dyingPoster) Post(ctx context.Context, m wear.Message) error {
	if p.left--; p.left == 0 {
		p.server.stop()
	}
	return p.Poster.Post(ctx, m)
}

// A server that dies midway ends the run; the rest goes out when it is back.
func TestRealServerDiesMidway(t *testing.T) {
	names := []string{"ann", "ben", "cat", "dan", "eve"}
	s := newMailServer(t, names...)
	d := outboxDesk(t, names...)
	mailer := s.mailer(t, s.settings(), shopPassword)
	res, err := d.SendOutbox(t.Context(), &dyingPoster{mailer, s, 3}, clock(sendingDay))
	got := posted(t, err)
	assert.True(t, got.Dead)
	assert.Contains(t, got.Msg, "cannot be reached")
	assert.Equal(t, SendResult{Accepted: 2, Left: 3}, res)
	s.start(t)
	res, err = d.SendOutbox(t.Context(), mailer, clock(sendingDay))
	require.NoError(t, err)
	assert.Equal(t, SendResult{Accepted: 3}, res)
	s.settle(t)
	for _, name := range names {
		assert.Equal(t, []string{name + "@ridge.example"}, s.messages(t, name))
		assert.False(t, outboxOf(t, d.Book)[name].Twice, name)
	}
}
