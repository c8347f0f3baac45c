package ingest

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"pawl/wear"
)

// whatDate is how to write a date.
const whatDate = "write it as 2026-04-03"

var errNoDate = errors.New("is not a date: " + whatDate)

var (
	yearFirst = onUse(`^(\d{4})([-/.])(\d{1,2})([-/.])(\d{1,2})$`)
	yearLast  = onUse(`^(\d{1,2})([-/.])(\d{1,2})([-/.])(\d{4})$`)
	shortYear = onUse(`^\d{1,2}[-/.]\d{1,2}[-/.]\d{2}$`)
	dayFigure = onUse(`^\d{8}$`)
	dayNumber = onUse(`^[2-9]\d{4}(?:[.,]\d+)?$`) // days since 1900, from 1954 on
	dayOfName = onUse(`^(\d{1,2})(?:st|nd|rd|th)?[ -]+([a-z]{3,9})\.?,?[ -]+(\d{4})$`)
	nameOfDay = onUse(`^([a-z]{3,9})\.?[ -]+(\d{1,2})(?:st|nd|rd|th)?,?[ -]+(\d{4})$`)
	timeOfDay = onUse(`^(\d{1,2}):([0-5]\d)(?::([0-5]\d)(?:[.,]\d+)?)? ?([ap]m)?$`)
	zoneOfDay = onUse(`(?i)(z|[+-]\d\d:?\d\d)$`)
)

// when reads the date of a row, with or without a time of day. order is that of
// day and month where the column's name says it.
func (r *Row) when(cell string, order byte) error {
	s := strings.ToLower(strings.Join(strings.Fields(cell), " "))
	if s == "" {
		return errors.New("no date")
	}
	day, clock := splitClock(s)
	var err error
	if r.On, err = dateOf(day, order); err != nil {
		return fmt.Errorf("%q %w", clipped(cell), err)
	}
	if clock != "" && !r.clockOf(clock) {
		return fmt.Errorf("%q has a time of day that makes no sense: leave it out, or write it as 2026-04-03 09:15", clipped(cell))
	}
	return nil
}

// splitClock parts a date from the time of day behind it.
func splitClock(s string) (day, clock string) {
	i := strings.IndexByte(s, ':')
	if i < 0 {
		return s, ""
	}
	i = strings.LastIndexAny(s[:i], " t")
	if i < 0 {
		return s, ""
	}
	return strings.TrimSuffix(strings.TrimSpace(s[:i]), ","), s[i+1:]
}

// clockOf adds a time of day to the date; one with a zone makes it an instant.
func (r *Row) clockOf(s string) bool {
	offset := int32(0)
	if zone := zoneOfDay().FindString(s); zone != "" {
		ok := false
		if offset, _, ok = parseZone(zone); !ok {
			return false
		}
		s = strings.TrimSpace(strings.TrimSuffix(s, zone))
		r.zoned = true
	}
	m := timeOfDay().FindStringSubmatch(s)
	if m == nil {
		return false
	}
	hour, _ := strconv.Atoi(m[1])
	minute, _ := strconv.Atoi(m[2])
	second, _ := strconv.Atoi(m[3]) // 0 where it is left out
	if half := m[4]; half != "" {
		if hour < 1 || hour > 12 {
			return false
		}
		hour = hour%12 + 12*int(truth(half == "pm"))
	}
	if hour > 23 {
		return false
	}
	r.clock = true
	r.On = r.On.Add(time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute +
		time.Duration(second-int(offset))*time.Second)
	return true
}

// dateOf reads a date. Of day and month the order must be plain: by points, as
// only the day goes first there, by a day beyond twelve, or by the column.
func dateOf(s string, order byte) (time.Time, error) {
	if m := yearFirst().FindStringSubmatch(s); m != nil && m[2] == m[4] {
		return calendar(m[1], m[3], m[5])
	}
	if m := yearLast().FindStringSubmatch(s); m != nil && m[2] == m[4] {
		return dayAndMonth(m[1], m[3], m[5], order, m[2] == ".")
	}
	if m := dayOfName().FindStringSubmatch(s); m != nil {
		return calendar(m[3], monthNumber(m[2]), m[1])
	}
	if m := nameOfDay().FindStringSubmatch(s); m != nil {
		return calendar(m[3], monthNumber(m[1]), m[2])
	}
	switch {
	case dayFigure().MatchString(s):
		return calendar(s[:4], s[4:6], s[6:])
	case shortYear().MatchString(s):
		return time.Time{}, errors.New("has a year of two figures: " + whatDate)
	case dayNumber().MatchString(s):
		return time.Time{}, errors.New("is a spreadsheet's number of a day: let it show the column as a date, 2026-04-03")
	}
	return time.Time{}, errNoDate
}

// dayAndMonth settles which of two figures is the day.
func dayAndMonth(a, b, year string, order byte, points bool) (time.Time, error) {
	dayFirst, dayErr := calendar(year, b, a)
	monthFirst, monthErr := calendar(year, a, b)
	switch {
	case order == 'd', order == 0 && points:
		return dayFirst, dayErr
	case order == 'm', dayErr != nil:
		return monthFirst, monthErr
	case monthErr != nil, dayFirst.Equal(monthFirst):
		return dayFirst, nil
	}
	return time.Time{}, fmt.Errorf("can be read in two ways: write %s or %s",
		dayFirst.Format(time.DateOnly), monthFirst.Format(time.DateOnly))
}

// calendar is a day of the calendar that exists.
func calendar(year, month, day string) (time.Time, error) {
	y, _ := strconv.Atoi(year)
	m, _ := strconv.Atoi(month)
	d, _ := strconv.Atoi(day)
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	if t.Day() != d || t.Month() != time.Month(m) {
		return t, errNoDate
	}
	return t, nil
}

// monthNumber is the number of a month by its English name or the first three
// letters of it, or more; "" where there is none.
func monthNumber(name string) string {
	for m := time.January; m <= time.December; m++ {
		if strings.HasPrefix(strings.ToLower(m.String()), name) || name == "sept" && m == time.September {
			return strconv.Itoa(int(m))
		}
	}
	return ""
}

// plausible refuses a day that no ride of the book can have.
func (r *Row) plausible(now wear.Instant) error {
	switch {
	case r.On.UnixMilli() < year1990:
		return fmt.Errorf("%s is before 1990", r.On.Format(time.DateOnly))
	case now != 0 && r.On.UnixMilli() > int64(now)+wear.Day:
		return fmt.Errorf("%s is in the future", r.On.Format(time.DateOnly))
	}
	return nil
}
