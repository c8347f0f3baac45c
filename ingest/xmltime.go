package ingest

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// noTime is the T of a sample whose file gives it no time that can be read.
const noTime = math.MinInt64

// stamp is a moment as XML writes it.
type stamp struct {
	t      int64 // ms of UTC
	offset int32 // s east of UTC as written
	zoned  bool  // a zone was written; without one it is taken as UTC
}

// parseStamp reads an xsd:dateTime and its common misspellings: a space for
// the T, a comma in the fraction, an offset without colon, a zone left out.
// Fractions are exact to the millisecond, rounded down.
func parseStamp(s string) (stamp, bool) {
	s = strings.TrimSpace(s)
	if len(s) < len("2006-01-02T15:04:05") || s[4] != '-' || s[7] != '-' || s[13] != ':' || s[16] != ':' {
		return stamp{}, false
	}
	if c := s[10]; c != 'T' && c != 't' && c != ' ' {
		return stamp{}, false
	}
	ms, ok := civil(s)
	if !ok {
		return stamp{}, false
	}
	fraction, rest := cutFraction(s[19:])
	offset, zoned, ok := parseZone(strings.TrimSpace(rest))
	if !ok {
		return stamp{}, false
	}
	return stamp{t: ms + fraction - int64(offset)*1000, offset: offset, zoned: zoned}, true
}

// civil is the date and time of day in the first 19 bytes, as ms of UTC.
func civil(s string) (int64, bool) {
	var v [6]int
	for i, at := range [6]int{0, 5, 8, 11, 14, 17} {
		width := 2
		if i == 0 {
			width = 4
		}
		n, ok := digits(s[at : at+width])
		if !ok {
			return 0, false
		}
		v[i] = n
	}
	if v[1] < 1 || v[1] > 12 || v[2] < 1 || v[2] > 31 || v[3] > 24 || v[4] > 59 || v[5] > 60 {
		return 0, false
	}
	return time.Date(v[0], time.Month(v[1]), v[2], v[3], v[4], v[5], 0, time.UTC).UnixMilli(), true
}

func digits(s string) (int, bool) {
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		n = n*10 + int(s[i]-'0')
	}
	return n, len(s) > 0
}

// cutFraction reads ".25" or ",25" as 250 ms.
func cutFraction(s string) (ms int64, rest string) {
	if s == "" || s[0] != '.' && s[0] != ',' {
		return 0, s
	}
	end := 1
	for worth := int64(100); end < len(s) && s[end] >= '0' && s[end] <= '9'; end++ {
		ms += worth * int64(s[end]-'0')
		worth /= 10
	}
	return ms, s[end:]
}

// parseZone reads "Z", "+01:00", "-0330", "+01" or nothing.
func parseZone(s string) (offset int32, zoned, ok bool) {
	switch {
	case s == "":
		return 0, false, true
	case s == "Z" || s == "z":
		return 0, true, true
	case s[0] != '+' && s[0] != '-':
		return 0, false, false
	}
	figures := strings.Replace(s[1:], ":", "", 1)
	if len(figures) == 2 {
		figures += "00"
	}
	n, ok := digits(figures)
	hours, minutes := n/100, n%100
	if !ok || len(figures) != 4 || hours > 14 || minutes > 59 {
		return 0, false, false
	}
	offset = int32(hours*3600 + minutes*60)
	if s[0] == '-' {
		offset = -offset
	}
	return offset, true, true
}

// parseNumber reads a decimal, with a comma too; what is none, or not finite,
// is NaN: absent.
func parseNumber(s string) float64 {
	s = strings.TrimSpace(s)
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		v, err = strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	}
	if err != nil || math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}
