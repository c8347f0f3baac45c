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
// checksums of 0. Nor does it expand components: that overwrites enhanced speed
// and altitude with values rounded down. With an error the facts hold what came
// before it.
func (p *fitPart) byMuktihari() (*fitFacts, error) {
	l, err := p.listen()
	return l.facts, err
}

// listen is byMuktihari with what else was heard.
func (p *fitPart) listen() (l *fitListener, err error) {
	l = &fitListener{broom: broomFor(len(p.bytes)), facts: &fitFacts{samples: make([]Sample, 0, p.points), lapSport: no8}}
	defer guard(&err)
	d := decoder.New(bytes.NewReader(p.bytes), decoder.WithIgnoreChecksum(),
		decoder.WithNoComponentExpansion(), decoder.WithBroadcastOnly(), decoder.WithMesgListener(l))
	_, err = d.Decode()
	return l, err
}

// mesgBytes is what muktihari/fit takes for a message, about.
const mesgBytes = 200

// fitListener gathers facts from muktihari's messages.
type fitListener struct {
	broom
	facts  *fitFacts
	hasID  bool
	packed packedDistance
	sports []byte // that laps and the device's settings name, in their order
}

// OnMesg takes one message.
func (l *fitListener) OnMesg(m proto.Message) {
	f := l.facts
	l.drop(mesgBytes)
	switch m.Num {
	case mesgnum.Record:
		r := l.record(m.Fields)
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
		l.sports = append(l.sports, f.lapSport)
	case mesgnum.Sport:
		l.sports = append(l.sports, m.FieldValueByNum(fieldnum.SportSport).Uint8())
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

func (l *fitListener) record(fields []proto.Field) fitRecord {
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
		case fieldnum.RecordCompressedSpeedDistance:
			l.packed.into(&r, v.SliceUint8())
		}
	}
	return r
}

func muktihariSession(m *proto.Message) fitSession {
	s := mesgdef.NewSession(m)
	return fitSession{
		start: fitMillis(s.StartTime), end: fitMillis(s.Timestamp), elapsed: s.TotalElapsedTime,
		sport: byte(s.Sport), sub: byte(s.SubSport), profile: s.SportProfileName,
		distance: s.TotalDistance, climb: s.TotalAscent, descent: s.TotalDescent, timer: s.TotalTimerTime,
		cycles: s.TotalCycles, fraction: s.TotalFractionalCycles, work: s.TotalWork}
}

// packedDistance adds up the distance of compressed_speed_distance: three bytes
// that hold 12 bits of speed, in cm/s, and the lowest 12 bits of the odometer,
// in sixteenths of a metre.
type packedDistance struct{ sum uint32 }

// into unpacks into a record; a record's own distance and speed win.
func (d *packedDistance) into(r *fitRecord, b []byte) {
	if len(b) != 3 || b[0] == no8 && b[1] == no8 && b[2] == no8 {
		return
	}
	if r.speed16 == no16 {
		r.speed16 = 10 * (uint16(b[0]) | uint16(b[1]&0x0F)<<8)
	}
	low := uint32(b[1]>>4) | uint32(b[2])<<4
	d.sum += (low - d.sum) & 0xFFF
	if r.dist == no32 {
		r.dist = d.sum * 100 / 16
	}
}
