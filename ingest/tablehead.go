package ingest

import (
	"strings"
	"unicode"
)

// columnKind is what a column tells.
type columnKind uint8

const (
	unread columnKind = iota
	dateColumn
	bikeColumn
	kmColumn
	odometerColumn
	climbColumn
	hoursColumn
	newColumn
	ranColumn
	newHoursColumn
	beganColumn
	nColumnKinds
)

var columnNouns = [nColumnKinds]string{"", "the date", "the bike", "the distance", "the odometer", "the climb", "the hours", "new odometers",
	"the hour meter", "new hour meters", "what a new odometer began at"}

// columnNames are the names of columns, as words in lower case without unit.
// Where needsUnit says so, the name alone could mean another thing.
var columnNames = map[string]columnKind{
	"date": dateColumn, "day": dateColumn, "when": dateColumn, "ride date": dateColumn, "start date": dateColumn,
	"activity date": dateColumn, "date time": dateColumn, "datetime": dateColumn, "date and time": dateColumn,
	"bike": bikeColumn, "bicycle": bikeColumn, "bike name": bikeColumn, "bike id": bikeColumn, "bike no": bikeColumn,
	"bike number": bikeColumn, "name of bike": bikeColumn,
	"distance": kmColumn, "dist": kmColumn, "ride distance": kmColumn, "trip": kmColumn, "trip distance": kmColumn,
	"ridden": kmColumn, "distance ridden": kmColumn, "ride": kmColumn,
	"odometer": odometerColumn, "odo": odometerColumn, "odometer reading": odometerColumn, "odo reading": odometerColumn,
	"mileage": odometerColumn,
	"climb":   climbColumn, "climbed": climbColumn, "climbing": climbColumn, "ascent": climbColumn, "total ascent": climbColumn,
	"elevation gain": climbColumn, "elev gain": climbColumn, "height gain": climbColumn, "gain": climbColumn,
	"vertical": climbColumn, "vert": climbColumn, "vertical gain": climbColumn,
	"duration": hoursColumn, "moving time": hoursColumn, "ride time": hoursColumn, "riding time": hoursColumn,
	"time": hoursColumn, "moving": hoursColumn,
	"new": newColumn, "new odometer": newColumn, "odometer new": newColumn, "odometer replaced": newColumn, "replaced": newColumn,
	"hour meter": ranColumn, "hours meter": ranColumn, "hourmeter": ranColumn, "hour meter reading": ranColumn,
	"hour counter": ranColumn, "hour reading": ranColumn, "hours reading": ranColumn, "running hours": ranColumn,
	"new hour meter": newHoursColumn, "hour meter new": newHoursColumn, "hour meter replaced": newHoursColumn,
	"began at": beganColumn, "new began at": beganColumn, "new odometer began at": beganColumn, "odometer began at": beganColumn,
}

// needsUnit are the names that count only with a unit: a ride may be a name, a
// time one of the day.
var needsUnit = words("ride time mileage moving gain ridden")

// units are the units of each kind and what one is in km, m or hours.
var units = [nColumnKinds]map[string]float64{
	kmColumn:       kilometres,
	odometerColumn: kilometres,
	beganColumn:    kilometres,
	ranColumn:      hours,
	climbColumn: {
		"m": 1, "metre": 1, "metres": 1, "meter": 1, "meters": 1, "ft": 0.3048, "feet": 0.3048, "foot": 0.3048,
	},
	hoursColumn: hours,
}

var hours = map[string]float64{
	"h": 1, "hr": 1, "hrs": 1, "hour": 1, "hours": 1, "min": 1. / 60, "mins": 1. / 60, "minute": 1. / 60, "minutes": 1. / 60,
	"s": 1. / 3600, "sec": 1. / 3600, "secs": 1. / 3600, "second": 1. / 3600, "seconds": 1. / 3600,
	"h mm": 1, "hh mm": 1, "h mm ss": 1, "hh mm ss": 1, // the form of the cells
}

// kilometres are the units of a way; a mile is the international one.
var kilometres = map[string]float64{
	"km": 1, "kms": 1, "kilometre": 1, "kilometres": 1, "kilometer": 1, "kilometers": 1,
	"mi": 1.609344, "mile": 1.609344, "miles": 1.609344, "metres": 0.001, "meters": 0.001, // m may be either
}

// bareUnits are units that are the name of a column by themselves.
var bareUnits = map[string]columnKind{
	"km": kmColumn, "kms": kmColumn, "kilometres": kmColumn, "kilometers": kmColumn, "mi": kmColumn, "miles": kmColumn,
	"h": hoursColumn, "hr": hoursColumn, "hrs": hoursColumn, "hour": hoursColumn, "hours": hoursColumn,
	"min": hoursColumn, "mins": hoursColumn, "minutes": hoursColumn,
}

// runningTotal reads a name such as "total km" or "hours total": the unit of what
// a meter counted since it was new, "" where it is none.
func runningTotal(name string) (kind columnKind, unit string) {
	before, ok := strings.CutSuffix(name, " total")
	if !ok {
		before, ok = strings.CutPrefix(name, "total ")
	}
	switch bare := bareUnits[before]; {
	case ok && bare == kmColumn:
		return odometerColumn, before
	case ok && bare == hoursColumn:
		return ranColumn, before
	}
	return unread, ""
}

// tableColumn is a column by its header.
type tableColumn struct {
	kind  columnKind
	name  string  // as written
	unit  float64 // of its figures, in km, m or hours
	order byte    // of dates that begin with day or month: 'd' or 'm', 0 where not said
	doubt bool    // a way in a unit that nobody knows
}

// columnOf reads the header of a column: a name, with or without its unit in
// brackets or behind it, or a unit alone.
func columnOf(header string) tableColumn {
	c := tableColumn{name: clipped(header), unit: 1}
	name, unit := splitUnit(header)
	kind := columnNames[name]
	if total, of := runningTotal(name); total != unread && unit == "" {
		kind, unit = total, of
	}
	if kind == unread && unit == "" {
		if i := strings.LastIndexByte(name, ' '); i > 0 {
			name, unit = name[:i], name[i+1:]
			kind = columnNames[name]
		} else {
			kind, unit = bareUnits[name], name
		}
	}
	if kind == unread || unit == "" && needsUnit[name] {
		return c
	}
	if kind == dateColumn && strings.Contains(unit, "y") {
		c.order = unit[0]
	}
	if known := units[kind]; known != nil && unit != "" {
		if c.unit = known[unit]; c.unit == 0 {
			c.doubt = kind == kmColumn || kind == odometerColumn || kind == beganColumn
			return c
		}
	}
	c.kind = kind
	return c
}

// splitUnit parts a header into its words and those in its brackets.
func splitUnit(header string) (name, unit string) {
	header = strings.ToLower(header)
	if i := strings.IndexAny(header, "(["); i >= 0 {
		if j := strings.IndexAny(header[i:], ")]"); j >= 0 {
			unit = header[i+1 : i+j]
			header = header[:i] + " " + header[i+j+1:]
		}
	}
	return onlyWords(header), onlyWords(unit)
}

// onlyWords are the words of a text with one space between two.
func onlyWords(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), " ")
}

// tableHead is the first row of a table.
type tableHead struct {
	sep     byte
	columns []tableColumn
	at      [nColumnKinds]int // where each kind is, -1 where it is not
	unread  []string
	doubt   error // a column that can be read in two ways
}

// firstRow is where the rows of a table begin, behind blank lines, and which
// separators may stand in them: the one that the text names, or any.
func firstRow(text string) (rows tableRows, separators string) {
	rows, separators = tableRows{text: text, line: 1}, ",;\t|"
	for rows.text != "" {
		line, _ := cutLine(rows.text)
		if sep, said := strings.CutPrefix(strings.ToLower(line), "sep="); said && len(sep) == 1 && strings.Contains(separators, sep) {
			separators, line = sep, "" // what one spreadsheet tells another
		}
		if strings.TrimSpace(line) != "" {
			break
		}
		rows = rows.after(1)
	}
	return rows, separators
}

// tableHeadOf finds the header row, in the separator that gives it most sense,
// and the rows behind it; not ok where the text does not begin like a table.
func tableHeadOf(text string) (best tableHead, rest tableRows, ok bool) {
	rows, separators := firstRow(text)
	most := 0
	for _, sep := range []byte(separators) {
		rows.sep = sep
		row, lines, err := rows.next()
		if err != nil || strings.ContainsRune(row, 0) {
			continue
		}
		cells, err := (&rowSplitter{sep: sep}).split(row)
		if err != nil {
			continue
		}
		if h := headOf(cells, sep); h.names() && h.known() > most {
			most, best, rest, ok = h.known(), h, rows.after(lines), true
		}
	}
	return best, rest, ok
}

func headOf(cells []string, sep byte) tableHead {
	h := tableHead{sep: sep}
	for kind := range h.at {
		h.at[kind] = -1
	}
	for i, cell := range cells {
		c := columnOf(cell)
		h.columns = append(h.columns, c)
		switch was := h.at[c.kind]; {
		case c.doubt:
			h.doubt = refused("write km or mi into the column's name", "column %q: in what unit?", c.name)
		case c.kind == unread:
			if c.name != "" {
				h.unread = append(h.unread, c.name)
			}
		case was >= 0:
			h.doubt = refused("delete one of them, or rename it", "two columns for %s: %q and %q",
				columnNouns[c.kind], h.columns[was].name, c.name)
		default:
			h.at[c.kind] = i
		}
	}
	return h
}

// names reports whether the row names what a table needs.
func (h tableHead) names() bool {
	return h.at[dateColumn] >= 0 &&
		(h.at[kmColumn] >= 0 || h.at[odometerColumn] >= 0 || h.at[hoursColumn] >= 0 || h.at[ranColumn] >= 0 || h.doubt != nil)
}

func (h tableHead) known() (n int) {
	for _, at := range h.at {
		n += int(truth(at >= 0))
	}
	return n
}

// survey goes over a table before its rows are kept: it counts them, up to one
// more than there may be, and finds the decimal mark, 0 where the figures show
// none or both. Between commas only a point can be plain.
func (h tableHead) survey(rows tableRows) (mark byte, n int) {
	var shown [256]bool
	for r := range rows.records() {
		if r.err == nil && allEmpty(r.cells) {
			continue
		}
		if n++; n > maxTableRows {
			break
		}
		for i, cell := range r.cells {
			if i < len(h.columns) && units[h.columns[i].kind] != nil {
				shown[decimalMark(cell)] = true
			}
		}
	}
	switch {
	case shown['.'] && !shown[',']:
		return '.', n
	case shown[','] && !shown['.']:
		return ',', n
	}
	return 0, n
}
