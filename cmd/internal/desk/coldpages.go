package desk

import (
	"context"
	"runtime"
	"time"
)

// coldReaders is how many bikes are read at once while pages of the book come from
// the disk. A page that is not in memory stops its whole thread, which Go takes for
// a busy one; a disk answers sixteen such questions in little more time than one.
// After the page cache was dropped, a walk over 10,000 bikes on two cores took half
// of the time; on pages in memory more threads than cores cost a tenth.
const coldReaders = 16

// coldEvery is how often a walk asks whether it waits for pages, and coldPages how
// many of them in that time say so.
const (
	coldEvery = 10 * time.Millisecond
	coldPages = 10
)

// readCold has as many threads as the disk wants until end is called.
func readCold() (end func()) {
	return coldness.begin(func() func() {
		ctx, stop := context.WithCancel(context.Background())
		return inBackground(func() { threadsWhileCold(ctx, pagesFromDisk) }, stop)
	})
}

// threadsWhileCold lets more threads than cores run for as long as pages come from
// the disk, until the context ends. faults counts those that did.
func threadsWhileCold(ctx context.Context, faults func() int64) {
	cores := runtime.GOMAXPROCS(0)
	defer runtime.GOMAXPROCS(cores)
	tick := time.NewTicker(coldEvery)
	defer tick.Stop()
	for threads, before := cores, faults(); ; {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		now, want := faults(), cores
		if now-before >= coldPages {
			want = max(cores, coldReaders)
		}
		if before = now; want != threads {
			threads = want
			runtime.GOMAXPROCS(threads)
		}
	}
}
