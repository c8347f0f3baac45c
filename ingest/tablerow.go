package ingest

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The most that one row can tell: it may stand for a month.
const (
	maxRowKm    = 5_000
	maxOdometer = 500_000 // km
	maxRowClimb = 100_000 // m
	maxRowHours = 744
	maxRan      = 100_000 // h
	maxBikeName = 200     // bytes
)

// The fastest and the slowest mean of a row, in km/h: beyond them km and hours
// are not of the same rides, or minutes were written for hours.
const (
	fastestRow = 3.6 * fastest
	slowestRow = 1
)

// row reads a row: what it says, or what is wrong with it; neither where all of
// its cells are empty.
func (r *tableReader) row(record tableRecord) (*Row, *BadRow) {
	if record.err != nil {
		return nil, &BadRow{Why: record.err.Error()}
	}
	if allEmpty(record.cells) {
		return nil, nil
	}
	for i := len(r.head.columns); i < len(record.cells); i++ {
		if strings.TrimSpace(record.cells[i]) != "" {
			return nil, &BadRow{Column: i + 1, Why: fmt.Sprintf(
				"more cells than the %d of the first row: put a number with a comma in it in quotes", len(r.head.columns))}
		}
	}
	row := &Row{}
	for _, step := range []func(*Row, []string) *BadRow{r.date, r.bike, r.figures, r.fresh} {
		if bad := step(row, record.cells); bad != nil {
			return nil, bad
		}
	}
	if bad := r.fits(row); bad != nil {
		return nil, bad
	}
	return row, nil
}

func allEmpty(cells []string) bool {
	for _, c := range cells {
		if strings.TrimSpace(c) != "" {
			return false
		}
	}
	return true
}

// cell is the cell of a kind, "" where the row or the table has none.
func (r *tableReader) cell(cells []string, kind columnKind) string {
	if at := r.head.at[kind]; at >= 0 && at < len(cells) {
		return cells[at]
	}
	return ""
}

// bad says what is wrong with the cell of a kind.
func (r *tableReader) bad(kind columnKind, format string, args ...any) *BadRow {
	at := r.head.at[kind]
	return &BadRow{Column: at + 1, Why: r.head.columns[at].name + ": " + fmt.Sprintf(format, args...)}
}

func (r *tableReader) date(row *Row, cells []string) *BadRow {
	err := row.when(r.cell(cells, dateColumn), r.head.columns[r.head.at[dateColumn]].order)
	if err == nil {
		err = row.plausible(r.o.Now)
	}
	if err != nil {
		return r.bad(dateColumn, "%v", err)
	}
	return nil
}

func (r *tableReader) bike(row *Row, cells []string) *BadRow {
	row.Bike = strings.Clone(strings.TrimSpace(r.cell(cells, bikeColumn)))
	if len(row.Bike) > maxBikeName || !utf8.ValidString(row.Bike) || strings.ContainsFunc(row.Bike, unicode.IsControl) {
		return r.bad(bikeColumn, "%q is no name", clipped(row.Bike))
	}
	return nil
}

func (r *tableReader) figures(row *Row, cells []string) *BadRow {
	for _, f := range []struct {
		kind columnKind
		to   *float64
		most float64
		unit string
	}{
		{kmColumn, &row.Km, maxRowKm, "km"},
		{odometerColumn, &row.Odometer, maxOdometer, "km"},
		{climbColumn, &row.Climb, maxRowClimb, "m"},
		{hoursColumn, &row.Hours, maxRowHours, "hours"},
		{ranColumn, &row.Ran, maxRan, "hours"},
		{beganColumn, &row.Began, maxOdometer, "km"},
	} {
		*f.to = math.NaN()
		if r.head.at[f.kind] < 0 {
			continue
		}
		cell := r.cell(cells, f.kind)
		x, err := r.head.columns[r.head.at[f.kind]].figure(cell, r.mark, r.head.sep)
		if err != nil {
			return r.bad(f.kind, "%v", err)
		}
		if x > f.most {
			return r.bad(f.kind, "%q is more than one row can hold, %.0f %s", clipped(cell), f.most, f.unit)
		}
		*f.to = x
	}
	return nil
}

func (r *tableReader) fresh(row *Row, cells []string) *BadRow {
	cell, ok := r.cell(cells, newColumn), false
	if row.New, ok = yes(cell); !ok {
		return r.bad(newColumn, "%q is neither yes nor no", clipped(cell))
	}
	cell = r.cell(cells, newHoursColumn)
	if row.NewHours, ok = yes(cell); !ok {
		return r.bad(newHoursColumn, "%q is neither yes nor no", clipped(cell))
	}
	return nil
}

// fits refuses a row whose figures say nothing, or do not fit one another.
func (r *tableReader) fits(row *Row) *BadRow {
	if !(row.Km > 0 || row.Hours > 0 || row.Odometer >= 0 || row.Ran >= 0) {
		return &BadRow{Why: "nothing to count: neither a distance, an odometer nor hours"}
	}
	if row.Began >= 0 && !(row.Began <= row.Odometer) {
		return r.bad(beganColumn, "an odometer that began at %.1f km cannot show less", row.Began)
	}
	if row.Km > 0 && row.Hours > 0 {
		switch speed := row.Km / row.Hours; {
		case speed > fastestRow:
			return r.bad(hoursColumn, "%.4g km in %.4g hours: no bike is that fast", row.Km, row.Hours)
		case speed < slowestRow:
			return r.bad(hoursColumn, "%.4g km in %.4g hours: no ride is that slow; hours are written 3.1 or 3:06", row.Km, row.Hours)
		}
	}
	return nil
}
