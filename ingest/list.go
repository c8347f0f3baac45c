package ingest

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
)

// maxListRows is the most rows that a list of people or bikes may have.
const maxListRows = 100_000

// List is a table of people or bikes (CSV), read by the names of its columns.
type List struct {
	Rows   []ListRow
	Bad    []BadRow // rows that are no rows of a table
	Unread []string // columns of which nobody knows what they tell
}

// ListRow is one row. Its cells are trimmed.
type ListRow struct {
	Line  int
	cells []string
	at    map[string]int
	mark  byte // decimal mark of the table, 0 where it shows none
	sep   byte
}

// Cell is what stands in a column; has is false where the table has none such.
func (r ListRow) Cell(column string) (text string, has bool) {
	i, has := r.at[column]
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
	if i, has := r.at[column]; has {
		bad.Column = i + 1
	}
	return bad
}

// ReadList reads a table in any of the usual separators and codings. Columns
// gives for each name of a column, in lower case and without signs, what it
// tells; must is what has to be there. The error says what is wrong with the
// table as a whole.
func ReadList(raw []byte, columns map[string]string, must string) (*List, error) {
	if len(raw) > maxTable {
		return nil, refused("split the table", "%d MB, more than the %d MB that a table may have", len(raw)>>20, maxTable>>20)
	}
	head, rows, err := listHead(tableText(raw), columns, must)
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
		l.take(r, head, rows.sep)
	}
	l.settleMark(head.at)
	return l, nil
}

// listColumns is the first row of a list.
type listColumns struct {
	at     map[string]int
	unread []string
	width  int
}

// listHead finds the header in the separator that gives it most sense.
func listHead(text string, columns map[string]string, must string) (best listColumns, rest tableRows, err error) {
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
		if h := listColumnsOf(cells, columns); len(h.at) > len(best.at) {
			best, rest = h, rows.after(lines)
		}
	}
	if _, has := best.at[must]; !has {
		names := slices.Sorted(maps.Keys(columns))
		return best, rest, refused("the first row names the columns: "+strings.Join(names, ", "), "no column %q in the first row", must)
	}
	return best, rest, nil
}

func listColumnsOf(cells []string, columns map[string]string) listColumns {
	h := listColumns{at: map[string]int{}, width: len(cells)}
	for i, c := range cells {
		column, known := columns[onlyWords(strings.ToLower(c))]
		if _, twice := h.at[column]; known && !twice {
			h.at[column] = i
		} else if strings.TrimSpace(c) != "" {
			h.unread = append(h.unread, clipped(strings.TrimSpace(c)))
		}
	}
	return h
}

// take keeps a row.
func (l *List) take(r tableRecord, h listColumns, sep byte) {
	if r.err == nil && len(r.cells) > h.width {
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
	l.Rows = append(l.Rows, ListRow{Line: r.line, cells: cells, at: h.at, sep: sep})
}

// unguarded takes off the quote by which lists keep a cell from starting a
// formula in a spreadsheet.
func unguarded(cell string) string {
	if rest, ok := strings.CutPrefix(cell, "'"); ok && rest != "" && strings.ContainsRune("=+-@", rune(rest[0])) {
		return rest
	}
	return cell
}

// settleMark finds the decimal mark that the figures show.
func (l *List) settleMark(at map[string]int) {
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
