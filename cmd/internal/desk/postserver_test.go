package desk

import (
	"bufio"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// authority is a private authority and the certificate that it gave a server on
// this machine.
type authority struct {
	caFile, certFile, keyFile string
	cert                      tls.Certificate
}

// newAuthority makes them for an address and puts their files into dir.
func newAuthority(t *testing.T, dir string, ip net.IP) authority {
	t.Helper()
	caKey, key := newKey(t), newKey(t)
	ca := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "Test Authority"}, IsCA: true, BasicConstraintsValid: true,
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), KeyUsage: x509.KeyUsageCertSign,
	}
	server := &x509.Certificate{
		SerialNumber: big.NewInt(2), Subject: pkix.Name{CommonName: "mail.test"},
		IPAddresses: []net.IP{ip}, NotBefore: ca.NotBefore, NotAfter: ca.NotAfter,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	caDER, err := x509.CreateCertificate(rand.Reader, ca, ca, caKey.Public(), caKey)
	require.NoError(t, err)
	der, err := x509.CreateCertificate(rand.Reader, server, ca, key.Public(), caKey)
	require.NoError(t, err)
	keyDER, err := x509.MarshalPKCS8PrivateKey(key)
	require.NoError(t, err)
	return authority{
		caFile: putPEM(t, dir, "ca.pem", "CERTIFICATE", caDER), certFile: putPEM(t, dir, "cert.pem", "CERTIFICATE", der),
		keyFile: putPEM(t, dir, "key.pem", "PRIVATE KEY", keyDER), cert: tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key},
	}
}

func newKey(t *testing.T) *ecdsa.PrivateKey {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	return key
}

func putPEM(t *testing.T, dir, name, kind string, der []byte) string {
	t.Helper()
	path := filepath.Join(dir, name)
	require.NoError(t, os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o644))
	return path
}

// Answers that are none: the connection ends, or nothing comes.
const (
	hang = "hang up"
	slow = "slow"
)

// fakeServer says what it is told to, to see what a Mailer makes of it.
type fakeServer struct {
	port  int
	tls   *tls.Config
	offer string // extensions after STARTTLS, parted by |
	plain bool   // offers no STARTTLS
	whole bool   // begins with TLS
	ip    net.IP // in the certificate; nil = that of the server

	mu      sync.Mutex
	answers map[string][]string // verb → what to say, one after the other; then the usual
	heard   []string            // lines, over all connections
}

var here = net.IPv4(127, 0, 0, 1)

// start serves until the test ends.
func (f *fakeServer) start(t *testing.T) *fakeServer {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	f.port = l.Addr().(*net.TCPAddr).Port
	var wg sync.WaitGroup
	t.Cleanup(func() { _ = l.Close(); wg.Wait() })
	wg.Go(func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			wg.Go(func() { f.serve(conn) })
		}
	})
	return f
}

var usualAnswers = map[string]string{
	"CONNECT": "220 hello", "MAIL": "250 ok", "RCPT": "250 ok", "DATA": "354 go on", ".": "250 taken", "RSET": "250 ok",
	"NOOP": "250 ok", "QUIT": "221 bye", "AUTH": "235 welcome", "STARTTLS": "220 go on",
}

func (f *fakeServer) answer(verb string) string {
	f.mu.Lock()
	defer f.mu.Unlock()
	if say := f.answers[verb]; len(say) > 0 {
		f.answers[verb] = say[1:]
		return say[0]
	}
	return usualAnswers[verb]
}

func (f *fakeServer) hears(line string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.heard = append(f.heard, line)
}

// verbs are what was heard, without what followed.
func (f *fakeServer) verbs() (verbs []string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, line := range f.heard {
		verb, _, _ := strings.Cut(line, " ")
		verbs = append(verbs, verb)
	}
	return verbs
}

// calls counts the connections.
func (f *fakeServer) calls() (n int) {
	for _, verb := range f.verbs() {
		if verb == "CONNECT" {
			n++
		}
	}
	return n
}

// said is the first line that began so.
func (f *fakeServer) said(prefix string) string {
	f.mu.Lock()
	defer f.mu.Unlock()
	if i := slices.IndexFunc(f.heard, func(s string) bool { return strings.HasPrefix(s, prefix) }); i >= 0 {
		return f.heard[i]
	}
	return ""
}

func (f *fakeServer) serve(conn net.Conn) {
	defer func() { _ = conn.Close() }()
	_ = conn.SetDeadline(time.Now().Add(20 * time.Second)) // no test waits so long
	secure := f.whole
	if f.whole {
		conn = tls.Server(conn, f.tls)
	}
	in := bufio.NewScanner(conn)
	say := func(text string) bool {
		switch text {
		case hang:
			return false
		case slow:
			return true
		}
		_, err := conn.Write([]byte(strings.ReplaceAll(text, "\n", "\r\n") + "\r\n"))
		return err == nil
	}
	f.hears("CONNECT")
	for ok := say(f.answer("CONNECT")); ok && in.Scan(); {
		line := in.Text()
		verb, _, _ := strings.Cut(strings.ToUpper(line), " ")
		f.hears(line)
		switch verb {
		case "EHLO":
			ok = say(f.extensions(secure))
		case "STARTTLS":
			if ok = say(f.answer(verb)); ok {
				conn, secure = tls.Server(conn, f.tls), true
				in = bufio.NewScanner(conn)
			}
		case "DATA":
			text := f.answer(verb)
			if ok = say(text); ok && strings.HasPrefix(text, "354") {
				for in.Scan() && in.Text() != "." {
				}
				f.hears(".")
				ok = say(f.answer("."))
			}
		default:
			ok = say(f.answer(verb)) && verb != "QUIT"
		}
	}
}

func (f *fakeServer) extensions(secure bool) string {
	list := []string{"fake.example", "8BITMIME"}
	if secure || f.plain {
		list = append(list, strings.FieldsFunc(f.offer, func(r rune) bool { return r == '|' })...)
	}
	if !secure && !f.plain {
		list = append(list, "STARTTLS")
	}
	return "250-" + strings.Join(list[:len(list)-1], "\n250-") + "\n250 " + list[len(list)-1]
}
