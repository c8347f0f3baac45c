package ingest

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"pawl/wear"
)

// withoutTimes is what to do with a GPX that tells no times.
const withoutTimes = "say when it was and how long it took: pawl import FILE --on DATE --hours H"

// backwards is the share of a file's points beyond which times that run
// backwards are no slip of the receiver but a fault of the whole file.
const backwards = 0.01

// inTime returns segments in order, every sample with a time of its own that is
// later than the one before. Where they have no times these are made from the
// options. notes tell what was left out.
func inTime(parts []gpxSegment, o Options) (kept []gpxSegment, notes []string, err error) {
	points := 0
	for _, p := range parts {
		points += len(p.samples)
	}
	lacking, old := untimed(parts)
	if 2*lacking > points {
		parts, err = spread(parts, o, old)
		return parts, []string{"no times in the file: spread evenly over the hours given"}, err
	}
	parts = without(parts, func(s Sample) bool { return s.T == noTime })
	if lacking > 0 {
		notes = append(notes, fmt.Sprintf("left out %d of %s: no time", lacking, count(points, "point")))
	}
	wild := 0
	for i := range parts {
		wild += parts[i].straighten()
	}
	if float64(wild) > max(backwards*float64(points), 3) {
		return nil, nil, refused("export the ride again from the device or site it came from",
			"the times run backwards at %s of %d", count(wild, "point"), points)
	}
	if wild > 0 {
		notes = append(notes, fmt.Sprintf("left out %s: the time runs backwards", count(wild, "point")))
	}
	if leapt := leaping(parts); leapt > 0 {
		notes = append(notes, fmt.Sprintf("left out %s: the time leaps by more than a day", count(leapt, "point")))
	}
	parts, again := inTurn(parts)
	if again > 0 {
		notes = append(notes, fmt.Sprintf("left out %s: the file has that time twice", count(again, "point")))
	}
	return parts, notes, nil
}

// segments are the segments of all tracks that have points.
func (f *gpxFile) segments() []gpxSegment {
	var parts []gpxSegment
	for _, t := range f.tracks {
		for _, samples := range t.segments {
			if len(samples) > 0 {
				parts = append(parts, gpxSegment{
					title: first(t.title, f.title), sport: first(t.sport, f.sport), samples: samples,
				})
			}
		}
	}
	return parts
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// untimed counts the points without a time, having made those before 1990 such
// (a receiver that has no fix yet writes the beginning of its calendar), and
// returns one of these, 0 where there was none.
func untimed(parts []gpxSegment) (n int, old int64) {
	for _, p := range parts {
		for i := range p.samples {
			s := &p.samples[i]
			if s.T != noTime && s.T < year1990 {
				old, s.T = s.T, noTime
			}
			if s.T == noTime {
				n++
			}
		}
	}
	return n, old
}

// without drops the samples that bad names, and segments that become empty.
func without(parts []gpxSegment, bad func(Sample) bool) []gpxSegment {
	for i := range parts {
		parts[i].samples = slices.DeleteFunc(parts[i].samples, bad)
	}
	return slices.DeleteFunc(parts, func(p gpxSegment) bool { return len(p.samples) == 0 })
}

// straighten drops what does not come after the point before it, and counts
// the points whose time runs backwards. A point that leaps ahead is blamed
// itself, not those that follow it. Of points with the same time the first
// stays: those are receivers faster than their clock.
func (p *gpxSegment) straighten() (wild int) {
	kept := p.samples[:0]
	for i, s := range p.samples {
		last := int64(noTime)
		if len(kept) > 0 {
			last = kept[len(kept)-1].T
		}
		leaps := i+1 < len(p.samples) && s.T > p.samples[i+1].T && p.samples[i+1].T > last
		if s.T < last || leaps {
			wild++
			continue
		}
		if s.T > last {
			kept = append(kept, s)
		}
	}
	p.samples = kept
	return wild
}

// leaping drops, and counts, the few points beyond a leap of more than a day at
// the start or the end of a segment.
func leaping(parts []gpxSegment) (dropped int) {
	for i := range parts {
		var n int
		parts[i].samples, n = withoutLeaps(parts[i].samples)
		dropped += n
	}
	return dropped
}

// inTurn sorts segments by their start and drops the points whose time an
// earlier gpxSegment covers: some programs write a track twice.
func inTurn(parts []gpxSegment) (kept []gpxSegment, again int) {
	slices.SortStableFunc(parts, func(a, b gpxSegment) int {
		if a.start() != b.start() {
			return cmp.Compare(a.start(), b.start())
		}
		return cmp.Compare(b.end(), a.end())
	})
	until := int64(noTime)
	for i := range parts {
		before := len(parts[i].samples)
		parts[i].samples = slices.DeleteFunc(parts[i].samples, func(s Sample) bool { return s.T <= until })
		again += before - len(parts[i].samples)
		if len(parts[i].samples) > 0 {
			until = parts[i].end()
			kept = append(kept, parts[i])
		}
	}
	return kept, again
}

// spread gives every point the time at which it was passed had the whole been
// ridden at one speed, from o.On for o.Hours.
func spread(parts []gpxSegment, o Options, old int64) ([]gpxSegment, error) {
	why := "no times in it"
	if old != 0 {
		why = fmt.Sprintf("its times are of %d: the device's clock was not set", time.UnixMilli(old).UTC().Year())
	}
	if o.On == nil || !(o.Hours > 0) || o.Hours > 1_000 {
		return nil, refused(withoutTimes, "%s", why)
	}
	parts = without(parts, func(s Sample) bool { return math.IsNaN(s.Lat) })
	way, points := lengths(parts)
	if points < 2 || way == 0 {
		return nil, notRide("fewer than two places, not a ride")
	}
	span := o.Hours * 3_600_000
	if fast := way / span * 1000; fast > fastest {
		return nil, refused(withoutTimes, "%.0f km in %g hours: no bike is that fast", way/1000, o.Hours)
	}
	stampEvenly(parts, *o.On, span/way)
	return parts, nil
}

// stampEvenly sets the times at pace ms a metre.
func stampEvenly(parts []gpxSegment, on wear.Instant, pace float64) {
	way, last := 0.0, int64(noTime)
	for n := range parts {
		p := &parts[n]
		p.made = true
		for i := range p.samples {
			if i > 0 {
				way += metresBetween(&p.samples[i-1], &p.samples[i])
			}
			t := max(int64(on)+int64(math.Round(way*pace)), last+1)
			p.samples[i].T, last = t, t
		}
	}
}

// lengths sums the way within the segments, and their points.
func lengths(parts []gpxSegment) (metres float64, points int) {
	for _, p := range parts {
		points += len(p.samples)
		for i := 1; i < len(p.samples); i++ {
			metres += metresBetween(&p.samples[i-1], &p.samples[i])
		}
	}
	return metres, points
}

// metresBetween is the way from one sample to another, NaN where one of them
// does not say where it is.
func metresBetween(a, b *Sample) float64 {
	return math.Hypot(geodesic(a.Lat, a.Lon, b.Lat, b.Lon))
}
