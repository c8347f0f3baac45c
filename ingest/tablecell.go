package ingest

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"
)

var (
	errNoNumber = errors.New("is not a number")
	errNegative = errors.New("is negative")
)

// figure is the value of a cell in the column's unit, NaN where it is empty.
func (c tableColumn) figure(cell string, mark, sep byte) (float64, error) {
	cell = strings.TrimSpace(cell)
	if emptyCell(cell) {
		return math.NaN(), nil
	}
	if (c.kind == hoursColumn || c.kind == ranColumn) && c.unit == 1 {
		if hours, ok := clockHours(cell); ok {
			return hours, nil
		}
	}
	number, unit, err := c.cutUnit(cell)
	if err != nil {
		return 0, err
	}
	x, err := decimal(number, mark, sep)
	if err != nil {
		return 0, fmt.Errorf("%q %w", clipped(cell), err)
	}
	return x * unit, nil
}

// emptyCell reports a cell that says nothing.
func emptyCell(s string) bool {
	switch s {
	case "", "-", "–", "—":
		return true
	}
	return false
}

// cutUnit takes the unit off a cell that brings its own, else the column's holds.
func (c tableColumn) cutUnit(cell string) (number string, unit float64, err error) {
	number = strings.TrimRightFunc(cell, unicode.IsLetter)
	if number == cell {
		return cell, c.unit, nil
	}
	unit, known := units[c.kind][strings.ToLower(cell[len(number):])]
	if !known {
		return "", 0, fmt.Errorf("%q %w", clipped(cell), errNoNumber)
	}
	return strings.TrimSpace(number), unit, nil
}

// spaces are what stands between groups of thousands beside points and commas:
// spaces of all widths and apostrophes.
var spaces = strings.NewReplacer(" ", " ", "\u00a0", " ", "\u2009", " ", "\u202f", " ", "'", " ", "’", " ")

// A number is figures in groups or not, then perhaps a mark and more figures.
var (
	plainNumber = onUse(`^(\d+)(?:([.,])(\d+))?$`)
	spaceGroups = onUse(`^(\d{1,3}(?: \d{3})+)(?:([.,])(\d+))?$`)
	commaGroups = onUse(`^(\d{1,3}(?:,\d{3})+)(?:(\.)(\d+))?$`)
	pointGroups = onUse(`^(\d{1,3}(?:\.\d{3})+)(?:(,)(\d+))?$`)
	numberForms = []func() *regexp.Regexp{plainNumber, spaceGroups, commaGroups, pointGroups}
	groupForms  = numberForms[2:]
	ungrouped   = strings.NewReplacer(" ", "", ",", "", ".", "")
	eitherWay   = onUse(`^[1-9]\d{0,2}[.,]\d{3}$`) // 1,234: of thousands, or of thousandths
)

// decimalMark is the decimal mark that a figure shows beyond doubt, 0 where it
// shows none.
func decimalMark(cell string) byte {
	s := spaces.Replace(strings.TrimSpace(cell))
	if eitherWay().MatchString(s) {
		return 0
	}
	for _, form := range numberForms[:2] {
		if m := form().FindStringSubmatch(s); m != nil {
			return (m[2] + "\x00")[0]
		}
	}
	switch {
	case commaGroups().MatchString(s):
		return '.'
	case pointGroups().MatchString(s):
		return ','
	}
	return 0
}

// decimal reads a figure. mark is the table's decimal mark: it settles what 1,234
// is. Where it is not known a point is one between commas, else nothing is.
func decimal(cell string, mark, sep byte) (float64, error) {
	s := spaces.Replace(cell)
	if rest, negative := strings.CutPrefix(strings.Replace(s, "−", "-", 1), "-"); negative {
		if _, err := decimal(strings.TrimSpace(rest), mark, sep); err == nil {
			return 0, errNegative
		}
		return 0, errNoNumber
	}
	forms := numberForms
	if eitherWay().MatchString(s) {
		found := s[strings.IndexAny(s, ".,")]
		if mark == 0 && found == '.' && sep == ',' {
			mark = '.'
		}
		if mark == 0 {
			whole, part, _ := strings.Cut(s, string(found))
			return 0, fmt.Errorf("can be read in two ways: write %s%s or %s.%s0", whole, part, whole, part)
		}
		if mark != found {
			forms = groupForms
		}
	}
	for _, form := range forms {
		if m := form().FindStringSubmatch(s); m != nil {
			return strconv.ParseFloat(ungrouped.Replace(m[1])+"."+m[3]+"0", 64)
		}
	}
	return 0, errNoNumber
}

var clockForms = []func() *regexp.Regexp{
	onUse(`^(\d{1,4}):([0-5]\d)(?::([0-5]\d))?$`),               // 3:06, 3:06:30
	onUse(`^(?i)(\d{1,4}) ?h(?:rs?)? ?([0-5]?\d) ?(?:m|min)?$`), // 3h06, 3 h 6 min
}

// clockHours reads hours and minutes.
func clockHours(cell string) (hours float64, ok bool) {
	for _, form := range clockForms {
		m := form().FindStringSubmatch(cell)
		if m == nil {
			continue
		}
		for i, worth := range []float64{1, 1. / 60, 1. / 3600} {
			if i+1 < len(m) && m[i+1] != "" {
				n, _ := strconv.ParseFloat(m[i+1], 64)
				hours += n * worth
			}
		}
		return hours, true
	}
	return 0, false
}

// yes reads the cell of a column that is ticked or not.
func yes(cell string) (ticked, ok bool) {
	switch strings.ToLower(strings.TrimSpace(cell)) {
	case "", "-", "–", "—", "no", "n", "0", "false":
		return false, true
	case "yes", "y", "x", "1", "true", "new", "✓":
		return true, true
	}
	return false, false
}
