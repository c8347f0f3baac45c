package config

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"syscall"
	"unicode"
)

const (
	hidden = "(hidden)"
	// longest is more than any password has, so that no wrong file is swallowed.
	longest = 1024
)

// Password is a password that no format, log or encoder shows. It is kept in a
// function, because fmt reads the fields of fields without asking their methods.
type Password struct{ reveal func() string }

// NewPassword takes a password in. It must not be used in a command: see [Mail.ReadPassword].
func NewPassword(text string) Password { return Password{func() string { return text }} }

// Reveal is the password itself, for the server and nobody else.
func (p Password) Reveal() string {
	if p.reveal == nil {
		return ""
	}
	return p.reveal()
}

// String hides it.
func (Password) String() string { return hidden }

// GoString hides it.
func (Password) GoString() string { return hidden }

// MarshalText hides it, in JSON and logs too.
func (Password) MarshalText() ([]byte, error) { return []byte(hidden), nil }

// Format hides it from every verb, also those that do not ask String.
func (Password) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// ReadPassword finds the password of the user of the mail server: given is what
// PAWL_MAIL_PASSWORD holds, which the caller reads; where that is empty,
// password_file is read. It must be a regular file that belongs to the user and
// that nobody else can read. Without a user there is no password.
func (m Mail) ReadPassword(given string) (Password, error) {
	switch {
	case m.User == "":
		return Password{}, nil
	case given != "":
		return checked("password in PAWL_MAIL_PASSWORD", given)
	case m.PasswordFile == "":
		return Password{}, &Error{
			Msg: fmt.Sprintf("mail user %q: no password", m.User),
			Tip: "set PAWL_MAIL_PASSWORD, or name a file of mode 0600 as password_file under [mail]",
		}
	}
	text, err := readSecret(m.PasswordFile)
	if err != nil {
		return Password{}, err
	}
	return checked(fmt.Sprintf("password file %q", m.PasswordFile), strings.TrimSuffix(strings.TrimSuffix(text, "\n"), "\r"))
}

// readSecret reads a file that only its owner can read.
func readSecret(path string) (string, error) {
	// Without waiting: opening a pipe would wait for whoever writes to it.
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return "", fmt.Errorf("password file %q: %w", path, cause(err))
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return "", fmt.Errorf("password file %q: %w", path, cause(err))
	}
	if err := private(path, info); err != nil {
		return "", err
	}
	raw, err := io.ReadAll(io.LimitReader(f, longest+1))
	if err != nil {
		return "", fmt.Errorf("password file %q: %w", path, cause(err))
	}
	return string(raw), nil
}

// private refuses a file that others could read, or have put there.
func private(path string, info os.FileInfo) error {
	wrong := func(tip, why string) error {
		return &Error{Msg: fmt.Sprintf("password file %q: %s", path, why), Tip: tip}
	}
	switch {
	case !info.Mode().IsRegular():
		return wrong("name a regular file as password_file", "not a regular file")
	case !mine(info):
		return wrong(fmt.Sprintf("make one of your own: install -m 600 /dev/null %q", path+".mine"), "belongs to another user")
	case exposed(info):
		return wrong(fmt.Sprintf("chmod 600 %q", path), fmt.Sprintf("others can read it: its mode is %04o", info.Mode().Perm()))
	}
	return nil
}

// checked refuses what cannot be a password. Its errors do not quote it.
func checked(noun, text string) (Password, error) {
	switch {
	case text == "":
		return Password{}, errors.New(noun + ": is empty")
	case len(text) > longest:
		return Password{}, fmt.Errorf("%s: longer than %d bytes: is it the right file", noun, longest)
	case strings.ContainsFunc(text, unicode.IsControl):
		return Password{}, errors.New(noun + ": has more than one line, or control characters")
	}
	return NewPassword(text), nil
}
