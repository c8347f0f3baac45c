package report

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/jedib0t/go-pretty/v6/text"
)

// maxMarks is how many combining marks may follow one another: enough for any
// script, too few to smear a mark over the lines above.
const maxMarks = 4

func init() {
	// The width of ambiguous characters must not depend on the environment.
	text.OverrideRuneWidthEastAsianWidth(false)
}

// width is the number of terminal columns that s takes, escape sequences of
// our own not counted.
func width(s string) int { return text.StringWidthWithoutEscSequences(s) }

// clean makes text from outside safe for a line of a terminal: white space
// becomes one space, control and direction characters are spelled out.
func clean(s string) string {
	var b strings.Builder
	marks, space := 0, false
	for i, r := range s {
		if unicode.IsSpace(r) {
			space = b.Len() > 0
			continue
		}
		if space {
			b.WriteByte(' ')
			space = false
		}
		if unicode.Is(unicode.M, r) {
			marks++
		} else {
			marks = 0
		}
		if marks <= maxMarks {
			b.WriteString(visible(r, s[i:]))
		}
	}
	return b.String()
}

// visible is the rune itself, or how it is written where it cannot be seen.
func visible(r rune, rest string) string {
	switch {
	case r == utf8.RuneError:
		if _, n := utf8.DecodeRuneInString(rest); n == 1 {
			return fmt.Sprintf(`\x%02x`, rest[0])
		}
	case r == '\u200c' || r == '\u200d': // joiners, which scripts and emoji need
	case unicode.Is(unicode.Cc, r) && r < 0x80:
		return fmt.Sprintf(`\x%02x`, r)
	case unicode.In(r, unicode.Cc, unicode.Cf) && r <= 0xffff:
		return fmt.Sprintf(`\u%04x`, r)
	case unicode.Is(unicode.Cf, r):
		return fmt.Sprintf(`\U%08x`, r)
	}
	return string(r)
}

// brief is clean text of at most n columns, the rest replaced by an ellipsis.
func brief(s string, n int) string {
	s = clean(s)
	if width(s) <= n {
		return s
	}
	head, _ := split(s, n-1)
	return strings.TrimRight(head, " ") + "…"
}

// split cuts s after at most n columns, and after at least one rune.
func split(s string, n int) (head, rest string) {
	w := 0
	for i, r := range s {
		w += text.RuneWidth(r)
		if w > n && i > 0 {
			return s[:i], s[i:]
		}
	}
	return s, ""
}

// wrap breaks text into lines of at most n columns, between words where it
// can. Text holds no escape sequences. There is always one line at least.
func wrap(s string, n int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		switch {
		case line == "":
			line = word
		case width(line)+1+width(word) <= n:
			line += " " + word
			continue
		default:
			lines = append(lines, line)
			line = word
		}
		for width(line) > n {
			head, rest := split(line, n)
			lines, line = append(lines, head), rest
		}
	}
	return append(lines, line)
}
