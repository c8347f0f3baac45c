package wear

import (
	"net/mail"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestConsentHolds(t *testing.T) {
	for name, c := range map[string]struct {
		c    Consent
		at   Instant
		want bool
	}{
		"never given":           {Consent{}, days(5), false},
		"without its way":       {Consent{Given: days(1)}, days(5), false},
		"without its day":       {Consent{How: "form"}, days(5), false},
		"before it was given":   {Consent{Given: days(1), How: "form"}, days(1) - 1, false},
		"as it is given":        {Consent{Given: days(1), How: "form"}, days(1), true},
		"long after":            {Consent{Given: days(1), How: "form"}, days(9999), true},
		"before it ends":        {Consent{Given: days(1), How: "form", Ended: days(5)}, days(5) - 1, true},
		"as it ends":            {Consent{Given: days(1), How: "form", Ended: days(5)}, days(5), false},
		"after its end":         {Consent{Given: days(1), How: "form", Ended: days(5)}, days(6), false},
		"an end from before it": {Consent{Given: days(5), How: "form", Ended: days(1)}, days(6), false},
	} {
		assert.Equal(t, c.want, c.c.Holds(c.at), name)
	}
}

func TestPlainEmailTakes(t *testing.T) {
	local64, label63 := strings.Repeat("x", 64), strings.Repeat("d", 63)
	for _, text := range []string{
		"kim@mail.example", "Kim.O-Neil+bikes_2@Sub.Mail.example", "k@localhost", "1@2.example",
		"!#$%&'*+-/?=^_`{|}~@mail.example", // the letters of a dot-atom: RFC 5322, 3.2.3
		"kim@xn--bcher-kva.example",        // bücher.example: RFC 3492, from memory
		local64 + "@mail.example", "kim@" + label63 + ".example",
	} {
		got, ok := PlainEmail("  " + text + "\t\n")
		require.True(t, ok, text)
		assert.Equal(t, text, got)
		parsed, err := mail.ParseAddress(got) // the standard library agrees
		require.NoError(t, err, text)
		assert.Equal(t, mail.Address{Address: got}, *parsed)
	}
}

func TestPlainEmailRefuses(t *testing.T) {
	for name, text := range map[string]string{
		"empty":                   "",
		"space":                   " \t",
		"no @":                    "kim.mail.example",
		"no local part":           "@mail.example",
		"no host":                 "kim@",
		"two @":                   "kim@a@mail.example",
		"dots":                    "kim..o@mail.example",
		"dot first":               ".kim@mail.example",
		"dot last":                "kim.@mail.example",
		"dot at the host's end":   "kim@mail.example.",
		"no label":                "kim@mail..example",
		"hyphen first":            "kim@-mail.example",
		"hyphen last":             "kim@mail-.example",
		"a host's underscore":     "kim@my_mail.example",
		"CR LF":                   "kim@mail.example\r\nBcc: all@mail.example",
		"CR LF in front":          "kim\r\n@mail.example",
		"LF":                      "kim@mail.example\nX: y",
		"folded":                  "kim@mail\r\n .example",
		"NUL":                     "kim\x00@mail.example",
		"escape":                  "kim\x1b[2J@mail.example",
		"tab":                     "kim\to@mail.example",
		"quoted":                  `"kim"@mail.example`,
		"quoted CR LF":            "\"kim\r\n o\"@mail.example",
		"quoted @":                `"kim@a"@mail.example`,
		"backslash":               `kim\@mail.example`,
		"comment":                 "kim@mail.example (Kim)",
		"comment in front":        "(Kim)kim@mail.example",
		"comment within":          "kim@(a)mail.example",
		"name":                    "Kim <kim@mail.example>",
		"angle brackets":          "<kim@mail.example>",
		"route":                   "<@a.example:kim@mail.example>",
		"list":                    "kim@mail.example, all@mail.example",
		"list with semicolon":     "kim@mail.example;all@mail.example",
		"group":                   "all:kim@mail.example;",
		"link":                    "mailto:kim@mail.example",
		"number of a host":        "kim@[127.0.0.1]",
		"encoded word":            "=?utf-8?q?kim=0D=0A?=@mail.example",
		"letters beyond ASCII":    "kím@mail.example",
		"host beyond ASCII":       "kim@bücher.example",
		"full-width @":            "kim＠mail.example",
		"right-to-left mark":      "kim\u200f@mail.example",
		"zero width space at end": "kim@mail.example\u200b",
		"not UTF-8":               "kim\xff@mail.example",
		"65 before the @":         strings.Repeat("x", 65) + "@mail.example",
		"a label of 64":           "kim@" + strings.Repeat("d", 64) + ".example",
		"255 in all":              "kim@" + strings.Repeat("d.", 125) + "d",
		"10 kB before the @":      strings.Repeat("x", 10_000) + "@mail.example",
		"10 kB behind it":         "kim@" + strings.Repeat("mail.", 2_000) + "example",
		"10 kB of @":              strings.Repeat("@", 10_000),
		"markup":                  "<script>@mail.example",
	} {
		got, ok := PlainEmail(text)
		assert.False(t, ok, name)
		assert.Empty(t, got, name)
	}
	longest := "kim@" + strings.Repeat("d.", 124) + "dd"
	require.Len(t, longest, maxEmail)
	_, ok := PlainEmail(longest)
	assert.True(t, ok)
}

// Whatever passes is one address and nothing else, by the standard library.
func FuzzPlainEmail(f *testing.F) {
	for _, s := range []string{"kim@mail.example", "\"a b\"@x", "a@b\r\nBcc: c@d", "=?utf-8?q?a?=@b", "ü@x", "a@[1.2.3.4]"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, ok := PlainEmail(s)
		if !ok {
			assert.Empty(t, got)
			return
		}
		parsed, err := mail.ParseAddress(got)
		require.NoError(t, err, "%q", got)
		assert.Equal(t, mail.Address{Address: got}, *parsed)
		assert.Equal(t, got, strings.TrimSpace(s))
	})
}
