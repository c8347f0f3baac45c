//go:build !race

package desk

// raced is whether the race detector watches, under which everything takes long.
const raced = false
