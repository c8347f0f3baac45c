package ingest

import (
	"bytes"

	"github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/untyped/fieldnum"
	"github.com/muktihari/fit/profile/untyped/mesgnum"
	"github.com/muktihari/fit/proto"

	"pawl/wear"
)

// byMuktihari reads a part with muktihari/fit, message by message. It does not
// check the checksum: the library wrongly refuses 12-byte headers and header
// checksums of 0. With an error the facts hold what came before it.
func (p *fitPart) byMuktihari() (f *fitFacts, err error) {
	l := &fitListener{facts: &fitFacts{samples: make([]Sample, 0, p.points), lapSport: no8}}
	f = l.facts
	defer guard(&err)
	d := decoder.New(bytes.NewReader(p.bytes), decoder.WithIgnoreChecksum(),
		decoder.WithBroadcastOnly(), decoder.WithMesgListener(l))
	_, err = d.Decode()
	return f, err
}

// fitListener gathers facts from muktihari's messages.
type fitListener struct {
	facts *fitFacts
	hasID bool
}

// OnMesg takes one message.
func (l *fitListener) OnMesg(m proto.Message) {
	f := l.facts
	switch m.Num {
	case mesgnum.Record:
		r := muktihariRecord(m.Fields)
		f.add(&r)
	case mesgnum.FileId:
		if l.hasID {
			return
		}
		l.hasID = true
		id := mesgdef.NewFileId(&m)
		f.device = merged(clean(wear.Sensor{Maker: uint16(id.Manufacturer), Product: id.Product,
			Serial: id.SerialNumber, Name: id.ProductName}), f.device)
	case mesgnum.Session:
		f.sessions = append(f.sessions, muktihariSession(&m))
	case mesgnum.Lap:
		f.lapSport = m.FieldValueByNum(fieldnum.LapSport).Uint8()
	case mesgnum.Event:
		e := mesgdef.NewEvent(&m)
		data := e.Data
		if e.Data16 != no16 {
			data = uint32(e.Data16)
		}
		f.event(fitMillis(e.Timestamp), byte(e.Event), byte(e.EventType), data)
	case mesgnum.DeviceInfo:
		i := mesgdef.NewDeviceInfo(&m)
		f.sensor(fitDevice{index: byte(i.DeviceIndex), kind: i.DeviceType, source: byte(i.SourceType),
			sensor: wear.Sensor{Maker: uint16(i.Manufacturer), Product: i.Product, Serial: i.SerialNumber,
				ANT: i.AntDeviceNumber, Name: firstOf(i.ProductName, i.Descriptor)}})
	case mesgnum.Activity:
		a := mesgdef.NewActivity(&m)
		f.zone(fitMillis(a.Timestamp), fitMillis(a.LocalTimestamp))
	}
}

func muktihariRecord(fields []proto.Field) fitRecord {
	r := noRecord
	for i := range fields {
		v := fields[i].Value
		switch fields[i].Num {
		case fieldnum.RecordTimestamp:
			r.t = fitSeconds(v.Uint32())
		case fieldnum.RecordPositionLat:
			r.lat = v.Int32()
		case fieldnum.RecordPositionLong:
			r.lon = v.Int32()
		case fieldnum.RecordAltitude:
			r.alt16 = v.Uint16()
		case fieldnum.RecordEnhancedAltitude:
			r.alt = v.Uint32()
		case fieldnum.RecordSpeed:
			r.speed16 = v.Uint16()
		case fieldnum.RecordEnhancedSpeed:
			r.speed = v.Uint32()
		case fieldnum.RecordDistance:
			r.dist = v.Uint32()
		case fieldnum.RecordCadence:
			r.cadence = v.Uint8()
		case fieldnum.RecordFractionalCadence:
			r.fraction = v.Uint8()
		case fieldnum.RecordCadence256:
			r.cadence256 = v.Uint16()
		case fieldnum.RecordPower:
			r.power = v.Uint16()
		}
	}
	return r
}

// fitSeconds is a FIT time in ms of UTC; 0 where it is absent or only counts
// from when the device was switched on.
func fitSeconds(t uint32) int64 {
	if t == no32 || t < fitClockless {
		return 0
	}
	return (int64(t) + fitEpoch) * 1000
}

func muktihariSession(m *proto.Message) fitSession {
	s := mesgdef.NewSession(m)
	return fitSession{
		start: fitMillis(s.StartTime), end: fitMillis(s.Timestamp), elapsed: s.TotalElapsedTime,
		sport: byte(s.Sport), sub: byte(s.SubSport), profile: s.SportProfileName,
		distance: s.TotalDistance, climb: s.TotalAscent, descent: s.TotalDescent, timer: s.TotalTimerTime,
		cycles: s.TotalCycles, fraction: s.TotalFractionalCycles, work: s.TotalWork}
}
