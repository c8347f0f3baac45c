package ingest

import (
	"encoding/xml"
	"math"
	"strconv"
	"strings"
)

// streamTCX reads a TCX element by element and keeps whatever can be read of
// each point. text is plain XML that holds at most so many.
func streamTCX(text []byte, points int) (*tcxFile, error) {
	v := &tcxVisitor{f: &tcxFile{}, samples: make([]Sample, 0, points)}
	report, err := walkXML(text, v)
	if err != nil {
		return nil, err
	}
	if !report.cut { // else the last point may be half of one
		v.endPoint()
	}
	v.endActivity()
	v.f.xmlReport = report
	return v.f, nil
}

// tcxVisitor collects a tcxFile.
type tcxVisitor struct {
	f        *tcxFile
	activity *tcxActivity // the one that is open, nil outside activities
	lap      int          // points of the open lap
	fresh    bool         // the next point begins a track
	point    *Sample      // the one that is open, nil outside track points
	pulse    bool         // it has a heart rate
	lat, lon float64      // of it
	spare    Sample
	samples  []Sample // of all points; each track has a part of it
}

func (v *tcxVisitor) open(path []string, attrs []xml.Attr) {
	switch path[len(path)-1] {
	case "Activity":
		v.openActivity(attrs)
	case "Course":
		v.endActivity()
		v.f.courses++
	case "Workout":
		v.endActivity()
		v.f.workouts++
	case "Lap":
		v.openLap(attrs)
	case "Track":
		v.endPoint()
		v.fresh = true
	case "Trackpoint":
		v.endPoint()
		v.f.seen++
		v.spare, v.pulse = blankSample(), false
		v.lat, v.lon = math.NaN(), math.NaN()
		v.point = &v.spare
	}
}

func (v *tcxVisitor) openActivity(attrs []xml.Attr) {
	v.endActivity()
	if len(v.f.activities) == maxLegs {
		v.f.more++
		return
	}
	sport, _ := attr(attrs, "Sport")
	v.activity = &tcxActivity{
		sport: strings.TrimSpace(sport), start: noTime,
		seconds: tcxSum{lap: math.NaN()}, metres: tcxSum{lap: math.NaN()},
	}
	v.f.activities = append(v.f.activities, v.activity)
	v.fresh = true
}

func (v *tcxVisitor) openLap(attrs []xml.Attr) {
	v.endLap()
	if v.activity == nil {
		return
	}
	v.activity.laps++
	v.fresh = true
	if begin, ok := attr(attrs, "StartTime"); ok && v.activity.laps == 1 {
		v.activity.begin(begin)
	}
}

// endActivity closes the open activity, if any, and its lap.
func (v *tcxVisitor) endActivity() {
	v.endLap()
	v.point, v.activity = nil, nil
}

func (v *tcxVisitor) endLap() {
	v.endPoint()
	if v.activity != nil {
		v.activity.seconds.end(v.lap)
		v.activity.metres.end(v.lap)
	}
	v.lap = 0
}

// endPoint puts the open point, if any, into its track. One that tells nothing
// but a time, as devices write where they pause, is left out.
func (v *tcxVisitor) endPoint() {
	p, a := v.point, v.activity
	v.point = nil
	if p == nil || a == nil {
		return
	}
	p.place(v.lat, v.lon)
	telling := !p.blank()
	if !telling && !v.pulse {
		v.f.silent++
		return
	}
	if v.fresh || len(a.parts) == 0 {
		a.parts = append(a.parts, gpxSegment{lap: a.laps})
		v.fresh = false
	}
	v.samples = append(v.samples, *p)
	last, end := &a.parts[len(a.parts)-1], len(v.samples)
	last.samples = v.samples[end-len(last.samples)-1 : end : end]
	a.points++
	v.lap++
	if telling {
		a.telling++
	}
	if !math.IsNaN(p.Lat) {
		a.located++
	}
}

// blank reports whether a sample holds nothing but, perhaps, a time.
func (s *Sample) blank() bool {
	for _, v := range [...]float64{s.Lat, s.Alt, s.Dist, s.Speed, s.Cadence, s.Power} {
		if !math.IsNaN(v) {
			return false
		}
	}
	return true
}

func (v *tcxVisitor) shut(path []string, text string) {
	name := path[len(path)-1]
	switch {
	case name == "Trackpoint":
		v.endPoint()
	case name == "Lap":
		v.endLap()
	case name == "Activity":
		v.endActivity()
	case v.activity == nil || len(path) < 2 || text == "":
	case v.point != nil:
		v.field(path[len(path)-2], name, text)
	default:
		v.activity.headline(path[len(path)-2], name, text)
	}
}

// field takes one value of the open point. Those of extensions come under any
// prefix and at any depth; what is absurd stays absent.
func (v *tcxVisitor) field(parent, name, text string) {
	p := v.point
	switch {
	case name == "Watts":
		p.Power = sane(parseNumber(text), 0, 4_000)
	case name == "Speed":
		p.Speed = sane(parseNumber(text), 0, fastest)
	case parent == "HeartRateBpm":
		v.pulse = v.pulse || parseNumber(text) > 0
	case name == "LatitudeDegrees":
		v.lat = parseNumber(text)
	case name == "LongitudeDegrees":
		v.lon = parseNumber(text)
	case parent != "Trackpoint":
	case name == "Time":
		p.T = v.activity.moment(text)
	case name == "AltitudeMeters":
		p.Alt = saneAltitude(parseNumber(text))
	case name == "DistanceMeters":
		p.Dist = sane(parseNumber(text), 0, 10_000_000)
	case name == "Cadence":
		p.Cadence = sane(parseNumber(text), 0, 250) // 255 is "none" in one byte
	}
}

// moment reads a time of the activity.
func (a *tcxActivity) moment(text string) int64 {
	s, ok := parseStamp(text)
	switch {
	case !ok:
		return noTime
	case !s.zoned:
		a.zoneless++
	case a.offset == 0:
		a.offset = s.offset
	}
	return s.t
}

// begin takes the start of the first lap, or of the activity, for one that has
// no points.
func (a *tcxActivity) begin(text string) {
	if t := a.moment(text); t != noTime {
		a.start = t
	}
}

// headline takes what is said of the activity or of its open lap.
func (a *tcxActivity) headline(parent, name, text string) {
	switch parent + "/" + name {
	case "Lap/TotalTimeSeconds":
		a.seconds.lap = sane(parseNumber(text), 0, 10_000_000)
	case "Lap/DistanceMeters":
		a.metres.lap = sane(parseNumber(text), 0, 10_000_000)
	case "Activity/Id":
		a.id = text
		if a.start == noTime {
			a.begin(text)
		}
	case "Activity/Notes":
		a.notes = text
	case "Creator/Name":
		a.device.Name = clipped(text)
	case "Creator/UnitId":
		if n, err := strconv.ParseUint(text, 10, 32); err == nil {
			a.device.Serial = uint32(n)
		}
	case "Creator/ProductID":
		if n, err := strconv.ParseUint(text, 10, 16); err == nil {
			a.device.Product = uint16(n)
		}
	}
}
