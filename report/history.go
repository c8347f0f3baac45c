package report

import (
	"io"

	"pawl/wear"
)

// HistoryLine is one entry of the book.
type HistoryLine struct {
	At           wear.Instant
	Verb, Target string
	Undone       bool
}

// History writes entries to a terminal, newest first.
func History(w io.Writer, lines []HistoryLine, s Style) error {
	p := &page{Style: s}
	shown, window, err := cut(s.Pages, lines, fewRows)
	if err != nil {
		return err
	}
	for _, l := range shown {
		text := l.Verb + " " + brief(l.Target, longNote)
		if l.Undone {
			text += " (taken back)"
		}
		p.para(s.minute(l.At)+"  ", text)
	}
	p.rest(window, "entry", "entries", "--csv")
	return p.to(w)
}

type historyJSON struct {
	At     *string `json:"at"`
	Verb   string  `json:"verb"`
	Target string  `json:"target"`
	Undone bool    `json:"undone"`
}

// HistoryJSON writes entries as one JSON object, newest first.
func HistoryJSON(w io.Writer, lines []HistoryLine, s Style) error {
	entries := make([]historyJSON, len(lines))
	for i, l := range lines {
		entries[i] = historyJSON{isoTime(l.At, s.zone()), l.Verb, l.Target, l.Undone}
	}
	return writeJSON(w, struct {
		envelope
		Entries []historyJSON `json:"entries"`
	}{enclose(nil), entries})
}

// HistoryCSV writes entries as CSV, newest first.
func HistoryCSV(w io.Writer, lines []HistoryLine, s Style) error {
	out := newSheet(w, "at", "verb", "target", "undone")
	for _, l := range lines {
		out.row(s.csvTime(l.At), cell(l.Verb), cell(l.Target), yesNo(l.Undone))
	}
	return out.done()
}
