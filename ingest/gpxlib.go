package ingest

import (
	"bytes"
	"strings"

	"github.com/tkrajina/gpxgo/gpx"
)

// Bounds within which gpxgo may read. It takes 2 kB for a point, however short,
// and 300 B for each element within: three hours at one a second are 50 MB.
const (
	gpxgoBytes  = 2 << 20
	gpxgoPoints = 25_000
	gpxgoTags   = 300_000
)

// year1990 is 1990-01-01 in ms of UTC: no satellite time is older.
const year1990 = 631_152_000_000

// gpxgoSuits reports whether gpxgo would get everything of this file that
// counts. It drops fractions of seconds, loses times with an offset, knows no
// sport of a whole file, and in GPX 1.0 neither speed nor extensions.
func gpxgoSuits(text []byte, points int) bool {
	if len(text) > gpxgoBytes || points > gpxgoPoints || bytes.Count(text, []byte("<")) > gpxgoTags {
		return false
	}
	head, _, _ := bytes.Cut(text, []byte("<trk"))
	if bytes.Contains(head, []byte("<type")) || bytes.Contains(text, []byte("activity")) {
		return false
	}
	return plainTimes(text) && (bytes.Contains(head, []byte(`version="1.1"`)) || !hasExtras(text))
}

// hasExtras reports whether a GPX 1.0 holds what gpxgo passes over.
func hasExtras(text []byte) bool {
	for _, name := range []string{"extensions", "speed", "distance", "cad", "power", "Power"} {
		if bytes.Contains(text, []byte(name)) {
			return true
		}
	}
	return false
}

// plainTimes reports whether every time is of the form 2006-01-02T15:04:05Z.
func plainTimes(text []byte) bool {
	const width = len("2006-01-02T15:04:05Z")
	for end := range tagsOf(text, "time") {
		rest := text[end:]
		if len(rest) < width+2 || rest[0] != '>' || rest[width] != 'Z' || rest[width+1] != '<' {
			return false
		}
	}
	return true
}

// gpxgoFile reads with gpxgo. It returns nil where the outcome cannot be
// trusted: an error, points lost, a time of year 1, or a coordinate of exactly
// nought, which is also what an absent one becomes.
func gpxgoFile(text []byte, points int) *gpxFile {
	g, err := gpx.ParseBytes(text)
	if err != nil {
		return nil
	}
	f := &gpxFile{creator: g.Creator, title: g.Name, wpts: len(g.Waypoints)}
	for _, r := range g.Routes {
		f.routes += len(r.Points)
	}
	for i := range g.Tracks {
		t, ok := gpxgoTrack(&g.Tracks[i])
		if !ok {
			return nil
		}
		f.tracks = append(f.tracks, t)
		for _, s := range t.segments {
			f.points += len(s)
		}
	}
	if f.points != points {
		return nil
	}
	return f
}

func gpxgoTrack(from *gpx.GPXTrack) (gpxTrack, bool) {
	t := gpxTrack{title: strings.TrimSpace(from.Name), sport: strings.TrimSpace(from.Type)}
	for i := range from.Segments {
		points := from.Segments[i].Points
		samples := make([]Sample, 0, len(points))
		for j := range points {
			s, ok := gpxgoSample(&points[j])
			if !ok {
				return t, false
			}
			samples = append(samples, s)
		}
		t.segments = append(t.segments, samples)
	}
	return t, true
}

func gpxgoSample(p *gpx.GPXPoint) (Sample, bool) {
	s := blankSample()
	s.T = p.Timestamp.UnixMilli()
	if s.T < year1990 || p.Latitude == 0 || p.Longitude == 0 {
		return s, false
	}
	s.place(p.Latitude, p.Longitude)
	if p.Elevation.NotNull() {
		s.Alt = saneAltitude(p.Elevation.Value())
	}
	s.gpxgoNodes(p.Extensions.Nodes)
	return s, true
}

// gpxgoNodes takes the known fields of the extensions, whatever their prefix
// and wherever they are nested.
func (s *Sample) gpxgoNodes(nodes []gpx.ExtensionNode) {
	for i := range nodes {
		n := &nodes[i]
		s.setField(n.XMLName.Local, n.Data)
		s.gpxgoNodes(n.Nodes)
	}
}
