package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"math"

	"pawl/wear"
)

// maxPoints is the most points that a ride file may hold: eleven days at one a
// second. It bounds the memory that a hostile file of "<trkpt/>" can claim.
const maxPoints = 1_000_000

// gpxParts is the most tracks and segments of a GPX: each takes more memory than a point.
const gpxParts = 100_000

// fetchAgain is what to do with a file that is cut or garbled.
const fetchAgain = "fetch the file again from the device or site it came from"

// gpxFile is what a GPX says, before anything of it is judged.
type gpxFile struct {
	creator  string
	title    string
	sport    string // of the whole file, where it is said
	tracks   []gpxTrack
	routes   int
	wpts     int
	points   int   // of tracks
	offset   int32 // s east of UTC, of the first time that has a zone
	zoneless int   // times without a zone
	xmlReport
}

type gpxTrack struct {
	title    string
	sport    string
	segments [][]Sample // T is noTime where a point has none
}

// readGPX turns a GPX into its outings. A file has one leg for each stretch
// that no gap of more than outingGap divides: several tracks or segments of
// one outing are one ride, a handheld's log of a week is several. Routes and
// waypoints are no rides, and neither is a walk, where the file says so.
func readGPX(data []byte, o Options) ([]*Track, error) {
	text, err := plainXML(data)
	if err != nil {
		return nil, err
	}
	points := countTags(text, "trkpt")
	if err := boundGPX(text, points); err != nil {
		return nil, err
	}
	f, err := parseGPX(text, points)
	if err != nil {
		return nil, err
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

// boundGPX refuses what would take more memory than a ride does.
func boundGPX(text []byte, points int) error {
	parts := countTags(text, "trk") + countTags(text, "trkseg")
	switch {
	case longestTag(text) > maxTag:
		return refused(fetchAgain, "not a GPX that can be read: a tag of more than %d kB", maxTag>>10)
	case points > maxPoints:
		return refused(splitFile, "%d track points, more than the %d that one file may hold", points, maxPoints)
	case parts > gpxParts:
		return refused(splitFile, "%d tracks and segments, more than the %d that one file may hold", parts, gpxParts)
	}
	return nil
}

// salvage decides what the whole part of a cut file is worth: tracks, or an
// error, are what it gave.
func (f *gpxFile) salvage(tracks []*Track, err error, o Options) ([]*Track, error) {
	why := fmt.Sprintf("the file is cut short: it ends in the middle, after %s", count(f.points, "point"))
	var damage *RefusedError
	switch {
	case !o.Salvage && errors.As(err, &damage) && damage.Hint == withoutTimes:
		return nil, refused(fetchAgain, "%s, with %v", why, err)
	case !o.Salvage || errors.Is(err, errTooFew):
		return nil, beyondRepair(why, fetchAgain, tracks)
	case err != nil:
		return nil, err
	}
	return salvaged(tracks, why), nil
}

// parseGPX reads with gpxgo where it is known to be right, else with the
// streaming reader. text is plain XML that holds that many track points.
func parseGPX(text []byte, points int) (*gpxFile, error) {
	if gpxgoSuits(text, points) {
		if f := gpxgoFile(text, points); f != nil {
			return f, nil
		}
	}
	f, err := streamGPX(text)
	if err != nil {
		return nil, refused("export the ride again, best as FIT", "not a GPX that can be read: %v", err)
	}
	return f, nil
}

// placed reports whether a point of a track has a position. One without may
// still tell a distance: a trainer's export has no places.
func (f *gpxFile) placed() bool {
	for _, t := range f.tracks {
		for _, segment := range t.segments {
			for i := range segment {
				if !math.IsNaN(segment[i].Lat) || !math.IsNaN(segment[i].Dist) || !math.IsNaN(segment[i].Cadence) {
					return true
				}
			}
		}
	}
	return false
}

// sound says why there is nothing in the file to take.
func (f *gpxFile) sound() error {
	switch {
	case f.cut && f.points == 0:
		return refused(fetchAgain,
			"the file is cut short: it ends before its first track point")
	case f.points > 0 && !f.placed():
		return refused("export the ride again from the device or site it came from",
			"none of its %d points is at a place on earth", f.points)
	case f.points > 0:
		return nil
	case f.routes > 0:
		return notRide("a route, not a ride")
	case f.wpts > 0:
		return notRide("waypoints only, not a ride")
	}
	return notRide("no track in it, so no ride")
}

// countTags counts the start tags of that local name, whatever their prefix.
// Those in comments count too: it is an upper bound.
func countTags(text []byte, name string) int {
	n := 0
	for range tagsOf(text, name) {
		n++
	}
	return n
}

// tagsOf yields where the name of each such start tag ends.
func tagsOf(text []byte, name string) func(yield func(int) bool) {
	return func(yield func(int) bool) {
		for at := 0; ; {
			i := bytes.Index(text[at:], []byte(name))
			if i < 0 {
				return
			}
			begin, end := at+i, at+i+len(name)
			if startsTag(text, begin) && endsName(text, end) && !yield(end) {
				return
			}
			at = end
		}
	}
}

// startsTag reports whether the name at i follows "<" or "<prefix:", or a prefix
// so long that nobody looks for its beginning.
func startsTag(text []byte, i int) bool {
	if i > 0 && text[i-1] == ':' {
		from := max(0, i-64)
		prefix := bytes.LastIndexByte(text[from:i-1], '<')
		if prefix < 0 {
			return from > 0 && !bytes.ContainsAny(text[from:i], "/ \t\r\n>")
		}
		return !bytes.ContainsAny(text[from+prefix:i], "/ \t\r\n>")
	}
	return i > 0 && text[i-1] == '<'
}

func endsName(text []byte, i int) bool {
	return i < len(text) && bytes.IndexByte([]byte("> \t\r\n/"), text[i]) >= 0
}

// blankSample is a sample of which nothing is known yet.
func blankSample() Sample {
	nan := math.NaN()
	return Sample{T: noTime, Lat: nan, Lon: nan, Alt: nan, Dist: nan, Speed: nan, Cadence: nan, Power: nan}
}

// setField takes one named value of a point. Names are the local ones of GPX
// and of the extensions in use; what is absurd stays absent.
func (s *Sample) setField(name, text string) {
	switch name {
	case "ele":
		s.Alt = saneAltitude(parseNumber(text))
	case "cad", "cadence":
		s.Cadence = sane(parseNumber(text), 0, 250) // 255 is "none" in one byte
	case "power", "watts", "PowerInWatts":
		s.Power = sane(parseNumber(text), 0, 4_000)
	case "distance":
		s.Dist = sane(parseNumber(text), 0, 10_000_000)
	case "speed":
		s.Speed = sane(parseNumber(text), 0, 40)
	}
}

// place sets the position, which is absent unless both figures are on Earth. A
// receiver without a fix writes 0, 0.
func (s *Sample) place(lat, lon float64) {
	lat, lon = sane(lat, -90, 90), sane(lon, -180, 180)
	if math.IsNaN(lat) || math.IsNaN(lon) || lat == 0 && lon == 0 {
		return
	}
	s.Lat, s.Lon = lat, lon
}

// sane is x where it lies between lo and hi, else NaN.
func sane(x, lo, hi float64) float64 { return within(x, lo, hi, math.NaN()) }

// saneAltitude is the altitude where it is one on Earth that a bike can reach.
func saneAltitude(m float64) float64 { return sane(m, -1_000, 10_000) }

// device is the recording device as far as a GPX names it.
func (f *gpxFile) device() wear.Sensor { return wear.Sensor{Name: f.creator} }
