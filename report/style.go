package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"pawl/wear"
)

// The narrowest and the usual width of a terminal, in columns.
const (
	minWidth   = 40
	usualWidth = 80
)

// Style is how a person wants to read.
type Style struct {
	Width    int            // columns; 0 = 80, and never below 40
	Colour   bool           // escape sequences for colour and weight
	Imperial bool           // miles and feet; torque stays in N·m
	Zone     *time.Location // of dates; nil = UTC
	Pages    Pages          // of lists
}

func (s Style) width() int {
	if s.Width == 0 {
		return usualWidth
	}
	return max(s.Width, minWidth)
}

func (s Style) zone() *time.Location {
	if s.Zone == nil {
		return time.UTC
	}
	return s.Zone
}

// sign is how a verdict looks after its word: a shape, then a colour.
type sign struct{ shape, colour string }

// Colours are of the Okabe–Ito set (M. Okabe and K. Ito, "Color Universal
// Design", 2008), which people with any colour vision can tell apart:
// vermilion, reddish purple, blue. What is fine needs no colour.
var signs = map[wear.Verdict]sign{
	wear.Stop:  {"■", "213;94;0"},
	wear.Due:   {"▲", "204;121;167"},
	wear.Order: {"◆", "0;114;178"},
	wear.Fine:  {"○", ""},
}

func (s Style) paint(text, colour string) string {
	if !s.Colour || colour == "" || text == "" {
		return text
	}
	return "\x1b[1;38;2;" + colour + "m" + text + "\x1b[0m"
}

func (s Style) bold(text string) string {
	if !s.Colour || text == "" {
		return text
	}
	return "\x1b[1m" + text + "\x1b[0m"
}

func (s Style) faint(text string) string {
	if !s.Colour || text == "" {
		return text
	}
	return "\x1b[2m" + text + "\x1b[0m"
}

// page collects lines, so that a list reaches its writer in one piece or not at all.
type page struct {
	Style
	buf bytes.Buffer
}

// line adds one line as it is.
func (p *page) line(parts ...string) {
	p.buf.WriteString(strings.TrimRight(strings.Join(parts, ""), " "))
	p.buf.WriteByte('\n')
}

// para adds text wrapped to the width, its first line after lead and the
// others indented as far.
func (p *page) para(lead, text string) { p.painted(lead, text, nil) }

// painted is para with every line painted.
func (p *page) painted(lead, text string, paint func(string) string) {
	indent := width(lead)
	if indent > p.width()/2 {
		p.line(lead)
		lead, indent = "    ", 4
	}
	for i, l := range wrap(clean(text), p.width()-indent) {
		if i > 0 {
			lead = strings.Repeat(" ", indent)
		}
		if paint != nil {
			l = paint(l)
		}
		p.line(lead, l)
	}
}

// gap adds an empty line unless the page is empty or ends in one.
func (p *page) gap() {
	b := p.buf.Bytes()
	if len(b) > 0 && !bytes.HasSuffix(b, []byte("\n\n")) {
		p.buf.WriteByte('\n')
	}
}

func (p *page) to(w io.Writer) error {
	_, err := w.Write(p.buf.Bytes())
	return err
}

// plural is "1 ride" or "12 rides".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%s %s", number(float64(n), 0), many)
}
