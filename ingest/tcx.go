package ingest

import (
	"bytes"
	"fmt"
	"math"

	"pawl/wear"
)

// tcxAgain is what to do about a TCX that tells too little.
const tcxAgain = "export the ride again, best as FIT"

// What a TCX can have of tracks, and of tags, its own and for each point: a
// hostile file of nothing but tags makes much garbage.
const (
	tcxTracks    = 100_000
	tcxTags      = 3_000_000
	tcxPointTags = 40
)

// tcxFile is what a TCX says, before anything of it is judged.
type tcxFile struct {
	activities []*tcxActivity
	more       int // activities beyond maxLegs, not kept
	courses    int
	workouts   int
	seen       int // track points, those of courses too
	silent     int // of activities, that tell nothing but a time
	xmlReport
}

// tcxActivity is one outing, in its laps.
type tcxActivity struct {
	sport    string
	id       string // by the standard the time of its start
	notes    string
	device   wear.Sensor
	start    int64 // ms of UTC, as its first lap or itself says; noTime where not
	offset   int32 // s east of UTC, of the first time that has a zone
	zoneless int   // times without a zone

	parts   []gpxSegment // one for each track that has points
	points  int
	telling int // points with more than a heart rate
	located int // points with a position
	seconds tcxSum
	metres  tcxSum
	laps    int
}

// tcxSum is the sum of what the laps say. It counts only where every lap that
// has points says something.
type tcxSum struct {
	sum    float64
	lap    float64 // of the open lap; NaN while it has said nothing
	broken bool    // a lap with points said nothing
}

// end adds the open lap.
func (s *tcxSum) end(points int) {
	switch {
	case !math.IsNaN(s.lap):
		s.sum += s.lap
	case points > 0:
		s.broken = true
	}
	s.lap = math.NaN()
}

// total is the sum, NaN where it does not count or where there is none.
func (s *tcxSum) total() float64 {
	if s.broken || s.sum == 0 {
		return math.NaN()
	}
	return s.sum
}

// readTCX turns a TCX into its rides, one leg for each of its activities. Those
// of other sports are left out; courses and workouts are no rides.
func readTCX(data []byte, o Options) ([]*Track, error) {
	text, err := plainXML(data)
	if err != nil {
		return nil, err
	}
	points := countTags(text, "Trackpoint")
	if err := boundTCX(text, points); err != nil {
		return nil, err
	}
	f, err := streamTCX(text, points)
	if err != nil {
		return nil, refused(tcxAgain, "not a TCX that can be read: %v", err)
	}
	if err := f.sound(); err != nil {
		return nil, err
	}
	tracks, err := f.rides(o, points)
	if f.cut {
		return f.salvage(tracks, err, o)
	}
	return tracks, err
}

// boundTCX refuses what would take more memory than a ride does.
func boundTCX(text []byte, points int) error {
	tags, tracks := bytes.Count(text, []byte("<")), countTags(text, "Track")
	switch {
	case longestTag(text) > maxTag:
		return refused(fetchAgain, "not a TCX that can be read: a tag of more than %d kB", maxTag>>10)
	case points > maxPoints:
		return refused(splitFile, "%d track points, more than the %d that one file may hold", points, maxPoints)
	case tracks > tcxTracks:
		return refused(splitFile, "%d tracks, more than the %d that one file may hold", tracks, tcxTracks)
	case tags > tcxTags+tcxPointTags*points:
		return refused(fetchAgain, "not a TCX that can be read: %d tags for %s", tags, count(points, "point"))
	}
	return nil
}

// sound says why there is nothing in the file to take.
func (f *tcxFile) sound() error {
	switch {
	case f.more > 0:
		return refused(splitFile, "%d activities in one file, more than %d", maxLegs+f.more, maxLegs)
	case len(f.activities) > 0:
		return nil
	case f.courses > 0:
		return notRide("a course, not a ride")
	case f.workouts > 0:
		return notRide("a workout plan, not a ride")
	case f.cut:
		return refused(fetchAgain, "the file is cut short: it ends before its first activity")
	}
	return notRide("no activity in it, so no ride")
}

// points is the number of those of all activities that tell something.
func (f *tcxFile) points() (n int) {
	for _, a := range f.activities {
		n += a.points
	}
	return n
}

// notes are what is to be said of every ride of the file. counted is the number
// of its points as its bytes show them.
func (f *tcxFile) notes(counted int) (notes []string) {
	if f.mended > 0 {
		notes = append(notes, fmt.Sprintf("stepped over %s of broken XML", count(f.mended, "place")))
	}
	if lost := counted - f.seen; lost > 0 {
		notes = append(notes, fmt.Sprintf("%d of %s could not be read", lost, count(counted, "point")))
	}
	return notes
}

// salvage decides what the whole part of a cut file is worth: tracks, or an
// error, are what it gave. Of the last lap, whose sums are beyond the cut, only
// the time serves: to say how much is lost.
func (f *tcxFile) salvage(tracks []*Track, err error, o Options) ([]*Track, error) {
	last := f.activities[len(f.activities)-1]
	why := fmt.Sprintf("the file is cut short: it ends in the middle, after %s", count(f.points(), "point"))
	for _, t := range tracks {
		if t.Leg == len(f.activities)-1 {
			t.Salvaged = wholeOf(t.End-t.Start, int64(1000*last.seconds.sum))
		}
	}
	if o.Salvage && err != nil {
		return nil, refused(fetchAgain, "%s: %v", why, err)
	}
	if !o.Salvage {
		return nil, beyondRepair(why, fetchAgain, tracks)
	}
	return salvaged(tracks, why), nil
}
