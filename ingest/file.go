package ingest

import (
	"context"

	"pawl/wear"
)

// File is one file of an import and what came of it.
type File struct {
	Path   string // of a file in a bundle: the bundle's, then its name within, made harmless
	Raw    []byte // as received; nil where it could not be read
	Hash   wear.Hash
	Format wear.Format
	Known  bool   // to Options.Known: the hash is all that is told
	Table  *Table // where the file is one; then there are no rides
	Rides  []wear.Ride
	Gears  []wear.Gears // of the rides, one each
	Err    error        // *NotRideError, *RefusedError or nil
}

// file reads one file and reduces its rides.
func (p *pipeline) file(ctx context.Context, j *job) File {
	f := File{Path: j.path}
	var damage *RefusedError
	makeRoom(j.weight)
	if f.Raw, damage, f.Err = j.load(); f.Err != nil {
		return f
	}
	if grown := growth(f.Raw); grown > 0 {
		if f.Err = p.growth.Acquire(ctx, grown); f.Err != nil {
			return f // nobody takes it any more
		}
		defer p.growth.Release(grown)
		makeRoom(grown)
	}
	tracks, sum, format, err := readFrom(f.Raw, damage, p.o)
	f.Hash, f.Format, f.Err = wear.Hash(sum[:len(f.Hash)]), format, err
	if err == nil && format == wear.Table {
		if damage != nil {
			f.Err = damage // a number that is cut is another number
			return f
		}
		f.Table, f.Err = ReadTable(f.Raw, p.o)
		return f
	}
	f.Known = err == nil && tracks == nil
	for _, t := range tracks {
		r, g, err := p.ride(j.path, t)
		if err != nil {
			f.Rides, f.Gears, f.Err = nil, nil, err
			return f
		}
		r.ID, r.File = rideID(sum, t.Leg), f.Hash
		f.Rides, f.Gears = append(f.Rides, r), append(f.Gears, g)
	}
	return f
}

// load gets the bytes of a file; see [bundled.read].
func (j *job) load() (raw []byte, damage *RefusedError, err error) {
	switch {
	case j.err != nil:
		return nil, nil, j.err
	case j.inner != nil:
		return j.inner.read()
	}
	raw, err = load(j.path)
	return raw, nil, err
}

// ride reduces one track for the bike that it was ridden on.
func (p *pipeline) ride(path string, t *Track) (r wear.Ride, g wear.Gears, err error) {
	defer func() {
		if broke := recover(); broke != nil {
			err = refused("keep the file and report this", "the sums broke on this file: %v", broke)
		}
	}()
	whose, m := p.bikes.Resolve(path, t)
	out := Reduce(t, m)
	return RideOf(t, out, whose), out.Gears, nil
}

// RideOf is the ride of a track and its outcome, without ID and file.
func RideOf(t *Track, out Outcome, whose wear.Whose) wear.Ride {
	r := wear.Ride{
		Bike: whose.Bike, Rule: whose.Rule, Because: whose.Because, Start: out.Start, Elapsed: out.Elapsed, Offset: t.Offset,
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
		r.Notes = append(r.Notes, "from a damaged file: "+t.Salvaged)
	}
	return r
}
