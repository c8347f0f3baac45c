package wear

import (
	"cmp"
	"slices"
	"strings"
)

// Nearest returns the name that a mistyped one most likely means, "" where
// none is near: the first of [Near].
func Nearest(name string, among []string) string {
	if best := Near(name, among); len(best) > 0 {
		return best[0]
	}
	return ""
}

// Near lists up to three names that look like the one asked for, the likeliest
// first: one that begins with it, holds it or is held in it, or differs by no
// more letters than one and a quarter of its length (Levenshtein's distance).
// Case does not matter; among equals chain-2 comes before chain-10.
func Near(name string, names []string) []string {
	type guess struct {
		name     string
		off, far int
	}
	var guesses []guess
	want := strings.ToLower(name)
	for _, n := range names {
		have := strings.ToLower(n)
		if off := unlike(want, have); off <= 1+len(want)/4 {
			guesses = append(guesses, guess{n, off, distance(want, have)})
		}
	}
	slices.SortStableFunc(guesses, func(a, b guess) int {
		return cmp.Or(a.off-b.off, a.far-b.far, Naturally(a.name, b.name))
	})
	var best []string
	for _, g := range guesses[:min(3, len(guesses))] {
		best = append(best, g.name)
	}
	return best
}

// unlike is how far two names in lower case are apart.
func unlike(want, have string) int {
	switch {
	case len(want) > 1 && strings.HasPrefix(have, want):
		return 0
	case len(want) > 2 && (strings.Contains(have, want) || have != "" && strings.Contains(want, have)):
		return 1
	}
	return distance(want, have)
}

// distance is Levenshtein's: the fewest letters to change, drop or insert.
func distance(a, b string) int {
	s, t := []rune(a), []rune(b)
	row := make([]int, len(t)+1)
	for j := range row {
		row[j] = j
	}
	for i, c := range s {
		diagonal := row[0]
		row[0] = i + 1
		for j, d := range t {
			cost := 1
			if c == d {
				cost = 0
			}
			diagonal, row[j+1] = row[j+1], min(diagonal+cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(t)]
}

// Naturally compares names so that chain-2 comes before chain-10.
func Naturally(a, b string) int {
	for a != "" && b != "" {
		da, db := digits(a), digits(b)
		if da > 0 && db > 0 {
			na, nb := strings.TrimLeft(a[:da], "0"), strings.TrimLeft(b[:db], "0")
			if c := cmp.Or(cmp.Compare(len(na), len(nb)), cmp.Compare(na, nb), cmp.Compare(da, db)); c != 0 {
				return c
			}
			a, b = a[da:], b[db:]
			continue
		}
		if a[0] != b[0] {
			return cmp.Compare(a[0], b[0])
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Compare(len(a), len(b))
}

// digits counts the digits that a text begins with.
func digits(s string) int {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return i
		}
	}
	return len(s)
}
