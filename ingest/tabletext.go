package ingest

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"iter"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// maxTableLine is the most bytes of a row, over all its lines.
const maxTableLine = 64 << 10

// What reading a row takes, about, and each cell of it, beside its bytes.
const (
	recordBytes = 1 << 10
	cellBytes   = 64
)

var (
	errNoQuote = errors.New("a quote that is never closed: close it, or write two where one is meant")
	errBadRow  = errors.New("a quote in the middle of a cell: put the whole cell in quotes and write two for each within")
	errLongRow = errors.New("a line of more than 64 kB, which no row is")
)

// tableText is a table as UTF-8: as it is, from UTF-16 with or without its
// mark, or, where it is neither, from the coding of old spreadsheets. Of that it
// holds no more than one byte beyond maxTable, which is more than a table may be.
func tableText(data []byte) string {
	wide := wideCoding(data)
	if wide == nil && len(data) > 1 && data[0] != 0 && data[1] == 0 {
		wide = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)
	}
	if wide == nil && len(data) > 1 && data[0] == 0 && data[1] != 0 {
		wide = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)
	}
	if wide == nil && utf8.Valid(data) {
		return string(bytes.TrimPrefix(data, bomUTF8))
	}
	if wide == nil {
		wide = charmap.Windows1252
	}
	size, _ := io.Copy(io.Discard, io.LimitReader(recoded(data, wide), maxTable+1)) // what cannot be read ends it
	var text strings.Builder
	text.Grow(int(size))
	_, _ = io.CopyN(&text, recoded(data, wide), size) // as it was counted
	return strings.TrimPrefix(text.String(), string(bomUTF8))
}

// tableRows are the rows of a table from some line on.
type tableRows struct {
	text string
	line int // the number of the first line of text
	sep  byte
}

// tableRecord is one row: its cells, or why it has none.
type tableRecord struct {
	line  int
	cells []string
	err   error
}

// records yields the rows that are not blank. The cells are only lent. A row of
// several lines that makes no sense is one wrong line, and what follows it is
// read by itself.
func (t tableRows) records() iter.Seq[tableRecord] {
	return func(yield func(tableRecord) bool) {
		split, sweep := rowSplitter{sep: t.sep}, broomFor(len(t.text))
		for t.text != "" {
			var cells []string
			row, lines, err := t.next()
			if err == nil {
				if cells, err = split.split(row); err != nil {
					lines = 1
				}
			}
			r := tableRecord{line: t.line, cells: cells, err: err}
			t = t.after(lines)
			if strings.TrimSpace(row) == "" {
				continue
			}
			if !yield(r) {
				return
			}
			sweep.drop(recordBytes + cellBytes*len(cells) + 4*len(row))
		}
	}
}

// next is the row at the beginning of the text, and its number of lines: several
// where a cell in quotes holds line ends.
func (t tableRows) next() (row string, lines int, err error) {
	row, rest := cutLine(t.text)
	if len(row) > maxTableLine {
		return row[:maxTableLine], 1, errLongRow
	}
	if !quoted(row, t.sep) {
		return row, 1, nil
	}
	quotes := strings.Count(row, `"`)
	for lines = 1; quotes%2 == 1; lines++ {
		line, further := cutLine(rest)
		end := len(t.text) - len(rest) + len(line)
		if rest == "" || end > maxTableLine {
			return row, 1, errNoQuote
		}
		quotes += strings.Count(line, `"`)
		row, rest = t.text[:end], further
	}
	return row, lines, nil
}

// after is what follows so many lines.
func (t tableRows) after(lines int) tableRows {
	for range lines {
		_, t.text = cutLine(t.text)
		t.line++
	}
	return t
}

// cutLine takes off the first line; its end may be that of any system.
func cutLine(s string) (line, rest string) {
	i := strings.IndexAny(s, "\r\n")
	if i < 0 {
		return s, ""
	}
	rest = s[i+1:]
	if s[i] == '\r' {
		rest = strings.TrimPrefix(rest, "\n")
	}
	return s[:i], rest
}

// quoted reports whether a cell of a line begins with a quote. Elsewhere a quote
// is only an inch.
func quoted(line string, sep byte) bool {
	return strings.HasPrefix(line, `"`) || strings.Contains(line, string(sep)+`"`)
}

// rowSplitter cuts rows into cells, which it lends until the next row.
type rowSplitter struct {
	sep   byte
	cells []string
	row   strings.Reader
	csv   *csv.Reader // of row; it goes on behind the end of each
}

func (s *rowSplitter) split(row string) ([]string, error) {
	if quoted(row, s.sep) {
		return s.splitQuoted(row)
	}
	s.cells = s.cells[:0]
	for {
		cell, rest, more := strings.Cut(row, string(s.sep))
		s.cells = append(s.cells, cell)
		if !more {
			return s.cells, nil
		}
		row = rest
	}
}

func (s *rowSplitter) splitQuoted(row string) ([]string, error) {
	s.row.Reset(row)
	if s.csv == nil {
		s.csv = csv.NewReader(&s.row)
		s.csv.Comma, s.csv.FieldsPerRecord = rune(s.sep), -1
	}
	cells, err := s.csv.Read()
	if err == nil {
		_, err = s.csv.Read()
	}
	if err != io.EOF { // something is left, or nothing was read
		s.csv = nil
		return nil, errBadRow
	}
	return cells, nil
}
