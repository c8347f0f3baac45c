package report

import (
	"io"

	"pawl/wear"
)

// RefusedLine is a file that was not taken.
type RefusedLine struct {
	Path   string
	Format wear.Format // as far as it could be told; Typed = it could not
	Since  wear.Instant
	Why    string
	Hint   string
	Gone   bool // it is not there any more
}

func (l RefusedLine) format() string {
	if l.Format == wear.Typed {
		return ""
	}
	return l.Format.String()
}

// RefusedFiles writes the files that were not taken to a terminal, each whole path
// on a line of its own, to be copied.
func RefusedFiles(w io.Writer, lines []RefusedLine, s Style) error {
	p := &page{Style: s}
	if len(lines) == 0 {
		p.line("No file was refused.")
		return p.to(w)
	}
	shown, window, err := cut(s.Pages, lines, fewRows)
	if err != nil {
		return err
	}
	for _, l := range shown {
		p.line(clean(l.Path))
		why := s.minute(l.Since) + ": " + brief(l.Why, longNote)
		if l.Gone {
			why += " (not there any more)"
		}
		p.para("  ", why)
		if l.Hint != "" {
			p.para("  hint: ", brief(l.Hint, longNote))
		}
	}
	p.gap()
	p.para("", plural(len(lines), "file", "files")+" not taken; each is tried again when it changes")
	p.rest(window, "file", "files", "--csv")
	return p.to(w)
}

type refusedJSON struct {
	File   string  `json:"file"`
	Format *string `json:"format"`
	Since  *string `json:"since"`
	Why    string  `json:"why"`
	Hint   *string `json:"hint"`
	Gone   bool    `json:"gone"`
}

// RefusedJSON writes them as one JSON object.
func RefusedJSON(w io.Writer, lines []RefusedLine, s Style) error {
	out := make([]refusedJSON, len(lines))
	for i, l := range lines {
		out[i] = refusedJSON{l.Path, textOf(l.format()), isoTime(l.Since, s.zone()), l.Why, textOf(l.Hint), l.Gone}
	}
	return writeJSON(w, struct {
		envelope
		Refused []refusedJSON `json:"refused"`
	}{enclose(nil), out})
}

// RefusedCSV writes them as CSV.
func RefusedCSV(w io.Writer, lines []RefusedLine, s Style) error {
	out := newSheet(w, "file", "format", "since", "why", "hint", "gone")
	for _, l := range lines {
		out.row(cell(l.Path), l.format(), s.csvTime(l.Since), cell(l.Why), cell(l.Hint), yesNo(l.Gone))
	}
	return out.done()
}
