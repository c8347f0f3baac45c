package rig

import (
	"encoding/xml"
	"math"
	"strconv"
)

// Namespaces of TCX v2 and of its extension for power.
const (
	tcxSpace      = "http://www.garmin.com/xmlschemas/TrainingCenterDatabase/v2"
	tcxPowerSpace = "http://www.garmin.com/xmlschemas/ActivityExtension/v2"
	xsiSpace      = "http://www.w3.org/2001/XMLSchema-instance"
)

// TCX writes the ride as a TCX v2 activity: one lap, a track for each time that
// the timer ran.
func (r *Ride) TCX() []byte {
	var b builder
	b.text(xml.Header, `<TrainingCenterDatabase xmlns="`, tcxSpace, `" xmlns:pw="`, tcxPowerSpace, `" xmlns:xsi="`, xsiSpace, `">`, "\n")
	start := b.when(r.Samples[0].T)
	b.text(` <Activities><Activity Sport="Biking">`).element("Id", start).text("\n  <Lap StartTime=\"", start, "\">")
	b.number("TotalTimeSeconds", r.Truth.Timer, 0)
	b.number("DistanceMeters", r.Truth.Distance+r.Truth.LiftDistance, 2)
	b.number("Calories", r.Truth.Work/1000, 0)
	b.element("Intensity", "Active").element("TriggerMethod", "Manual").text("\n   <Track>\n")
	for i, s := range r.Samples {
		if i > 0 && r.breaks(i) {
			b.text("   </Track>\n   <Track>\n")
		}
		b.point(s)
	}
	b.text("   </Track>\n  </Lap>\n  ").creator(r.Spec.Serial)
	b.text("\n </Activity></Activities>\n</TrainingCenterDatabase>\n")
	return b.Bytes()
}

// creator names the device, in the order that the schema wants.
func (b *builder) creator(serial uint32) {
	b.text(`<Creator xsi:type="Device_t">`).element("Name", "trail recorder")
	b.element("UnitId", strconv.FormatUint(uint64(serial), 10)).element("ProductID", "1")
	b.text("<Version><VersionMajor>1</VersionMajor><VersionMinor>0</VersionMinor></Version></Creator>")
}

func (b *builder) point(s Sample) {
	b.text("    <Trackpoint>").element("Time", b.when(s.T))
	if !math.IsNaN(s.Lat) {
		b.text("<Position>").number("LatitudeDegrees", s.Lat, 7).number("LongitudeDegrees", s.Lon, 7).text("</Position>")
	}
	b.number("AltitudeMeters", s.Alt, 1).number("DistanceMeters", s.Dist, 2).number("Cadence", s.Cadence, 0)
	if !math.IsNaN(s.Power) {
		b.text("<Extensions><pw:TPX>").number("pw:Watts", s.Power, 0).text("</pw:TPX></Extensions>")
	}
	b.text("</Trackpoint>\n")
}
