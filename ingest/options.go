package ingest

import "pawl/wear"

// Options is what reading a file depends on besides its bytes. The zero value
// reads every file whose own times are enough.
type Options struct {
	// Now is the day of the import: a ride that starts more than a day after it
	// is refused. Zero refuses none.
	Now wear.Instant
	// On is the start of a GPX that has no times, nil where the user gave none.
	On *wear.Instant
	// Hours is how long a GPX without times took; it counts only with On.
	Hours float64
	// Salvage takes what is whole in a damaged file, which is refused without it.
	Salvage bool
	// Known reports whether a file of these bytes is in the book: it is then not
	// decoded. It is asked from many goroutines at once. Nil knows none.
	Known func(wear.Hash) bool
	// Opened is told by [Run], on its own goroutine before the first file of a
	// bundle is handed over, how many more files there are than was known
	// before. Nil is not told.
	Opened func(more int)
}
