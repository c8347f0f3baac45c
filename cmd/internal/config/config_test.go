package config

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const whole = `templates = "wording"

[shop]
name = "Ridge Workshop"
address = """
1 Mill Lane
Ridgeton"""
phone = "+44 1632 960001"
from = "service@ridge.example"
reply_to = "desk@ridge.example"
stop_url = "https://ridge.example/stop"
stop_mail = "stop@ridge.example"

[mail]
host = "smtp.ridge.example"
port = 2525
tls = "implicit"
user = "service"
password_file = "secret"
ca_file = "/etc/own.pem"
`

// write puts text into a settings file and returns its path.
func write(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "config.toml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	return path
}

func TestLoadWholeFile(t *testing.T) {
	path := write(t, "\ufeff"+whole)
	c, err := Load(path)
	require.NoError(t, err)
	dir := filepath.Dir(path)
	assert.Equal(t, Config{
		Shop: Shop{
			Name: "Ridge Workshop", Address: "1 Mill Lane\nRidgeton", Phone: "+44 1632 960001",
			From: "service@ridge.example", ReplyTo: "desk@ridge.example",
			StopURL: "https://ridge.example/stop", StopMail: "stop@ridge.example",
		},
		Mail: Mail{
			Host: "smtp.ridge.example", Port: 2525, TLS: ImplicitTLS, User: "service",
			PasswordFile: filepath.Join(dir, "secret"), CAFile: "/etc/own.pem",
		},
		Templates: filepath.Join(dir, "wording"),
		path:      path,
	}, c)
	assert.NoError(t, c.CanSend())
}

func TestMissingFileIsEmpty(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none.toml")
	c, err := Load(path)
	require.NoError(t, err)
	assert.Equal(t, Config{path: path}, c)
	err = c.CanSend()
	assert.EqualError(t, err, `settings "`+path+`": shop.from is missing, so no mail can be sent`)
	c.Shop.From = "service@ridge.example"
	assert.ErrorContains(t, c.CanSend(), "mail.host is missing")
}

// The usual ports: RFC 6409, 3.1 (587), RFC 8314, 3.3 (465), RFC 5321, 4.5.4.2 (25).
func TestUsualPorts(t *testing.T) {
	for text, want := range map[string]Mail{
		`host = "a.example"`:                       {Host: "a.example", Port: 587, TLS: StartTLS},
		"host = \"a.example\"\ntls = \"implicit\"": {Host: "a.example", Port: 465, TLS: ImplicitTLS},
		"host = \"localhost\"\ntls = \"none\"":     {Host: "localhost", Port: 25, TLS: NoTLS},
		"host = \"::1\"\ntls = \"none\"":           {Host: "::1", Port: 25, TLS: NoTLS},
		"host = \"127.0.0.9\"\ntls = \"none\"":     {Host: "127.0.0.9", Port: 25, TLS: NoTLS},
	} {
		c, err := Load(write(t, "[mail]\n"+text))
		require.NoError(t, err, text)
		assert.Equal(t, want, c.Mail)
	}
}

func TestWrongFiles(t *testing.T) {
	server := "[mail]\nhost = \"smtp.ridge.example\"\n"
	for name, c := range map[string]struct{ text, want string }{
		"unknown word":     {"[shop]\nname = \"x\"\nreply-to = \"a@b.example\"", `:3:1: shop.reply-to: no such setting (did you mean reply_to?)`},
		"unknown table":    {"[sohp]\nname = \"x\"", `:1:2: sohp: no such setting (did you mean shop?)`},
		"nothing like it":  {"qqqqqqqqqqqq = 1", `:1:1: qqqqqqqqqqqq: no such setting`},
		"the password":     {server + "password = \"telltale\"", `:3:1: mail.password: no such setting (did you mean password_file?)`},
		"not TOML":         {server + "user = \"service", `:3:15: not TOML: is a quote or a bracket missing`},
		"twice":            {server + server, `:3:2: mail: here twice, or its value is of the wrong kind`},
		"another kind":     {server + "port = \"telltale\"", `:3:8: mail.port: here twice, or its value is of the wrong kind`},
		"port too high":    {server + "\nport = 70000", `:4:1: mail.port: not a port from 1 to 65535`},
		"no such security": {server + "tls = \"ssl\"", `:3:1: mail.tls: none of starttls, implicit and none`},
		"plain, far":       {server + "tls = \"none\"", `:3:1: mail.tls: none is for a server on this machine only`},
		"plain, private":   {"[mail]\nhost = \"10.0.0.1\"\ntls = \"none\"", `:3:1: mail.tls: none is for a server on this machine only`},
		"plain log-in":     {"[mail]\nhost = \"localhost\"\ntls = \"none\"\nuser = \"me\"", `:4:1: mail.user: a password is not sent without TLS`},
		"host and port":    {"[mail]\nhost = \"a.example:25\"", `:2:1: mail.host: not the name or the address of a machine`},
		"host missing":     {"[mail]\nuser = \"me\"", `:1:1: mail.host: missing, though other settings of [mail] are there`},
		"whose password":   {server + "password_file = \"x\"", `:3:1: mail.password_file: whose password is it: mail.user is missing`},
		"no address":       {"[shop]\nfrom = \"Shop <a@b.example>\"", `:2:1: shop.from: not an e-mail address`},
		"reply to":         {"[shop]\nreply_to = \"a@b.example, c@d.example\"", `:2:1: shop.reply_to: not an e-mail address`},
		"stop by http":     {"[shop]\nstop_url = \"http://shop.example/stop\"", `:2:1: shop.stop_url: not the address of a page by https`},
		"line in a name":   {"[shop]\nname = \"a\\nBcc: x@y.example\"", `:2:1: shop.name: holds a control character or a line break`},
		"NUL in a user":    {server + "user = \"a\\u0000b\"", `:3:1: mail.user: holds a control character or a line break`},
	} {
		t.Run(name, func(t *testing.T) {
			path := write(t, c.text)
			got, err := Load(path)
			require.EqualError(t, err, path+c.want)
			assert.Equal(t, Config{}, got)
			assert.NotContains(t, err.Error(), "telltale")
		})
	}
}

func TestFolderIsNoSettings(t *testing.T) {
	dir := t.TempDir()
	_, err := Load(dir)
	assert.EqualError(t, err, `settings "`+dir+`": is a directory`)
}

func TestDefaultPath(t *testing.T) {
	assert.Equal(t, "/own.toml", DefaultPath("/own.toml"))
	assert.Equal(t, filepath.Join("pawl", "config.toml"), filepath.Join(filepath.Base(filepath.Dir(DefaultPath(""))), filepath.Base(DefaultPath(""))))
}
