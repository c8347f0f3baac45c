package rig

import (
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/profile/filedef"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tkrajina/gpxgo/gpx"
	tormoder "github.com/tormoder/fit"
)

// muktihari decodes with that library, its own checks of both checksums on.
func muktihari(t *testing.T, data []byte) *filedef.Activity {
	t.Helper()
	lis := filedef.NewListener()
	defer lis.Close()
	_, err := decoder.New(bytes.NewReader(data), decoder.WithMesgListener(lis), decoder.WithBroadcastOnly()).Decode()
	require.NoError(t, err)
	activity, ok := lis.File().(*filedef.Activity)
	require.True(t, ok)
	return activity
}

func TestFITReadsBackWithOneLibrary(t *testing.T) {
	eachSpec(t, func(t *testing.T, r *Ride) {
		file, err := tormoder.Decode(bytes.NewReader(r.FIT()))
		require.NoError(t, err)
		activity, err := file.Activity()
		require.NoError(t, err)
		require.Len(t, activity.Records, len(r.Samples))
		for i, m := range activity.Records {
			want := r.Samples[i]
			require.Equal(t, want.T, m.Timestamp.UnixMilli())
			same(t, want.Lat, m.PositionLat.Degrees(), 1e-9)
			same(t, want.Lon, m.PositionLong.Degrees(), 1e-9)
			same(t, want.Alt, m.GetEnhancedAltitudeScaled(), 1e-9)
			same(t, want.Dist, m.GetDistanceScaled(), 1e-9)
			same(t, want.Speed, m.GetEnhancedSpeedScaled(), 1e-9)
			same(t, want.Cadence, orNaN(m.Cadence, math.MaxUint8), 0)
			same(t, want.Power, orNaN(m.Power, math.MaxUint16), 0)
		}
		require.Len(t, activity.Sessions, 1)
		s := activity.Sessions[0]
		same(t, wantDistance(r), s.GetTotalDistanceScaled(), 0.01)
		assert.InDelta(t, r.Truth.Timer, s.GetTotalTimerTimeScaled(), 1e-3)
		assert.InDelta(t, r.Truth.Elapsed, s.GetTotalElapsedTimeScaled(), 1e-3)
	})
}

func TestFITReadsBackWithTheOther(t *testing.T) {
	eachSpec(t, func(t *testing.T, r *Ride) {
		activity := muktihari(t, r.FIT())
		require.Len(t, activity.Records, len(r.Samples))
		for i, m := range activity.Records {
			want := r.Samples[i]
			require.Equal(t, want.T, m.Timestamp.UnixMilli())
			same(t, want.Lat, m.PositionLatDegrees(), 1e-9)
			same(t, want.Lon, m.PositionLongDegrees(), 1e-9)
			same(t, want.Alt, m.EnhancedAltitudeScaled(), 1e-9)
			same(t, want.Dist, m.DistanceScaled(), 1e-9)
			same(t, want.Speed, m.EnhancedSpeedScaled(), 1e-9)
			same(t, want.Cadence, orNaN(m.Cadence, math.MaxUint8), 0)
			same(t, want.Power, orNaN(m.Power, math.MaxUint16), 0)
		}
		require.Len(t, activity.Sessions, 1)
		checkSession(t, r, activity.Sessions[0])
		offset := activity.Activity.LocalTimestamp.Sub(activity.Activity.Timestamp)
		assert.Equal(t, time.Duration(r.Spec.Offset)*time.Second, offset)
	})
}

func checkSession(t *testing.T, r *Ride, s *mesgdef.Session) {
	x := r.Truth
	assert.Equal(t, typedef.SportCycling, s.Sport)
	same(t, wantDistance(r), s.TotalDistanceScaled(), 0.01)
	assert.InDelta(t, x.Moving, s.TotalMovingTimeScaled(), 1e-3)
	climb, descent, turns, work := x.Climb+x.LiftClimb, x.Descent, x.SensorTurns, x.Work
	if r.Spec.Indoor {
		climb, descent = math.NaN(), math.NaN()
	}
	if !r.Spec.Cadence {
		turns, work = math.NaN(), math.NaN()
	}
	same(t, climb, orNaN(s.TotalAscent, math.MaxUint16), 0.5)
	same(t, descent, orNaN(s.TotalDescent, math.MaxUint16), 0.5)
	same(t, turns, orNaN(s.TotalCycles, math.MaxUint32), 0.5)
	same(t, work, orNaN(s.TotalWork, math.MaxUint32), 0.5)
}

func wantDistance(r *Ride) float64 {
	if !r.Spec.Odometer {
		return math.NaN()
	}
	return r.Truth.Distance + r.Truth.LiftDistance
}

// same requires two figures to be near each other or both absent.
func same(t *testing.T, want, got, within float64) {
	t.Helper()
	if math.Abs(want-got) <= within { // cheap: this is asked a million times
		return
	}
	if math.IsNaN(want) {
		require.True(t, math.IsNaN(got), "got %v where nothing was recorded", got)
		return
	}
	require.InDelta(t, want, got, within)
}

func orNaN[T uint8 | uint16 | uint32](v T, invalid uint32) float64 {
	if uint32(v) == invalid {
		return math.NaN()
	}
	return float64(v)
}

func TestFITNamesTimerShiftsAndSensors(t *testing.T) {
	s := Full(11)
	s.Pauses = 3
	r := Make(s)
	activity := muktihari(t, r.FIT())
	var starts, stops []int64
	var changes []Shift
	for _, e := range activity.Events {
		switch {
		case e.Event == typedef.EventTimer && e.EventType == typedef.EventTypeStart:
			starts = append(starts, e.Timestamp.UnixMilli())
		case e.Event == typedef.EventTimer && e.EventType == typedef.EventTypeStopAll:
			stops = append(stops, e.Timestamp.UnixMilli())
		case e.Event == typedef.EventRearGearChange:
			assert.EqualValues(t, r.Spec.Ring, e.FrontGear)
			cog := len(r.Spec.Cogs) - int(e.RearGearNum)
			assert.EqualValues(t, r.Spec.Cogs[cog], e.RearGear)
			changes = append(changes, Shift{e.Timestamp.UnixMilli(), cog})
		}
	}
	require.Len(t, starts, 4)
	require.Len(t, stops, 4)
	for i, p := range r.Pauses {
		assert.Equal(t, p, Pause{stops[i], starts[i+1]})
	}
	assert.Equal(t, r.Changes, changes)
	require.Len(t, activity.DeviceInfos, 2*(1+len(s.Sensors)))
	assert.Equal(t, r.Spec.Serial, activity.DeviceInfos[0].SerialNumber)
	for i, want := range s.Sensors {
		got := activity.DeviceInfos[i+1]
		assert.Equal(t, want.Type, got.DeviceType)
		assert.Equal(t, want.Serial, got.SerialNumber)
		assert.Equal(t, want.ANT, got.AntDeviceNumber)
	}
}

// A 14-byte header with its checksum, and a checksum over all, by the
// specification's CRC-16/ARC (check value BB3D), bit by bit.
func TestFITChecksums(t *testing.T) {
	require.EqualValues(t, 0xBB3D, arc([]byte("123456789")))
	data := Make(Full(2)).FIT()
	require.EqualValues(t, 14, data[0])
	assert.Equal(t, ".FIT", string(data[8:12]))
	assert.EqualValues(t, len(data)-16, binary.LittleEndian.Uint32(data[4:8]))
	assert.Equal(t, arc(data[:12]), binary.LittleEndian.Uint16(data[12:14]))
	assert.Equal(t, arc(data[:len(data)-2]), binary.LittleEndian.Uint16(data[len(data)-2:]))
}

func arc(data []byte) uint16 {
	var crc uint16
	for _, b := range data {
		crc ^= uint16(b)
		for range 8 {
			odd := crc & 1
			crc >>= 1
			crc ^= odd * 0xA001
		}
	}
	return crc
}

func TestGPXReadsBack(t *testing.T) {
	eachSpec(t, func(t *testing.T, r *Ride) {
		file, err := gpx.ParseBytes(r.GPX())
		require.NoError(t, err)
		assert.Equal(t, "1.1", file.Version)
		require.Len(t, file.Tracks, 1)
		assert.Equal(t, r.Spec.Name, file.Tracks[0].Name)
		if r.Spec.Indoor {
			assert.Zero(t, file.GetTrackPointsNo())
			return
		}
		assert.Len(t, file.Tracks[0].Segments, len(r.Pauses)+1)
		require.Equal(t, len(r.Samples), file.GetTrackPointsNo())
		i := 0
		for _, segment := range file.Tracks[0].Segments {
			for _, p := range segment.Points {
				checkPoint(t, r.Samples[i], p)
				i++
			}
		}
	})
}

func checkPoint(t *testing.T, want Sample, p gpx.GPXPoint) {
	require.Equal(t, want.T, p.Timestamp.UnixMilli())
	same(t, want.Lat, p.Latitude, 1e-7)
	same(t, want.Lon, p.Longitude, 1e-7)
	same(t, want.Alt, p.Elevation.Value(), 1e-6)
	const space = "urn:trail-recorder:1"
	cadence, has := p.Extensions.GetNode(space, "cadence")
	require.Equal(t, !math.IsNaN(want.Cadence), has)
	if has {
		require.Equal(t, trim(want.Cadence), cadence.Data)
	}
	power, has := p.Extensions.GetNode(space, "power")
	require.Equal(t, !math.IsNaN(want.Power), has)
	if has {
		require.Equal(t, trim(want.Power), power.Data)
	}
}

func trim(v float64) string {
	var b builder
	return b.figure(v, 0).String()
}

// The order of elements is part of both standards: within a point, ele before
// time before extensions (GPX 1.1); Time, Position, AltitudeMeters,
// DistanceMeters, Cadence, Extensions (TCX v2).
func TestXMLKeepsTheOrderOfItsStandard(t *testing.T) {
	r := Make(Full(4))
	orders := map[string][]string{
		"gpx": {"metadata", "trk"}, "trk": {"name", "type", "trkseg"}, "trkpt": {"ele", "time", "extensions"},
		"Activity": {"Id", "Lap", "Creator"}, "Creator": {"Name", "UnitId", "ProductID", "Version"},
		"Lap":        {"TotalTimeSeconds", "DistanceMeters", "Calories", "Intensity", "TriggerMethod", "Track"},
		"Trackpoint": {"Time", "Position", "AltitudeMeters", "DistanceMeters", "Cadence", "Extensions"},
	}
	for _, data := range [][]byte{r.GPX(), r.TCX()} {
		seen := inOrder(t, data, orders)
		assert.Positive(t, seen)
	}
}

// inOrder requires the children of every element that orders lists to come in
// its order, and says how many elements were checked.
func inOrder(t *testing.T, data []byte, orders map[string][]string) (checked int) {
	type level struct {
		name string
		at   int
	}
	var path []level
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		token, err := d.Token()
		if token == nil {
			require.ErrorContains(t, err, "EOF")
			return checked
		}
		switch e := token.(type) {
		case xml.StartElement:
			if n := len(path); n > 0 && orders[path[n-1].name] != nil {
				at := place(orders[path[n-1].name], e.Name.Local)
				require.GreaterOrEqual(t, at, path[n-1].at, "%s in %s", e.Name.Local, path[n-1].name)
				path[n-1].at = at
				checked++
			}
			path = append(path, level{name: e.Name.Local})
		case xml.EndElement:
			path = path[:len(path)-1]
		}
	}
}

func place(order []string, name string) int {
	for i, n := range order {
		if n == name {
			return i
		}
	}
	return -1
}

func TestTCXReadsBack(t *testing.T) {
	eachSpec(t, func(t *testing.T, r *Ride) {
		var file struct {
			Activities []struct {
				Sport string `xml:",attr"`
				Laps  []struct {
					DistanceMeters, TotalTimeSeconds float64
					Tracks                           []struct {
						Points []struct {
							Time           time.Time
							DistanceMeters *float64
							Cadence        *float64
							Watts          *float64 `xml:"Extensions>TPX>Watts"`
						} `xml:"Trackpoint"`
					} `xml:"Track"`
				} `xml:"Lap"`
			} `xml:"Activities>Activity"`
		}
		require.NoError(t, xml.Unmarshal(r.TCX(), &file))
		require.Len(t, file.Activities, 1)
		assert.Equal(t, "Biking", file.Activities[0].Sport)
		lap := file.Activities[0].Laps[0]
		assert.InDelta(t, r.Truth.Distance+r.Truth.LiftDistance, lap.DistanceMeters, 0.01)
		assert.Equal(t, r.Truth.Timer, lap.TotalTimeSeconds)
		require.Len(t, lap.Tracks, len(r.Pauses)+1)
		i := 0
		for _, track := range lap.Tracks {
			for _, p := range track.Points {
				want := r.Samples[i]
				require.Equal(t, want.T, p.Time.UnixMilli())
				same(t, want.Dist, orAbsent(p.DistanceMeters), 1e-9)
				same(t, want.Cadence, orAbsent(p.Cadence), 0)
				same(t, want.Power, orAbsent(p.Watts), 0)
				i++
			}
		}
		assert.Equal(t, len(r.Samples), i)
	})
}

func orAbsent(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

func TestNamesAreEscaped(t *testing.T) {
	s := Spec{Seed: 1, Minutes: 3, Name: `Mud & "stones" <wet>`}
	data := Make(s).GPX()
	file, err := gpx.ParseBytes(data)
	require.NoError(t, err)
	assert.Equal(t, s.Name, file.Tracks[0].Name)
	assert.False(t, strings.Contains(string(data), "<wet>"))
}
