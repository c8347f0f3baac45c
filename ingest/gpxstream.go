package ingest

import (
	"encoding/xml"
	"slices"
)

// streamGPX reads a GPX element by element. It keeps whatever can be read of
// each point: a bad altitude costs that altitude. text is plain XML.
func streamGPX(text []byte) (*gpxFile, error) {
	v := &gpxVisitor{f: &gpxFile{}}
	report, err := walkXML(text, v)
	if err != nil {
		return nil, err
	}
	if !report.cut { // else the last point may be half of one
		v.endPoint()
	}
	v.f.xmlReport = report
	return v.f, nil
}

// gpxVisitor collects a gpxFile.
type gpxVisitor struct {
	f     *gpxFile
	point *Sample // the one that is open, nil outside track points
	spare Sample
}

func (v *gpxVisitor) open(path []string, attrs []xml.Attr) {
	switch path[len(path)-1] {
	case "gpx":
		v.f.creator, _ = attr(attrs, "creator")
	case "trk":
		v.f.tracks = append(v.f.tracks, gpxTrack{})
	case "trkseg":
		v.openSegment()
	case "trkpt":
		v.openPoint(attrs)
	case "rtept":
		v.f.routes++
	case "wpt":
		v.f.wpts++
	}
}

// track is the one that is open; a stray segment or point makes one.
func (v *gpxVisitor) track() *gpxTrack {
	if len(v.f.tracks) == 0 {
		v.f.tracks = append(v.f.tracks, gpxTrack{})
	}
	return &v.f.tracks[len(v.f.tracks)-1]
}

func (v *gpxVisitor) openSegment() {
	t := v.track()
	t.segments = append(t.segments, nil)
}

func (v *gpxVisitor) openPoint(attrs []xml.Attr) {
	v.endPoint()
	v.spare = blankSample()
	lat, _ := attr(attrs, "lat")
	lon, _ := attr(attrs, "lon")
	v.spare.place(parseNumber(lat), parseNumber(lon))
	v.point = &v.spare
}

// endPoint puts the open point, if any, into its segment.
func (v *gpxVisitor) endPoint() {
	if v.point == nil {
		return
	}
	t := v.track()
	if len(t.segments) == 0 {
		v.openSegment()
	}
	last := &t.segments[len(t.segments)-1]
	*last = append(*last, *v.point)
	v.f.points++
	v.point = nil
}

func (v *gpxVisitor) shut(path []string, text string) {
	name := path[len(path)-1]
	switch {
	case name == "trkpt":
		v.endPoint()
	case v.point == nil:
		v.headline(path, text)
	case name == "time" && path[len(path)-2] == "trkpt":
		v.time(text)
	default:
		v.point.setField(name, text)
	}
}

func (v *gpxVisitor) time(text string) {
	s, ok := parseStamp(text)
	if !ok {
		return
	}
	v.point.T = s.t
	switch {
	case !s.zoned:
		v.f.zoneless++
	case v.f.offset == 0:
		v.f.offset = s.offset
	}
}

// headline takes what is said of a track or of the whole file.
func (v *gpxVisitor) headline(path []string, text string) {
	if len(path) < 2 || text == "" {
		return
	}
	name, parent := path[len(path)-1], path[len(path)-2]
	switch {
	case parent == "trk" && name == "name":
		v.track().title = text
	case name == "activity", name == "type" && (parent == "trk" || parent == "metadata"):
		v.sport(path, text)
	case name == "name" && (parent == "metadata" || parent == "gpx"):
		v.f.title = text
	}
}

func (v *gpxVisitor) sport(path []string, text string) {
	if slices.Contains(path, "trk") {
		v.track().sport = text
		return
	}
	if slices.Contains(path, "metadata") {
		v.f.sport = text
	}
}
