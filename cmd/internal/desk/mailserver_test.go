package desk

import (
	"bytes"
	_ "embed"
	"fmt"
	"net"
	"net/mail"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"text/template"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/cmd/internal/config"
)

// shopPassword is the password of the user "shop".
const shopPassword = "telltale-right"

//go:embed testdata/exim.conf
var eximConf string

// mailServer is an exim of the test's own: TLS and log-in are required, each
// address that has a mailbox is delivered to its file, and those whose name ends
// in 0 are first asked to come back later.
type mailServer struct {
	Dir, Cert, Key string
	Port, User     int // the port, and the user as whom it runs
	Group          int
	Password       string

	authority authority
	program   string
	daemon    *exec.Cmd
}

// newMailServer starts one with mailboxes of these names. It runs as the user of
// the test, or as nobody where that is root, for exim delivers nothing as root.
func newMailServer(t *testing.T, names ...string) *mailServer {
	t.Helper()
	s := &mailServer{program: needsExim(t), User: os.Getuid(), Group: os.Getgid(), Password: shopPassword}
	if s.User == 0 {
		nobody, err := user.Lookup("nobody")
		require.NoError(t, err)
		s.User, _ = strconv.Atoi(nobody.Uid)
		s.Group, _ = strconv.Atoi(nobody.Gid)
	}
	s.Dir = s.folder(t)
	s.authority = newAuthority(t, s.Dir, here)
	s.Cert, s.Key = s.authority.certFile, s.authority.keyFile
	for _, name := range names {
		require.NoError(t, os.WriteFile(s.mailbox(name), nil, 0o644))
	}
	s.Port = freePort(t)
	var conf bytes.Buffer
	require.NoError(t, template.Must(template.New("exim").Parse(eximConf)).Execute(&conf, s))
	require.NoError(t, os.WriteFile(s.path("conf"), conf.Bytes(), 0o644))
	s.handOver(t)
	s.start(t)
	t.Cleanup(s.stop)
	return s
}

// needsExim looks the program up; see needs in package ingest.
func needsExim(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("exim4")
	if err != nil {
		path, err = exec.LookPath("/usr/sbin/exim4") // not on the path of every user
	}
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("exim4 is not installed")
		}
		t.Skip("exim4 is not installed")
	}
	return path
}

// folder makes the folder of the server: in memory where the system has such a
// place, since exim syncs every file that it writes.
func (s *mailServer) folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "mailserver")
	if err != nil {
		dir, err = os.MkdirTemp("", "mailserver")
	}
	require.NoError(t, err)
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	for _, sub := range []string{"spool", "mail", "later"} {
		require.NoError(t, os.Mkdir(filepath.Join(dir, sub), 0o755))
	}
	return dir
}

// handOver gives all files to the user of the server.
func (s *mailServer) handOver(t *testing.T) {
	t.Helper()
	if os.Getuid() != 0 {
		return
	}
	require.NoError(t, filepath.WalkDir(s.Dir, func(path string, _ os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		return os.Chown(path, s.User, s.Group)
	}))
}

func (s *mailServer) path(name string) string    { return filepath.Join(s.Dir, name) }
func (s *mailServer) mailbox(name string) string { return filepath.Join(s.Dir, "mail", name) }

func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// start runs the server until it answers.
func (s *mailServer) start(t *testing.T) {
	t.Helper()
	said := &bytes.Buffer{}
	s.daemon = exec.Command(s.program, "-C", s.path("conf"), "-bdf", "-q1s")
	s.daemon.Stdout, s.daemon.Stderr = said, said
	s.daemon.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if os.Getuid() == 0 {
		s.daemon.SysProcAttr.Credential = &syscall.Credential{Uid: uint32(s.User), Gid: uint32(s.Group)}
	}
	s.daemon.WaitDelay = time.Second // its children hold the pipe
	require.NoError(t, s.daemon.Start())
	require.Eventually(t, func() bool {
		conn, err := net.Dial("tcp", fmt.Sprintf("127.0.0.1:%d", s.Port))
		if err == nil {
			_ = conn.Close()
		}
		return err == nil
	}, 2*time.Minute, 20*time.Millisecond, "exim4 does not answer: %s", s.log())
}

// stop ends the server and all its children at once.
func (s *mailServer) stop() {
	if s.daemon != nil {
		_ = syscall.Kill(-s.daemon.Process.Pid, syscall.SIGKILL)
		_ = s.daemon.Wait() // it was killed
		s.daemon = nil
	}
}

// log is what the server wrote last of what went wrong.
func (s *mailServer) log() string {
	text, _ := os.ReadFile(s.path("spool/paniclog"))
	return string(text[max(0, len(text)-2000):])
}

// settle waits until nothing is left to deliver. Only a queue that stands still for
// minutes is an error, not one that takes long.
func (s *mailServer) settle(t *testing.T) {
	t.Helper()
	const patience = 2 * time.Minute
	last, moved := -1, time.Now()
	for {
		left, err := os.ReadDir(s.path("spool/input"))
		switch {
		case err == nil && len(left) == 0:
			return
		case len(left) != last:
			last, moved = len(left), time.Now()
		}
		require.Less(t, time.Since(moved), patience, "exim4 does not deliver: %s", s.log())
		time.Sleep(50 * time.Millisecond)
	}
}

// messages are the Message-IDs in a mailbox, without angle brackets.
func (s *mailServer) messages(t *testing.T, name string) (ids []string) {
	t.Helper()
	text, err := os.ReadFile(s.mailbox(name))
	require.NoError(t, err)
	for _, part := range strings.Split("\n"+string(text), "\nFrom ")[1:] {
		_, part, _ = strings.Cut(part, "\n")
		m, err := mail.ReadMessage(strings.NewReader(part))
		require.NoError(t, err)
		ids = append(ids, strings.Trim(m.Header.Get("Message-ID"), "<>"))
	}
	return ids
}

// settings are those of a shop that sends by the server.
func (s *mailServer) settings() config.Mail {
	return config.Mail{Host: "127.0.0.1", Port: s.Port, TLS: config.StartTLS, User: "shop", CAFile: s.authority.caFile}
}

// mailer sends by the server.
func (s *mailServer) mailer(t *testing.T, m config.Mail, password string) *Mailer {
	t.Helper()
	p, err := NewMailer(MailerOptions{Mail: m, Password: config.NewPassword(password), From: testShop.From, Make: makeMail})
	require.NoError(t, err)
	t.Cleanup(p.Close)
	return p
}
