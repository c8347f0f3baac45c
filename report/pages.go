package report

import (
	"fmt"
	"math"
)

// Pages is how much of a list a terminal is shown at a time. JSON and CSV are
// always whole.
type Pages struct {
	Rows int // to a page; 0 = as many as the list shows where nobody says
	Page int // counted from 1; 0 = the first
}

// How many rows lists show where nobody says: of bikes and people, of parts (all
// of one bike are seen together), and of rides, of which there are many to each.
const (
	fewRows  = 20
	partRows = 60
	manyRows = 100
)

// PageError is returned when a list has no such page.
type PageError struct {
	Page, Last int // counted from 1
}

// Error names the page and how many there are.
func (e *PageError) Error() string {
	return fmt.Sprintf("page %s: the list ends with page %s", number(float64(e.Page), 0), number(float64(e.Last), 0))
}

// Hint is what to type for the last page.
func (e *PageError) Hint() string { return fmt.Sprintf("--page %d", e.Last) }

// window is what a page shows of a list: its rows from (counted from 0) up to,
// not including, to.
type window struct {
	from, to, all, page int
}

// bounds are the rows of the page of a list of any length; usual is how many
// rows such a list shows where nobody says.
func (p Pages) bounds(usual int) (from, to int) {
	rows, page := p.Rows, max(p.Page, 1)
	if rows <= 0 {
		rows = usual
	}
	from = min(page-1, math.MaxInt/rows-1) * rows
	return from, from + rows
}

// BikeRows are the rows that the page shows of a list of bikes: from, counted
// from 0, up to, not including, to.
func (p Pages) BikeRows() (from, to int) { return p.bounds(fewRows) }

// PartRows are the rows that the page shows of a list of parts.
func (p Pages) PartRows() (from, to int) { return p.bounds(partRows) }

// window is what the page shows of a list of a length. There is a first page of
// an empty list.
func (p Pages) window(all, usual int) (window, error) {
	from, to := p.bounds(usual)
	w := window{from, min(to, all), all, max(p.Page, 1)}
	if last := max((all-1)/(to-from)+1, 1); w.page > last {
		return w, &PageError{w.page, last}
	}
	return w, nil
}

// cut is the page of a list, to be followed by its rest.
func cut[T any](p Pages, rows []T, usual int) ([]T, window, error) {
	w, err := p.window(len(rows), usual)
	if err != nil {
		return nil, w, err
	}
	return rows[w.from:w.to], w, nil
}

// part reports whether there are rows that the page does not show.
func (w window) part() bool { return w.to-w.from < w.all }

// rest ends a list of which a page is shown: the rows of the page, how many
// there are of it all, how many follow, and how to see those. A list that is
// shown whole has no such line. forms are what gives the whole list: "--csv".
func (p *page) rest(w window, one, many, forms string) {
	if !w.part() {
		return
	}
	text := fmt.Sprintf("%s to %s of %s", number(float64(w.from+1), 0), number(float64(w.to), 0), plural(w.all, one, many))
	if more := w.all - w.to; more > 0 {
		text += fmt.Sprintf("; and %s more: --page %d, --rows N, or %s", number(float64(more), 0), w.page+1, forms)
	} else {
		text += ", the last page"
	}
	p.gap()
	p.para("", text)
}
