package ingest

import "runtime"

// What is read at one go, and how much of its garbage may lie about.
const (
	largeBytes = 4 << 20 // from here on a file is not left to the collector alone
	sweepBytes = 6 << 20
)

// broom keeps the garbage of one large file small. Left to itself, the collector
// lets as much garbage lie as is in use, and a large file is in use as a whole.
type broom struct {
	idle bool
	lie  int // bytes since it last swept
}

// broomFor is the broom for a file of so many bytes; for a small one it is idle.
func broomFor(size int) broom { return broom{idle: size < largeBytes} }

// drop says that about so many bytes were taken that nobody will need for long.
func (b *broom) drop(bytes int) {
	if b.idle {
		return
	}
	if b.lie += bytes; b.lie > sweepBytes {
		runtime.GC()
		b.lie = 0
	}
}

// makeRoom collects the garbage of the files before a large one.
func makeRoom(size int64) {
	if size >= largeBytes {
		runtime.GC()
	}
}
