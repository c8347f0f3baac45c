package rig

import (
	"bytes"
	"encoding/xml"
	"math"
	"strconv"
	"time"
)

// GPX writes the ride as GPX 1.1: one track, a segment for each time that the
// timer ran, and cadence, power and distance as extensions under a prefix of
// their own. An indoor ride has no positions, so its track has no points.
func (r *Ride) GPX() []byte {
	var b builder
	b.text(xml.Header, `<gpx version="1.1" creator="trail recorder" xmlns="http://www.topografix.com/GPX/1/1" xmlns:rec="urn:trail-recorder:1">`, "\n")
	b.text(" <metadata>").element("time", b.when(r.Samples[0].T)).text("</metadata>\n")
	b.text(" <trk>").element("name", r.Spec.Name).element("type", "cycling").text("\n  <trkseg>\n")
	for i, s := range r.Samples {
		if i > 0 && r.breaks(i) {
			b.text("  </trkseg>\n  <trkseg>\n")
		}
		if !math.IsNaN(s.Lat) {
			b.trackPoint(s)
		}
	}
	b.text("  </trkseg>\n </trk>\n</gpx>\n")
	return b.Bytes()
}

// breaks reports whether the timer was stopped between sample i-1 and i.
func (r *Ride) breaks(i int) bool {
	for _, p := range r.Pauses {
		if r.Samples[i-1].T <= p.From && r.Samples[i].T > p.To {
			return true
		}
	}
	return false
}

// builder writes XML; every call returns it, so that calls can be chained.
type builder struct {
	bytes.Buffer
	scratch []byte
}

func (b *builder) text(parts ...string) *builder {
	for _, p := range parts {
		b.WriteString(p)
	}
	return b
}

// element writes a value in a tag, escaped.
func (b *builder) element(tag, value string) *builder {
	b.text("<", tag, ">")
	must(xml.EscapeText(b, []byte(value)))
	return b.text("</", tag, ">")
}

// number writes a figure in a tag, and nothing where it is absent.
func (b *builder) number(tag string, v float64, digits int) *builder {
	if math.IsNaN(v) {
		return b
	}
	b.text("<", tag, ">")
	b.figure(v, digits)
	return b.text("</", tag, ">")
}

func (b *builder) figure(v float64, digits int) *builder {
	b.scratch = strconv.AppendFloat(b.scratch[:0], v, 'f', digits, 64)
	b.Write(b.scratch)
	return b
}

// when is an instant as both formats write it.
func (b *builder) when(ms int64) string { return clock(ms).Format(time.RFC3339) }

func (b *builder) trackPoint(s Sample) {
	b.text(`   <trkpt lat="`).figure(s.Lat, 7).text(`" lon="`).figure(s.Lon, 7).text(`">`)
	b.number("ele", s.Alt, 1).element("time", b.when(s.T))
	if !math.IsNaN(s.Cadence) || !math.IsNaN(s.Power) || !math.IsNaN(s.Dist) {
		b.text("<extensions>")
		b.number("rec:distance", s.Dist, 2).number("rec:cadence", s.Cadence, 0).number("rec:power", s.Power, 0)
		b.text("</extensions>")
	}
	b.text("</trkpt>\n")
}
