package desk

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// ParseCogs reads the cogs of a cassette, "10-12-14-…", smallest first or last.
func ParseCogs(text string) ([]int, error) {
	if text == "" {
		return nil, nil
	}
	var cogs []int
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == '-' || r == ',' || r == ' ' }) {
		n, err := strconv.Atoi(word)
		if err != nil || n < 8 || n > 60 {
			return nil, mistake("write every cog: 10-12-14-16-18-21-24-28-32-36-42-51", "cogs %q: %q is not a cog of 8 to 60 teeth", text, word)
		}
		cogs = append(cogs, n)
	}
	slices.Sort(cogs)
	if len(cogs) != len(slices.Compact(slices.Clone(cogs))) {
		return nil, mistake("write every cog once: 10-12-14-16-18-21-24-28-32-36-42-51", "cogs %q: one is there twice", text)
	}
	return cogs, nil
}

var usedForm = onUse(`^([0-9]+(?:\.[0-9]+)?)\s*(km|mi|h|m|ft)$`)

// ParseUsed reads what a part had done before, "1200km,60h,25000m".
func ParseUsed(text string) (Used, error) {
	u := Nothing()
	for word := range strings.SplitSeq(text, ",") {
		if word = strings.TrimSpace(word); word == "" {
			continue
		}
		m := usedForm().FindStringSubmatch(word)
		if m == nil {
			return u, mistake("write km, climb and hours as 1200km,25000m,60h; leave out what is not known", "used %q: not understood", word)
		}
		v, _ := strconv.ParseFloat(m[1], 64) // the form admits numbers only
		if err := u.set(v, m[2]); err != nil {
			return u, err
		}
	}
	return u, nil
}

// set puts one amount in its place: miles and feet are the international ones.
func (u *Used) set(v float64, unit string) error {
	to, factor, most := &u.Km, 1.0, 200_000.0
	switch unit {
	case "mi":
		factor = 1.609344
	case "h":
		to, most = &u.Hours, 20_000
	case "m":
		to, most = &u.Climb, 5_000_000
	case "ft":
		to, factor, most = &u.Climb, 0.3048, 5_000_000
	}
	if !math.IsNaN(*to) {
		return mistake("write each once: 1200km,25000m,60h", "used: %g%s comes after another of its sort", v, unit)
	}
	if *to = v * factor; *to > most {
		return mistake("write km, climb and hours as 1200km,25000m,60h", "used %g%s: cannot be meant", v, unit)
	}
	return nil
}

var moneyForm = onUse(`^[0-9]{1,9}(?:[.,][0-9]{1,2})?$`)

// ParseMoney reads an amount in hundredths of the book's currency, "24.50".
func ParseMoney(text string) (int64, error) {
	if text == "" {
		return 0, nil
	}
	if !moneyForm().MatchString(text) {
		return 0, mistake("write a cost as 24.50", "cost %q: not an amount", text)
	}
	v, _ := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64) // the form admits numbers only
	return int64(math.Round(v * 100)), nil
}
