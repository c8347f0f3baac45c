package report

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"pawl/wear"
)

// grounds is what a verdict rests on as a sentence: its first reason, and the
// figure in the reader's units where the reason does not say it.
func (p *duePage) grounds(f *wear.Finding) string {
	first := *f
	first.Reasons = f.Reasons[:min(1, len(f.Reasons))]
	reason, figure := bounded(because(&first), longNote), p.letterFigure(f)
	switch {
	case reason == "":
		return sentence(figure)
	case figure == "", f.Unit == "rides", strings.Contains(reason, figure):
		return sentence(reason)
	}
	return sentence(reason + " (" + figure + ")")
}

// letterFigure is used and limit, and whether they are estimated; empty where
// the job has none or an eye decided.
func (p *duePage) letterFigure(f *wear.Finding) string {
	used := p.used(f)
	switch {
	case used == "", f.Basis == wear.ByLook:
		return ""
	case f.Basis == wear.ByReading:
		return bounded(p.reads(f, used), longNote)
	}
	if d := data(f); d != "" {
		used += ", " + d
	}
	return bounded(used, longNote)
}

// week is the week of a day to come, named by its Monday; of one that is far
// ahead only the month. Empty where the day is not known or has come.
func (p *duePage) week(day *wear.Instant) string {
	switch {
	case day == nil || *day <= p.today:
		return ""
	case day.DaysSince(p.today) > farAhead:
		return "about " + p.month(*day)
	case p.monday(*day) == p.monday(p.today):
		return "about this week"
	}
	return "about the week of " + p.soonDay(p.monday(*day))
}

// monday is the first day of the week of an instant.
func (p *duePage) monday(i wear.Instant) wear.Instant {
	t := i.Time().In(p.zone())
	y, m, d := t.Date()
	return wear.StartOfDay(y, m, d-int(t.Weekday()+6)%7, p.zone())
}

// bounded is brief, also for text that takes no columns: at most four runes a
// column, enough for any script.
func bounded(s string, n int) string {
	s = brief(s, n)
	if utf8.RuneCountInString(s) <= 4*n {
		return s
	}
	return string([]rune(s)[:4*n-1]) + "…"
}

// flow fills lines of plain text up to n columns. An indent is kept, a line
// that opens with a sign hangs behind it, and of empty lines that follow one
// another one is left. Addresses of pages and mail are never cut in two.
func flow(text string, n int) string {
	var out []string
	for line := range strings.Lines(text) {
		line = strings.TrimRightFunc(line, unicode.IsSpace)
		body := clean(line)
		if body == "" {
			if len(out) > 0 && out[len(out)-1] != "" {
				out = append(out, "")
			}
			continue
		}
		lead := strings.Repeat(" ", min(indentOf(line), n/2))
		sign, rest := cutSign(body)
		hang := strings.Repeat(" ", width(lead+sign))
		for _, l := range fill(rest, n-len(hang)) {
			out = append(out, lead+sign+l)
			lead, sign = hang, ""
		}
	}
	return strings.TrimRight(strings.Join(out, "\n"), "\n") + "\n"
}

// indentOf is the blanks before a line.
func indentOf(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }

// cutSign cuts off a sign that opens a line, as of a list, with its blank.
func cutSign(line string) (sign, rest string) {
	r, size := utf8.DecodeRuneInString(line)
	if unicode.IsLetter(r) || unicode.IsDigit(r) || !strings.HasPrefix(line[size:], " ") {
		return "", line
	}
	return line[:size+1], line[size+1:]
}

// isAddress reports whether a word is the address of a page or of mail.
func isAddress(word string) bool {
	_, mail := wear.PlainEmail(strings.TrimRight(word, "."))
	return mail || strings.HasPrefix(word, "https://")
}

// fill is wrap that leaves addresses whole, even where they are too long.
func fill(s string, n int) []string {
	var lines, words []string
	end := func() {
		if len(words) > 0 {
			lines, words = append(lines, wrap(strings.Join(words, " "), n)...), nil
		}
	}
	for _, word := range strings.Fields(s) {
		if width(word) > n && isAddress(word) {
			end()
			lines = append(lines, word)
			continue
		}
		words = append(words, word)
	}
	end()
	return lines
}
