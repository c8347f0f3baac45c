// Package house holds the test that keeps the house as it was drawn: which
// folder may import which, and what may lie at the top.
package house
