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
	// Resolve returns the bike, 0 where it is not known, the rule by which it
	// was found, and the model for its estimates.
	Resolve(t *Track) (bike wear.ID, rule wear.Rule, m Model)
}

// File is one file of an import and what came of it.
type File struct {
	Path   string
	Raw    []byte // as received; nil where it could not be read
	Hash   wear.Hash
	Format wear.Format
	Rides  []wear.Ride
	Gears  []wear.Gears // of the rides, one each
	Err    error        // *NotRideError, *RefusedError or nil
}

// windowBytes bounds the bytes of all files that are being read or wait to be
// handed over; one larger file goes alone.
const windowBytes = 48 << 20

// Run reads files on all cores and hands them to take one after the other, in
// the order given; a file that cannot be counted comes with its error like any
// other. At most two files a core are in memory at once. Run ends with the
// first error of take, or with that of ctx: what was handed over until then is
// whole, and nothing is running any more.
func Run(ctx context.Context, files []string, o Options, b Bikes, take func(File) error) error {
	cores := runtime.GOMAXPROCS(0)
	p := pipeline{
		o: o, bikes: b, room: semaphore.NewWeighted(windowBytes),
		jobs: make(chan *job), queue: make(chan *job, 2*cores),
	}
	ctx, cancel := context.WithCancel(ctx)
	var wg sync.WaitGroup
	defer wg.Wait()
	defer cancel() // before the wait: it lets the feeder go
	wg.Go(func() { p.feed(ctx, files) })
	for range cores {
		wg.Go(p.work)
	}
	return p.handOver(ctx, len(files), take)
}

// job is a file on its way. The feeder puts it first into the queue, which
// keeps the order, then before the workers.
type job struct {
	path   string
	weight int64
	done   chan File // holds one
}

type pipeline struct {
	o     Options
	bikes Bikes
	room  *semaphore.Weighted
	jobs  chan *job
	queue chan *job
}

// feed lets files in as room comes free. Room is given in the order of the
// files, so the one that is to be handed over next always has it.
func (p *pipeline) feed(ctx context.Context, files []string) {
	defer close(p.queue)
	defer close(p.jobs)
	for _, path := range files {
		j := &job{path: path, weight: weigh(path), done: make(chan File, 1)}
		if p.room.Acquire(ctx, j.weight) != nil {
			return
		}
		select {
		case p.queue <- j:
		case <-ctx.Done():
			return
		}
		select {
		case p.jobs <- j:
		case <-ctx.Done():
			return
		}
	}
}

// weigh is the room that a file needs. One that is gone needs none.
func weigh(path string) int64 {
	info, err := os.Stat(path)
	if err != nil {
		return 1
	}
	return min(max(info.Size(), 1), windowBytes)
}

func (p *pipeline) work() {
	for j := range p.jobs {
		j.done <- p.file(j.path)
	}
}

// handOver gives the files to take in their order.
func (p *pipeline) handOver(ctx context.Context, files int, take func(File) error) error {
	for ; files > 0; files-- {
		j, ok := <-p.queue
		if !ok {
			return ctx.Err()
		}
		select {
		case f := <-j.done:
			if ctx.Err() != nil {
				return ctx.Err()
			}
			if err := take(f); err != nil {
				return err
			}
			p.room.Release(j.weight)
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}

// file reads one file and reduces its rides.
func (p *pipeline) file(path string) File {
	f := File{Path: path}
	if f.Raw, f.Err = load(path); f.Err != nil {
		return f
	}
	tracks, sum, format, err := read(f.Raw, p.o)
	f.Hash, f.Format, f.Err = wear.Hash(sum[:len(f.Hash)]), format, err
	for _, t := range tracks {
		r, g, err := p.ride(t)
		if err != nil {
			f.Rides, f.Gears, f.Err = nil, nil, err
			return f
		}
		r.ID, r.File = rideID(sum, t.Leg), f.Hash
		f.Rides, f.Gears = append(f.Rides, r), append(f.Gears, g)
	}
	return f
}

// ride reduces one track for the bike that it was ridden on.
func (p *pipeline) ride(t *Track) (r wear.Ride, g wear.Gears, err error) {
	defer func() {
		if broke := recover(); broke != nil {
			err = refused("keep the file and report this", "the sums broke on this file: %v", broke)
		}
	}()
	bike, rule, m := p.bikes.Resolve(t)
	out := Reduce(t, m)
	return RideOf(t, out, bike, rule), out.Gears, nil
}

// RideOf is the ride of a track and its outcome, without ID and file.
func RideOf(t *Track, out Outcome, bike wear.ID, rule wear.Rule) wear.Ride {
	r := wear.Ride{
		Bike: bike, Rule: rule, Start: out.Start, Elapsed: out.Elapsed, Offset: t.Offset,
		Format: t.Format, Version: SumsVersion, Leg: uint8(t.Leg),
		Recorded: out.Recorded, Estimated: out.Estimated, Lacking: out.Lacking,
		Notes:  append(append([]string(nil), t.Warnings...), out.Notes...),
		Device: t.Device, Sensors: t.Sensors, Title: t.Title, Profile: t.Profile,
	}
	if t.Indoor {
		r.Ground = wear.Trainer
	}
	if t.Salvaged != "" {
		r.Salvaged = true
		r.Notes = append(r.Notes, "from a damaged file: "+t.Salvaged+" are whole")
	}
	return r
}
