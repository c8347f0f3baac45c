//go:build race

package wear

// raced is whether the race detector watches, under which sums take ten times as long.
const raced = true
