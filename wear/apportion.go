package wear

import (
	"cmp"
	"slices"
)

// Apportion splits a whole into parts by their weights, all alike where none has
// one: whole numbers that add up to it, by largest remainders (A. Hamilton's method),
// of equal remainders the earlier part first. Weights and whole are not negative.
func Apportion(whole int64, weights []int) []int64 {
	parts := make([]int64, len(weights))
	var sum int64
	for _, w := range weights {
		sum += int64(w)
	}
	if sum == 0 {
		weights, sum = slices.Repeat([]int{1}, len(weights)), int64(len(weights))
	}
	rest, order := whole, make([]int, len(weights))
	for i, w := range weights {
		parts[i], order[i] = whole*int64(w)/sum, i
		rest -= parts[i]
	}
	slices.SortStableFunc(order, func(i, j int) int {
		return cmp.Compare(whole*int64(weights[j])%sum, whole*int64(weights[i])%sum)
	})
	for _, i := range order[:rest] {
		parts[i]++
	}
	return parts
}
