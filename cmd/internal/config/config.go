package config

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/adrg/xdg"
)

// Config is what the settings file says.
type Config struct {
	Shop      Shop   `toml:"shop"`
	Mail      Mail   `toml:"mail"`
	Templates string `toml:"templates"` // folder of the shop's own wording; "" = what is shipped

	path string // of the file, for errors
}

// Shop is who writes to the owners of bikes. Its fields are those of
// report.Shop, so that one converts to the other.
type Shop struct {
	Name     string `toml:"name"`
	Address  string `toml:"address"` // may have several lines
	Phone    string `toml:"phone"`
	From     string `toml:"from"`      // e-mail address without a name
	ReplyTo  string `toml:"reply_to"`  // the same
	StopURL  string `toml:"stop_url"`  // https: a page where messages are stopped by one click
	StopMail string `toml:"stop_mail"` // e-mail address that takes requests to stop
}

// Mail is how the server that sends the shop's mail is reached.
type Mail struct {
	Host         string   `toml:"host"`
	Port         int      `toml:"port"` // 0 in the file = the usual one, see [Security]
	TLS          Security `toml:"tls"`
	User         string   `toml:"user"`          // "" = no log-in
	PasswordFile string   `toml:"password_file"` // see [Mail.ReadPassword]
	CAFile       string   `toml:"ca_file"`       // PEM certificates that are trusted beside the system's
}

// Security is how the way to the server is kept private.
type Security string

// The kinds of security, and the usual ports (RFC 6409, RFC 8314 and RFC 5321).
const (
	StartTLS    Security = "starttls" // port 587; nothing is sent before it
	ImplicitTLS Security = "implicit" // port 465
	NoTLS       Security = "none"     // port 25, only on this machine
)

var usualPorts = map[Security]int{StartTLS: 587, ImplicitTLS: 465, NoTLS: 25}

// DefaultPath is where the settings file lies: where the user says, by PAWL_CONFIG,
// which the caller reads, or in the folder that the system has for settings.
func DefaultPath(named string) string {
	return cmp.Or(named, filepath.Join(xdg.ConfigHome, "pawl", "config.toml"))
}

// Load reads the settings file at path; one that does not exist is empty.
// Errors give file, line and column.
func Load(path string) (Config, error) {
	c := Config{path: path}
	text, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return Config{}, fmt.Errorf("settings %q: %w", path, cause(err))
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff")) // editors put it there, TOML knows it not
	if err := decode(text, path, &c); err != nil {
		return Config{}, err
	}
	c.usual()
	if wrong := c.check(); wrong != nil {
		return Config{}, wrong.at(path, text)
	}
	for _, p := range []*string{&c.Templates, &c.Mail.PasswordFile, &c.Mail.CAFile} {
		if *p != "" && !filepath.IsAbs(*p) {
			*p = filepath.Join(filepath.Dir(path), *p)
		}
	}
	return c, nil
}

// usual fills in what a file about a mail server may leave out.
func (c *Config) usual() {
	if c.Mail.Host == "" {
		return
	}
	c.Mail.TLS = cmp.Or(c.Mail.TLS, StartTLS)
	c.Mail.Port = cmp.Or(c.Mail.Port, usualPorts[c.Mail.TLS])
}

// CanSend says what a file must hold before mail can be sent.
func (c Config) CanSend() error {
	for _, need := range []struct{ word, value, like string }{
		{"shop.from", c.Shop.From, `from = "service@shop.example"`},
		{"mail.host", c.Mail.Host, `host = "smtp.shop.example"`},
	} {
		if need.value == "" {
			return &Error{
				Msg: fmt.Sprintf("settings %q: %s is missing, so no mail can be sent", c.path, need.word),
				Tip: fmt.Sprintf("write %s under [%s] there", need.like, need.word[:4]),
			}
		}
	}
	return nil
}

// cause is what is wrong with a file without its name, which the caller says.
func cause(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// Error is a setting that is wrong, or missing.
type Error struct {
	Msg string
	Tip string // what to do next; "" = nothing that the message does not say
}

// Error says what is wrong, and where.
func (e *Error) Error() string { return e.Msg }

// Hint says what to do next.
func (e *Error) Hint() string { return e.Tip }
