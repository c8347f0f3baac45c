package wear

import "strings"

// Nearest returns the word of the list that a mistyped one most likely means,
// "" where none is near: a different case, a beginning, or at most half of its
// letters changed, left out or put in (Levenshtein's distance).
func Nearest(word string, among []string) string {
	word = strings.ToLower(word)
	best, least := "", len(word)/2+1
	for _, candidate := range among {
		c := strings.ToLower(candidate)
		d := distance(word, c)
		if len(word) > 1 && strings.HasPrefix(c, word) {
			d = 0
		}
		if d < least {
			best, least = candidate, d
		}
	}
	return best
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
