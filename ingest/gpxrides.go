package ingest

import (
	"fmt"
	"math"

	"pawl/wear"
)

const (
	// outingGap, in ms, is the shortest gap between segments that divides two
	// outings: four hours (common practice, no published source). It is longer
	// than any lunch and shorter than a night.
	outingGap = 4 * 3_600_000
	// maxLegs is the most outings that one file may hold.
	maxLegs = 200
)

// errTooFew is returned when a file has nothing that could be summed.
var errTooFew = notRide("fewer than two points with a time, not a ride")

// gpxSegment is a run of samples with a gap before and after it, as the file has it.
type gpxSegment struct {
	title, sport string
	lap          int  // of a TCX: its number
	made         bool // its times are not the file's
	samples      []Sample
}

func (s gpxSegment) start() int64 { return s.samples[0].T }
func (s gpxSegment) end() int64   { return s.samples[len(s.samples)-1].T }

// rides makes tracks of what the file says. counted is the number of its
// points as its bytes show them.
func (f *gpxFile) rides(o Options, counted int) ([]*Track, error) {
	var notes []string
	if f.mended > 0 {
		notes = append(notes, fmt.Sprintf("stepped over %s of broken XML", count(f.mended, "place")))
	}
	if lost := counted - f.points; lost > 0 {
		notes = append(notes, fmt.Sprintf("%d of %s could not be read", lost, count(counted, "point")))
	}
	if f.zoneless > 0 {
		notes = append(notes, "times without a zone are taken as UTC")
	}
	parts, timed, err := inTime(f.segments(), o)
	if err != nil {
		return nil, err
	}
	legs, err := outings(parts)
	if err != nil {
		return nil, err
	}
	return f.tracksOf(legs, o, append(notes, timed...))
}

// tracksOf keeps the legs that are rides of a bike. Legs are numbered before
// any is left out, so that a leg keeps its number.
func (f *gpxFile) tracksOf(legs [][]gpxSegment, o Options, notes []string) ([]*Track, error) {
	var tracks []*Track
	var other string
	for i, leg := range legs {
		t := f.track(leg, notes)
		t.Leg = i
		if what := otherSport(t.Sport); what != "" {
			other = what
			continue
		}
		if len(t.Samples) > 1 {
			tracks = append(tracks, t)
		}
	}
	switch {
	case len(tracks) > 0:
		return tracks, nil
	case other != "":
		return nil, notRide("%s, not a ride of a bike", other)
	}
	return nil, errTooFew
}

// track joins the segments of one outing.
func (f *gpxFile) track(leg []gpxSegment, notes []string) *Track {
	nan := math.NaN()
	t := &Track{
		Format: wear.GPX, Sport: lowered(leg[0].sport), Indoor: indoorSport(leg[0].sport),
		Offset: f.offset, Device: f.device(), Title: leg[0].title,
		Totals:   Totals{Distance: nan, Climb: nan, Descent: nan, Moving: nan, Turns: nan, Work: nan},
		Warnings: append([]string(nil), notes...),
	}
	for _, s := range leg {
		if len(t.Samples) > 0 {
			t.Breaks = append(t.Breaks, len(t.Samples))
		}
		t.Samples = append(t.Samples, s.samples...)
	}
	t.Start, t.End = t.Samples[0].T, t.Samples[len(t.Samples)-1].T
	t.doubt()
	if !leg[0].made {
		t.fillIn()
	}
	return t
}

// outings divides segments, which are in order of time, where a gap is long
// or the kind of sport changes.
func outings(parts []gpxSegment) ([][]gpxSegment, error) {
	var legs [][]gpxSegment
	for i, s := range parts {
		if i == 0 || s.start()-parts[i-1].end() >= outingGap || otherSport(s.sport) != otherSport(parts[i-1].sport) {
			legs = append(legs, nil)
		}
		last := &legs[len(legs)-1]
		*last = append(*last, s)
	}
	if len(legs) > maxLegs {
		return nil, refused(splitFile, "%d outings in one file, more than %d", len(legs), maxLegs)
	}
	return legs, nil
}
