package report

import (
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// column is a column of a table.
type column struct {
	title string
	right bool // numbers
	least int  // may be wrapped down to this many columns; 0 = never
}

// gutter is the space between two columns.
const gutter = "  "

// table adds rows below their headings, one line a row where they fit the
// width; what does not fit even when wrapped is laid out row by row.
func (p *page) table(cols []column, rows [][]string) {
	widths := fit(natural(cols, rows), wordFloors(cols, rows), p.width())
	if widths == nil { // not without breaking words
		widths = fit(natural(cols, rows), floors(cols), p.width())
	}
	if widths == nil {
		p.records(cols, rows)
		return
	}
	tw := table.NewWriter()
	tw.SetStyle(plain)
	heads := make(table.Row, len(cols))
	configs := make([]table.ColumnConfig, len(cols))
	for i, c := range cols {
		heads[i] = p.faint(c.title)
		configs[i] = table.ColumnConfig{Number: i + 1}
		if c.right {
			configs[i].Align, configs[i].AlignHeader = text.AlignRight, text.AlignRight
		}
	}
	tw.SetColumnConfigs(configs)
	tw.AppendRow(heads)
	for _, r := range rows {
		tw.AppendRow(wrapped(r, widths))
	}
	for l := range strings.SplitSeq(tw.Render(), "\n") {
		p.line(l)
	}
}

// plain has no boxes, rules or case of its own: words and the gutter only.
var plain = table.Style{
	Name: "plain",
	Box:  table.BoxStyle{PaddingRight: gutter},
}

func wrapped(row []string, widths []int) table.Row {
	out := make(table.Row, len(row))
	for i, cell := range row {
		if width(cell) > widths[i] {
			cell = strings.Join(wrap(cell, widths[i]), "\n")
		}
		out[i] = cell
	}
	return out
}

// natural is how wide each column is when nothing is wrapped.
func natural(cols []column, rows [][]string) []int {
	widths := make([]int, len(cols))
	for i, c := range cols {
		widths[i] = width(c.title)
		for _, r := range rows {
			widths[i] = max(widths[i], width(r[i]))
		}
	}
	return widths
}

// floors is how far each column may be narrowed; 0 = not at all.
func floors(cols []column) []int {
	least := make([]int, len(cols))
	for i, c := range cols {
		least[i] = c.least
	}
	return least
}

// wordFloors is floors so that no word is broken.
func wordFloors(cols []column, rows [][]string) []int {
	least := floors(cols)
	for i := range cols {
		for _, r := range rows {
			for word := range strings.FieldsSeq(r[i]) {
				if least[i] > 0 {
					least[i] = max(least[i], width(word))
				}
			}
		}
	}
	return least
}

// fit narrows the widest column that may be narrowed until all fit into total,
// and returns nil where they cannot.
func fit(widths, least []int, total int) []int {
	sum := len(gutter) * (len(widths) - 1)
	for _, w := range widths {
		sum += w
	}
	for ; sum > total; sum-- {
		widest := -1
		for i, w := range widths {
			if least[i] > 0 && w > least[i] && (widest < 0 || w > widths[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			return nil
		}
		widths[widest]--
	}
	return widths
}

// records adds each row as lines of "heading value".
func (p *page) records(cols []column, rows [][]string) {
	lead := 0
	for _, c := range cols {
		lead = max(lead, width(c.title))
	}
	for _, r := range rows {
		p.gap()
		for i, c := range cols {
			if r[i] != "" {
				p.para(c.title+strings.Repeat(" ", lead-width(c.title))+gutter, r[i])
			}
		}
	}
}

// filled leaves out the columns in which no row has anything.
func filled(cols []column, rows [][]string) ([]column, [][]string) {
	var keep []int
	for i := range cols {
		if slices.ContainsFunc(rows, func(r []string) bool { return r[i] != "" }) {
			keep = append(keep, i)
		}
	}
	outCols := make([]column, len(keep))
	outRows := make([][]string, len(rows))
	for to, from := range keep {
		outCols[to] = cols[from]
		for i, r := range rows {
			outRows[i] = append(outRows[i], r[from])
		}
	}
	return outCols, outRows
}
