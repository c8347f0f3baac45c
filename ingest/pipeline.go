package ingest

import (
	"context"
	"os"
	"runtime"
	"sync"

	"golang.org/x/sync/semaphore"

	"pawl/wear"
)

// Bikes finds the bike of a track. It is asked from many goroutines at once.
type Bikes interface {
	// Resolve returns whose ride the track is, of a file at path, and the model
	// for its estimates.
	Resolve(path string, t *Track) (wear.Whose, Model)
}

// Room for what is in memory at once; one file that is larger goes alone.
const (
	windowBytes = 12 << 20 // of all files that are being read or wait to be handed over
	growthBytes = maxBytes // of all that are being decompressed and decoded
)

// Run reads files on all cores and hands them to take one after the other, in
// the order given; a file that cannot be counted comes with its error like any
// other. At most two files a core are in memory at once. Run ends with the
// first error of take, or with that of ctx: what was handed over until then is
// whole, and nothing is running any more.
//
// A zip archive is a bundle: in its place come the files in it, one by one, in
// the order of its directory; o.Opened is told how many more that makes. What
// is wrong with a whole bundle comes as one file with an error.
func Run(ctx context.Context, files []string, o Options, b Bikes, take func(File) error) error {
	cores := runtime.GOMAXPROCS(0)
	p := pipeline{
		o: o, bikes: b, room: semaphore.NewWeighted(windowBytes), growth: semaphore.NewWeighted(growthBytes),
		jobs: make(chan *job), queue: make(chan *job, 2*cores),
	}
	ctx, cancel := context.WithCancel(ctx)
	var wg sync.WaitGroup
	defer wg.Wait()
	defer cancel() // before the wait: it lets the feeder go
	wg.Go(func() { p.feed(ctx, files) })
	for range cores {
		wg.Go(func() { p.work(ctx) })
	}
	return p.handOver(ctx, take)
}

// job is a file on its way. The feeder puts it first into the queue, which
// keeps the order, then before the workers.
type job struct {
	path   string
	weight int64
	inner  *bundled  // in a bundle; else nil
	err    error     // of a whole bundle
	more   int       // files that its bundle added to those expected
	done   chan File // holds one
}

type pipeline struct {
	o      Options
	bikes  Bikes
	room   *semaphore.Weighted
	growth *semaphore.Weighted
	jobs   chan *job
	queue  chan *job
	fed    bool // all files were let in; may be read once the queue is closed
}

// feed lets files in as room comes free. Room is given in the order of the
// files, so the one that is to be handed over next always has it.
func (p *pipeline) feed(ctx context.Context, files []string) {
	defer close(p.queue)
	defer close(p.jobs)
	for _, path := range files {
		b, err := openBundle(path)
		fed := false
		if b != nil {
			fed = p.feedBundle(ctx, b)
		} else {
			fed = p.letIn(ctx, &job{path: path, weight: weigh(path), err: err})
		}
		if !fed {
			return
		}
	}
	p.fed = true
}

// feedBundle lets in what a bundle holds. Each of its files holds it open.
func (p *pipeline) feedBundle(ctx context.Context, b *bundle) bool {
	defer b.release()
	for i, e := range b.entries {
		j := &job{path: b.path + "/" + e.label, weight: e.weight(), inner: e}
		if i == 0 {
			j.more = len(b.entries) - 1
		}
		b.hold()
		if !p.letIn(ctx, j) {
			b.release()
			return false
		}
	}
	return true
}

// letIn waits for room and puts a job on its way; false where ctx ended that.
func (p *pipeline) letIn(ctx context.Context, j *job) bool {
	j.done = make(chan File, 1)
	if p.room.Acquire(ctx, j.weight) != nil {
		return false
	}
	select {
	case p.queue <- j:
	case <-ctx.Done():
		return false
	}
	select {
	case p.jobs <- j:
	case <-ctx.Done():
		return false
	}
	return true
}

// weigh is the room that a file needs. One that is gone needs none.
func weigh(path string) int64 {
	info, err := os.Stat(path)
	if err != nil {
		return 1
	}
	return min(max(info.Size(), 1), windowBytes)
}

func (p *pipeline) work(ctx context.Context) {
	for j := range p.jobs {
		j.done <- p.file(ctx, j)
		if j.inner != nil {
			j.inner.of.release()
		}
	}
}

// handOver gives the files to take in their order.
func (p *pipeline) handOver(ctx context.Context, take func(File) error) error {
	for j := range p.queue {
		select {
		case f := <-j.done:
			if ctx.Err() != nil {
				return ctx.Err()
			}
			if j.more > 0 && p.o.Opened != nil {
				p.o.Opened(j.more)
			}
			if err := take(f); err != nil {
				return err
			}
			p.room.Release(j.weight)
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	if p.fed {
		return nil
	}
	return ctx.Err()
}
