package rig

import (
	"math"
	"time"

	"github.com/muktihari/fit/encoder"
	"github.com/muktihari/fit/profile/basetype"
	"github.com/muktihari/fit/profile/factory"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/profile/untyped/fieldnum"
	"github.com/muktihari/fit/profile/untyped/mesgnum"
	"github.com/muktihari/fit/proto"
)

// makerDevelopment is the FIT profile's number for devices of nobody's make.
const makerDevelopment = uint16(typedef.ManufacturerDevelopment)

// FIT writes the ride as a FIT activity: file_id, device_info, events, records,
// lap, session and activity, with the checksums of header and file.
func (r *Ride) FIT() []byte {
	var out memory
	out.grow(36*len(r.Samples) + 4096)
	enc, err := encoder.NewStream(&out,
		encoder.WithHeaderOption(encoder.HeaderOptionNormal, 15),
		encoder.WithProtocolVersion(proto.V2),
		encoder.WithMessageValidator(encoder.NewMessageValidator(encoder.ValidatorWithPreserveInvalidValues())))
	must(err)
	w := fitWriter{ride: r, enc: enc, record: newRecord(r.Spec)}
	w.head()
	w.body()
	w.tail()
	must(enc.SequenceCompleted())
	return out.bytes
}

// must is for errors that only a mistake in this package can cause.
func must(err error) {
	if err != nil {
		panic("rig: " + err.Error())
	}
}

// fitWriter writes the messages of one ride.
type fitWriter struct {
	ride   *Ride
	enc    *encoder.StreamEncoder
	record *record
}

func (w *fitWriter) put(m proto.Message) { must(w.enc.WriteMessage(&m)) }

// head says what recorded the ride.
func (w *fitWriter) head() {
	s := w.ride.Spec
	id := mesgdef.NewFileId(nil)
	id.Type, id.Manufacturer, id.Product = typedef.FileActivity, typedef.ManufacturerDevelopment, 1
	id.SerialNumber, id.TimeCreated = s.Serial, s.Start
	w.put(id.ToMesg(nil))
	w.devices(s.Start)
	w.timer(s.Start, typedef.EventTypeStart)
}

// devices names head unit and sensors, as devices do at the start and the end.
func (w *fitWriter) devices(at time.Time) {
	head := mesgdef.NewDeviceInfo(nil)
	head.Timestamp, head.DeviceIndex = at, typedef.DeviceIndexCreator
	head.Manufacturer, head.Product = typedef.ManufacturerDevelopment, 1
	head.SerialNumber, head.SoftwareVersion = w.ride.Spec.Serial, 100
	head.SourceType = typedef.SourceTypeLocal
	w.put(head.ToMesg(nil))
	for i, sensor := range w.ride.Spec.Sensors {
		d := mesgdef.NewDeviceInfo(nil)
		d.Timestamp, d.DeviceIndex = at, typedef.DeviceIndex(i+1)
		d.DeviceType, d.SourceType = sensor.Type, typedef.SourceTypeAntplus
		d.Manufacturer, d.Product = typedef.Manufacturer(sensor.Maker), sensor.Product
		d.SerialNumber, d.AntDeviceNumber = sensor.Serial, sensor.ANT
		w.put(d.ToMesg(nil))
	}
}

func (w *fitWriter) timer(at time.Time, what typedef.EventType) {
	e := mesgdef.NewEvent(nil)
	e.Timestamp, e.Event, e.EventType, e.EventGroup = at, typedef.EventTimer, what, 0
	w.put(e.ToMesg(nil))
}

// shift writes a change of the rear gear; number 1 is the innermost cog.
func (w *fitWriter) shift(c Shift) {
	s := w.ride.Spec
	e := mesgdef.NewEvent(nil)
	e.Timestamp, e.Event, e.EventType = clock(c.T), typedef.EventRearGearChange, typedef.EventTypeMarker
	number, teeth := len(s.Cogs)-c.Cog, s.Cogs[c.Cog]
	e.Data = uint32(number) | uint32(teeth)<<8 | 1<<16 | uint32(s.Ring)<<24
	w.put(e.ToMesg(nil))
}

// body writes the records, with pauses and gear changes between them.
func (w *fitWriter) body() {
	changes, pauses := w.ride.Changes, w.ride.Pauses
	if !w.ride.Spec.Shifts {
		changes = nil
	}
	for i, s := range w.ride.Samples {
		for len(changes) > 0 && changes[0].T <= s.T {
			w.shift(changes[0])
			changes = changes[1:]
		}
		must(w.enc.WriteMessage(w.record.of(s)))
		if len(pauses) > 0 && i+1 < len(w.ride.Samples) && w.ride.Samples[i+1].T > pauses[0].To {
			w.timer(clock(pauses[0].From), typedef.EventTypeStopAll)
			w.timer(clock(pauses[0].To), typedef.EventTypeStart)
			pauses = pauses[1:]
		}
	}
}

// tail writes the sums.
func (w *fitWriter) tail() {
	end := clock(w.ride.Samples[len(w.ride.Samples)-1].T)
	w.timer(end, typedef.EventTypeStopAll)
	w.devices(end)
	w.put(w.lap(end).ToMesg(nil))
	w.put(w.session(end).ToMesg(nil))
	a := mesgdef.NewActivity(nil)
	a.Timestamp, a.LocalTimestamp = end, end.Add(time.Duration(w.ride.Spec.Offset)*time.Second)
	a.TotalTimerTime, a.NumSessions = uint32(w.ride.Truth.Timer*1000), 1
	a.Type, a.Event, a.EventType = typedef.ActivityManual, typedef.EventActivity, typedef.EventTypeStop
	w.put(a.ToMesg(nil))
}

func (w *fitWriter) lap(end time.Time) *mesgdef.Lap {
	s, t := w.ride.Spec, w.ride.totals()
	l := mesgdef.NewLap(nil)
	l.Timestamp, l.StartTime, l.MessageIndex = end, s.Start, 0
	l.Event, l.EventType, l.LapTrigger = typedef.EventLap, typedef.EventTypeStop, typedef.LapTriggerSessionEnd
	l.Sport, l.SubSport = typedef.SportCycling, w.subSport()
	l.TotalElapsedTime, l.TotalTimerTime = uint32(t.elapsed*1000), uint32(t.timer*1000)
	l.TotalDistance, l.TotalAscent, l.TotalDescent = t.distance, t.ascent, t.descent
	l.TotalCycles, l.TotalWork = t.cycles, t.work
	return l
}

func (w *fitWriter) session(end time.Time) *mesgdef.Session {
	s, t := w.ride.Spec, w.ride.totals()
	m := mesgdef.NewSession(nil)
	m.Timestamp, m.StartTime, m.MessageIndex = end, s.Start, 0
	m.Event, m.EventType, m.Trigger = typedef.EventSession, typedef.EventTypeStop, typedef.SessionTriggerActivityEnd
	m.Sport, m.SubSport, m.SportProfileName = typedef.SportCycling, w.subSport(), s.Profile
	m.FirstLapIndex, m.NumLaps = 0, 1
	m.TotalElapsedTime, m.TotalTimerTime = uint32(t.elapsed*1000), uint32(t.timer*1000)
	m.TotalMovingTime = uint32(t.moving * 1000)
	m.TotalDistance, m.TotalAscent, m.TotalDescent = t.distance, t.ascent, t.descent
	m.TotalCycles, m.TotalWork = t.cycles, t.work
	return m
}

func (w *fitWriter) subSport() typedef.SubSport {
	if w.ride.Spec.Indoor {
		return typedef.SubSportIndoorCycling
	}
	return typedef.SubSportMountain
}

// totals are the device's own sums in the units of FIT, invalid where it has no
// sensor for them. A device cannot tell a lift from a climb.
type totals struct {
	elapsed, timer, moving float64
	distance, cycles, work uint32
	ascent, descent        uint16
}

func (r *Ride) totals() totals {
	t := totals{
		elapsed: r.Truth.Elapsed, timer: r.Truth.Timer, moving: r.Truth.Moving,
		distance: basetype.Uint32Invalid, cycles: basetype.Uint32Invalid, work: basetype.Uint32Invalid,
		ascent: basetype.Uint16Invalid, descent: basetype.Uint16Invalid,
	}
	if r.Spec.Odometer {
		t.distance = uint32(math.Round(100 * (r.Truth.Distance + r.Truth.LiftDistance)))
	}
	if r.Spec.Cadence {
		t.cycles = uint32(math.Round(r.Truth.SensorTurns))
	}
	if r.Spec.Power {
		t.work = uint32(math.Round(r.Truth.Work))
	}
	if !r.Spec.Indoor {
		t.ascent = uint16(math.Round(r.Truth.Climb + r.Truth.LiftClimb))
		t.descent = uint16(math.Round(r.Truth.Descent))
	}
	return t
}

// record is one message that is filled anew for each sample.
type record struct {
	mesg   proto.Message
	fields []proto.Field
	spec   Spec
}

func newRecord(s Spec) *record {
	nums := []byte{fieldnum.RecordTimestamp}
	if !s.Indoor {
		nums = append(nums, fieldnum.RecordPositionLat, fieldnum.RecordPositionLong, fieldnum.RecordEnhancedAltitude)
	}
	if s.Odometer {
		nums = append(nums, fieldnum.RecordDistance, fieldnum.RecordEnhancedSpeed)
	}
	if s.Cadence {
		nums = append(nums, fieldnum.RecordCadence)
	}
	if s.Power {
		nums = append(nums, fieldnum.RecordPower)
	}
	nums = append(nums, fieldnum.RecordTemperature)
	r := &record{spec: s}
	for _, n := range nums {
		r.fields = append(r.fields, factory.CreateField(mesgnum.Record, n))
	}
	return r
}

// of fills the message with a sample.
func (r *record) of(s Sample) *proto.Message {
	for i := range r.fields {
		r.fields[i].Value = valueOf(r.fields[i].Num, s)
	}
	r.mesg = proto.Message{Num: mesgnum.Record, Fields: r.fields}
	return &r.mesg
}

// valueOf is a field of a sample in the units of FIT.
func valueOf(num byte, s Sample) proto.Value {
	switch num {
	case fieldnum.RecordTimestamp:
		return proto.Uint32(fitTime(s.T))
	case fieldnum.RecordPositionLat:
		return proto.Int32(int32(math.Round(s.Lat * semicircles)))
	case fieldnum.RecordPositionLong:
		return proto.Int32(int32(math.Round(s.Lon * semicircles)))
	case fieldnum.RecordEnhancedAltitude:
		return proto.Uint32(uint32(math.Round((s.Alt + 500) * 5)))
	case fieldnum.RecordDistance:
		return proto.Uint32(uint32(math.Round(s.Dist * 100)))
	case fieldnum.RecordEnhancedSpeed:
		return proto.Uint32(uint32(math.Round(s.Speed * 1000)))
	case fieldnum.RecordCadence:
		if math.IsNaN(s.Cadence) {
			return proto.Uint8(basetype.Uint8Invalid)
		}
		return proto.Uint8(uint8(s.Cadence))
	case fieldnum.RecordPower:
		return proto.Uint16(uint16(s.Power))
	}
	return proto.Int8(18) // °C: nothing here depends on it, but devices write it
}

// fitEpoch is 1989-12-31 00:00 UTC in s of Unix time (published by the format's owner).
const fitEpoch = 631065600

func fitTime(ms int64) uint32 { return uint32(ms/1000 - fitEpoch) }

func clock(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// memory is a file in memory that the encoder can go back in to set the header.
type memory struct{ bytes []byte }

func (m *memory) grow(n int) { m.bytes = make([]byte, 0, n) }

// Write appends.
func (m *memory) Write(p []byte) (int, error) {
	m.bytes = append(m.bytes, p...)
	return len(p), nil
}

// WriteAt overwrites what is there already.
func (m *memory) WriteAt(p []byte, at int64) (int, error) {
	return copy(m.bytes[at:], p), nil
}
