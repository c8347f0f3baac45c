//go:build unix

package config

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const telltale = "telltale-5417"

// keeper holds a password as a caller may: fmt asks no method of such fields.
type keeper struct{ secret Password }

func TestPasswordShowsItselfToNobody(t *testing.T) {
	p := NewPassword(telltale)
	assert.Equal(t, telltale, p.Reveal())
	var shown bytes.Buffer
	for _, v := range []any{p, &p, keeper{p}, &keeper{p}, []Password{p}, map[string]any{"p": p}} {
		for _, verb := range strings.Fields("%v %+v %#v %s %q %x %X %d %t %e %p %T") {
			fmt.Fprintf(&shown, verb+"\n", v)
		}
		require.NoError(t, json.NewEncoder(&shown).Encode(v))
		slog.New(slog.NewTextHandler(&shown, nil)).Info("a", "p", v)
		slog.New(slog.NewJSONHandler(&shown, nil)).Info("a", "p", v)
	}
	raw, err := toml.Marshal(struct{ P Password }{p})
	require.NoError(t, err)
	fmt.Fprint(&shown, string(raw), p.String(), p.GoString(), fmt.Errorf("wrong: %v", p))
	assert.NotContains(t, shown.String(), telltale)
	assert.NotContains(t, shown.String(), fmt.Sprintf("%x", telltale))
	assert.Contains(t, shown.String(), "(hidden)")
}

// secret makes a password file of a mode.
func secret(t *testing.T, text string, mode os.FileMode) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	require.NoError(t, os.Chmod(path, mode))
	return path
}

func TestReadPassword(t *testing.T) {
	for name, c := range map[string]struct {
		user, given, file, want string
	}{
		"from the environment":  {"me", telltale, "", telltale},
		"environment wins":      {"me", telltale, secret(t, "other", 0o600), telltale},
		"from a file":           {"me", "", secret(t, telltale+"\n", 0o600), telltale},
		"from a file, Windows":  {"me", "", secret(t, telltale+"\r\n", 0o400), telltale},
		"spaces belong to it":   {"me", "", secret(t, " a b ", 0o600), " a b "},
		"no user":               {"", telltale, "", ""},
		"no user, but its file": {"", "", "/nowhere", ""},
	} {
		t.Run(name, func(t *testing.T) {
			p, err := Mail{User: c.user, PasswordFile: c.file}.ReadPassword(c.given)
			require.NoError(t, err)
			assert.Equal(t, c.want, p.Reveal())
		})
	}
}

func TestReadPasswordRefuses(t *testing.T) {
	dir, fifo := t.TempDir(), filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(fifo, 0o600))
	for name, c := range map[string]struct{ given, file, want string }{
		"none":             {"", "", `mail user "me": no password`},
		"missing":          {"", filepath.Join(dir, "x"), `password file %q: no such file or directory`},
		"others read it":   {"", secret(t, telltale, 0o644), `password file %q: others can read it: its mode is 0644`},
		"group reads it":   {"", secret(t, telltale, 0o640), `password file %q: others can read it: its mode is 0640`},
		"others write it":  {"", secret(t, telltale, 0o602), `password file %q: others can read it: its mode is 0602`},
		"a folder":         {"", dir, `password file %q: not a regular file`},
		"a pipe":           {"", fifo, `password file %q: not a regular file`},
		"empty":            {"", secret(t, "\n", 0o600), `password file %q: is empty`},
		"two lines":        {"", secret(t, telltale+"\nx\n", 0o600), `password file %q: has more than one line, or control characters`},
		"too long":         {"", secret(t, strings.Repeat(telltale, 100), 0o600), `password file %q: longer than 1024 bytes: is it the right file`},
		"NUL in the given": {telltale + "\x00", "", `password in PAWL_MAIL_PASSWORD: has more than one line, or control characters`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Mail{User: "me", PasswordFile: c.file}.ReadPassword(c.given)
			want := c.want
			if strings.Contains(want, "%q") {
				want = fmt.Sprintf(want, c.file)
			}
			require.EqualError(t, err, want)
			assert.NotContains(t, fmt.Sprintf("%+v %#v", err, err), telltale)
		})
	}
}

func TestPasswordFileOfAnother(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Skip("only root can give a file away")
	}
	path := secret(t, telltale, 0o600)
	require.NoError(t, os.Chown(path, 65534, -1))
	_, err := Mail{User: "me", PasswordFile: path}.ReadPassword("")
	assert.EqualError(t, err, fmt.Sprintf("password file %q: belongs to another user", path))
}
