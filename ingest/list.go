package ingest

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// maxListRows is the most rows that a list of people or bikes may have.
const maxListRows = 100_000

// List is a table of people or bikes (CSV), read by the names of its columns.
type List struct {
	Rows   []ListRow
	Bad    []BadRow // rows that are no rows of a table
	Unread []string // columns of which nobody knows what they tell
}

// ListForm says what a list tells.
type ListForm struct {
	Columns map[string]string // for each name of a column, in lower case and without signs, what it tells
	Must    string            // what has to be there
	Figures []string          // what its figures tell: those show the decimal mark; nil = all of it
	Names   string            // the names of the columns as a hint shows them; "" = every one
}

// ListRow is one row. Its cells are trimmed.
type ListRow struct {
	Line  int
	cells []string
	head  *listColumns
	mark  byte // decimal mark of the table, 0 where it shows none
	sep   byte
}

// Cell is what stands in a column; has is false where the table has none such.
func (r ListRow) Cell(column string) (text string, has bool) {
	i, has := r.head.at[column]
	if !has || i >= len(r.cells) {
		return "", has
	}
	return r.cells[i], true
}

// Figure is a cell as a figure, whatever its decimal mark; said is false where
// the cell is empty.
func (r ListRow) Figure(column string) (v float64, said bool, err error) {
	text, _ := r.Cell(column)
	if text == "" {
		return 0, false, nil
	}
	v, err = decimal(text, r.mark, r.sep)
	return v, true, err
}

// Day is a cell as a day; said is false where the cell is empty.
func (r ListRow) Day(column string) (day time.Time, said bool, err error) {
	text, _ := r.Cell(column)
	if text == "" {
		return day, false, nil
	}
	day, err = dateOf(text, 0)
	return day, true, err
}

// Wrong names the row and the column in which something is wrong.
func (r ListRow) Wrong(column, format string, args ...any) BadRow {
	bad := BadRow{Line: r.Line, Why: fmt.Sprintf(format, args...)}
	if i, has := r.head.at[column]; has {
		bad.Column, bad.Name = i+1, r.head.names[i]
	}
	return bad
}

// ReadList reads a table in any of the usual separators and codings. The error
// says what is wrong with the table as a whole.
func ReadList(raw []byte, form ListForm) (*List, error) {
	if len(raw) > maxTable {
		return nil, refused("split the table", "%d MB, more than the %d MB that a table may have", len(raw)>>20, maxTable>>20)
	}
	head, rows, err := listHead(tableText(raw), form)
	if err != nil {
		return nil, err
	}
	l := &List{Unread: head.unread}
	for r := range rows.records() {
		if r.err == nil && allEmpty(r.cells) {
			continue
		}
		if len(l.Rows)+len(l.Bad) == maxListRows {
			return nil, refused("split the table", "more than %d rows", maxListRows)
		}
		l.take(r, &head, rows.sep)
	}
	l.settleMark(head.figures(form))
	return l, nil
}

// listColumns is the first row of a list.
type listColumns struct {
	at     map[string]int
	names  []string // as written
	unread []string
}

// figures are the places of the columns that show the decimal mark.
func (h *listColumns) figures(form ListForm) (at []int) {
	for column, i := range h.at {
		if form.Figures == nil || slices.Contains(form.Figures, column) {
			at = append(at, i)
		}
	}
	return at
}

// must is the column that has to be there, as the user is told its name.
func (f ListForm) must() string {
	if name, _, listed := strings.Cut(f.Names, ","); listed {
		return name
	}
	return f.Must
}

// listHead finds the header in the separator that gives it most sense.
func listHead(text string, form ListForm) (best listColumns, rest tableRows, err error) {
	rows, separators := firstRow(text)
	for _, sep := range []byte(separators) {
		rows.sep = sep
		row, lines, err := rows.next()
		if err != nil {
			continue
		}
		cells, err := (&rowSplitter{sep: sep}).split(row)
		if err != nil {
			continue
		}
		if h := listColumnsOf(cells, form.Columns); len(h.at) > len(best.at) {
			best, rest = h, rows.after(lines)
		}
	}
	if _, has := best.at[form.Must]; !has {
		names := cmp.Or(form.Names, strings.Join(slices.Sorted(maps.Keys(form.Columns)), ", "))
		return best, rest, refused("the first row names the columns: "+names, "no column %q in the first row", form.must())
	}
	return best, rest, nil
}

func listColumnsOf(cells []string, columns map[string]string) listColumns {
	h := listColumns{at: map[string]int{}}
	for i, c := range cells {
		h.names = append(h.names, clipped(strings.TrimSpace(c)))
		column, known := columns[onlyWords(strings.ToLower(c))]
		if _, twice := h.at[column]; known && !twice {
			h.at[column] = i
		} else if strings.TrimSpace(c) != "" {
			h.unread = append(h.unread, h.names[i])
		}
	}
	return h
}

// take keeps a row.
func (l *List) take(r tableRecord, h *listColumns, sep byte) {
	if r.err == nil && len(r.cells) > len(h.names) {
		r.err = errors.New("more cells than the first row names: put a cell that holds the separator in quotes")
	}
	if r.err != nil {
		l.Bad = append(l.Bad, BadRow{Line: r.line, Why: r.err.Error()})
		return
	}
	cells := make([]string, len(r.cells))
	for i, c := range r.cells {
		cells[i] = unguarded(strings.TrimSpace(c))
	}
	l.Rows = append(l.Rows, ListRow{Line: r.line, cells: cells, head: h, sep: sep})
}

// unguarded takes off the quotes by which lists keep a cell, or what comes after
// a semicolon in it, from starting a formula in a spreadsheet.
func unguarded(cell string) string {
	if !strings.Contains(cell, "'") {
		return cell
	}
	parts := strings.Split(cell, ";")
	for i, part := range parts {
		rest, quoted := strings.CutPrefix(part, "'")
		first := strings.TrimLeftFunc(rest, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(beforeFormula, r) })
		if r, _ := utf8.DecodeRuneInString(first); quoted && first != "" && strings.ContainsRune("=+-@＝＋－＠", r) {
			parts[i] = rest
		}
	}
	return strings.Join(parts, ";")
}

// beforeFormula may stand before a formula: quotation marks and joiners.
const beforeFormula = "\"'\u200c\u200d"

// settleMark finds the decimal mark that the figures show.
func (l *List) settleMark(at []int) {
	var shown [256]bool
	for _, r := range l.Rows {
		for _, i := range at {
			if i < len(r.cells) {
				shown[decimalMark(r.cells[i])] = true
			}
		}
	}
	mark := byte(0)
	switch {
	case shown['.'] && !shown[',']:
		mark = '.'
	case shown[','] && !shown['.']:
		mark = ','
	}
	for i := range l.Rows {
		l.Rows[i].mark = mark
	}
}
