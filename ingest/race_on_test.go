//go:build race

package ingest

// raced is whether the race detector watches, under which large files take minutes.
const raced = true
