//go:build race

package main

// raced is whether the race detector watches, under which a process takes long to start.
const raced = true
