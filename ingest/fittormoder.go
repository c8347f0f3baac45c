package ingest

import (
	"bytes"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/tormoder/fit"

	"pawl/wear"
)

// byTormoder reads a whole part with tormoder/fit. An error says only that this
// library cannot: it refuses fields wider than its profile and newer protocols.
// The part must not hold the fields that it accumulates over all files.
func (p *fitPart) byTormoder() (f *fitFacts, err error) {
	defer guard(&err)
	file, err := fit.Decode(bytes.NewReader(p.bytes))
	if err != nil {
		return nil, err
	}
	a, err := file.Activity()
	if err != nil {
		return nil, err
	}
	f = &fitFacts{samples: make([]Sample, 0, len(a.Records)), lapSport: no8}
	id := file.FileId
	f.device = clean(wear.Sensor{Maker: uint16(id.Manufacturer), Product: id.Product,
		Serial: id.SerialNumber, Name: runes(id.ProductName)})
	tormoderRecords(f, a.Records)
	tormoderOthers(f, a)
	return f, nil
}

// guard turns a decoder's panic into an error: what it reads is not to be trusted.
func guard(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("decoder: %v", r)
	}
}

func tormoderRecords(f *fitFacts, records []*fit.RecordMsg) {
	for _, m := range records {
		r := fitRecord{t: fitMillis(m.Timestamp), lat: m.PositionLat.Semicircles(), lon: m.PositionLong.Semicircles(),
			alt: m.EnhancedAltitude, alt16: m.Altitude, speed: m.EnhancedSpeed, speed16: m.Speed, dist: m.Distance,
			cadence: m.Cadence, fraction: m.FractionalCadence, cadence256: m.Cadence256, power: m.Power}
		f.add(&r)
	}
}

func tormoderOthers(f *fitFacts, a *fit.ActivityFile) {
	for _, m := range a.Sessions {
		f.sessions = append(f.sessions, fitSession{
			start: fitMillis(m.StartTime), end: fitMillis(m.Timestamp), elapsed: m.TotalElapsedTime,
			sport: byte(m.Sport), sub: byte(m.SubSport), profile: runes(m.SportProfileName),
			distance: m.TotalDistance, climb: m.TotalAscent, descent: m.TotalDescent, timer: m.TotalTimerTime,
			cycles: m.TotalCycles, fraction: m.TotalFractionalCycles, work: m.TotalWork})
	}
	for _, m := range a.Laps {
		f.lapSport = byte(m.Sport)
	}
	for _, m := range a.Events {
		f.event(fitMillis(m.Timestamp), byte(m.Event), byte(m.EventType), m.Data)
	}
	for _, m := range a.DeviceInfos {
		f.sensor(fitDevice{index: byte(m.DeviceIndex), kind: m.DeviceType, source: byte(m.SourceType),
			sensor: wear.Sensor{Maker: uint16(m.Manufacturer), Product: m.Product, Serial: m.SerialNumber,
				ANT: m.AntDeviceNumber, Name: firstOf(runes(m.ProductName), runes(m.Descriptor))}})
	}
	if a.Activity != nil {
		f.zone(fitMillis(a.Activity.Timestamp), wallMillis(a.Activity.LocalTimestamp))
	}
}

// wallMillis is the time on the wall of tormoder's local time, as if it were UTC.
func wallMillis(t time.Time) int64 {
	_, offset := t.Zone()
	return fitMillis(t.Add(time.Duration(offset) * time.Second))
}

// firstOf is the first text that is not empty.
func firstOf(texts ...string) string {
	for _, s := range texts {
		if s != "" {
			return s
		}
	}
	return ""
}

// runes drops bytes that are no UTF-8, as muktihari/fit does.
func runes(s string) string {
	return strings.Map(func(r rune) rune {
		if r == utf8.RuneError {
			return -1
		}
		return r
	}, s)
}
