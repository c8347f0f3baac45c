package ingest

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// Which sports count, and what the others are called.
func TestFITSports(t *testing.T) {
	for _, c := range []struct {
		name       string
		sport, sub byte
		sport2     string
		indoor     bool
		why        string // of the refusal; "" = a ride
	}{
		{"road", 2, 7, "cycling", false, ""},
		{"e-bike", 21, 47, "e_biking", false, ""},
		{"spin", 2, 5, "cycling", true, ""},
		{"indoor", 2, 6, "cycling", true, ""},
		{"virtual", 2, 58, "cycling", true, ""},
		{"velodrome", 2, 13, "cycling", false, ""},
		{"gym bike", 4, 6, "fitness_equipment", true, ""},
		{"rower", 4, 14, "", false, "a fitness equipment activity, not a ride"},
		{"run", 1, 3, "", false, "a running activity, not a ride"},
		{"motorbike", 22, 0, "", false, "a motorcycling activity, not a ride"},
		{"alpine skiing", 13, 38, "", false, "an alpine skiing activity, not a ride"},
		{"newer than the profile", 200, 0, "", false, "a sport 200 activity, not a ride"},
		{"generic", 0, 0, "generic", false, ""},
		{"all", 254, 0, "", false, ""},
		{"absent", 255, 255, "", false, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m fitMaker
			fitID(&m, fileActivity)
			fitPoints(&m, day0, 10)
			fitSessionOf(&m, c.sport, c.sub, day0, day0+9, 9000)
			if c.why != "" {
				_, err := readFIT(m.file(), Options{})
				var no *NotRideError
				require.ErrorAs(t, err, &no)
				assert.Equal(t, c.why, no.Why)
				return
			}
			tr := oneTrack(t, m.file())
			assert.Equal(t, c.sport2, tr.Sport)
			assert.Equal(t, c.indoor, tr.Indoor)
			assert.Equal(t, unnamed(c.sport), slices.Contains(tr.Warnings, "the file names no sport: counted as a ride"))
		})
	}
}

// What a FIT file can be besides an activity.
func TestFITKinds(t *testing.T) {
	for kind, why := range map[byte]string{
		2: "a settings file, not a ride", 5: "a workout plan, not a ride", 6: "a course file, not a ride",
		20: "an activity summary without points, not a ride", 34: "a segment file, not a ride", 0xF8: "a FIT type 248 file, not a ride",
	} {
		var m fitMaker
		fitID(&m, kind)
		fitPoints(&m, day0, 3)
		_, err := readFIT(m.file(), Options{})
		assert.EqualError(t, err, why)
	}
}

// triathlon writes swim, ride and run of 100 s each with 10 s between; the
// sessions before or after the points, the odometer through or from each start.
func triathlon(sessionsFirst, equalEnds bool, restart bool) []byte {
	var m fitMaker
	fitID(&m, fileActivity)
	sessions := func() {
		for i, sport := range []byte{5, 2, 1} {
			start := day0 + uint32(110*i)
			end := start + 100
			if equalEnds {
				end = start
			}
			fitSessionOf(&m, sport, no8, start, end, 100_000)
		}
	}
	if sessionsFirst {
		sessions()
	}
	m.define(1, 20, fitField{253, 4, baseUint32}, fitField{5, 4, baseUint32})
	for i := range 320 {
		d := i
		if restart {
			d = i % 110
		}
		m.data(1, day0+uint32(i), uint32(500*d))
	}
	if !sessionsFirst {
		sessions()
	}
	return m.file()
}

func TestFITLegs(t *testing.T) {
	for bits := range 8 {
		tr := oneTrack(t, triathlon(bits&1 != 0, bits&2 != 0, bits&4 != 0))
		assert.Equal(t, 1, tr.Leg, bits)
		require.Len(t, tr.Samples, 101, bits)
		assert.Equal(t, day0Millis+110_000, tr.Start)
		assert.Equal(t, day0Millis+210_000, tr.End)
		assert.InDelta(t, 500, tr.Samples[100].Dist, 6, "%d: from the leg's own start", bits)
	}
}

// Chained rides are legs of one file; parts that say nothing of themselves are
// skipped, and so is what is no activity.
func TestFITChain(t *testing.T) {
	var strap, plan fitMaker
	strap.define(0, 132, fitField{253, 4, baseUint32}, fitField{6, 1, baseUint8})
	strap.data(0, day0, byte(120))
	fitID(&plan, 5)
	tracks, err := readFIT(slices.Concat(fitRide(20), strap.file(), plan.file(), fitRide(30)), Options{})
	require.NoError(t, err)
	require.Len(t, tracks, 2)
	assert.Equal(t, []int{0, 1}, []int{tracks[0].Leg, tracks[1].Leg})
	assert.Equal(t, []int{20, 30}, []int{len(tracks[0].Samples), len(tracks[1].Samples)})
	assert.Equal(t, []string{
		"part 2 of 4 is a part without points that does not say what it is and was skipped",
		"part 3 of 4 is a workout plan and was skipped"}, tracks[0].Warnings)
}

// Points without a file_id are a ride of which nothing is known but its points.
func TestFITWithoutID(t *testing.T) {
	var m fitMaker
	fitPoints(&m, day0, 10)
	tr := oneTrack(t, m.file())
	assert.Len(t, tr.Samples, 10)
	assert.Equal(t, []string{"the file names no sport: counted as a ride", "the file does not say what it is (no file_id)"}, tr.Warnings)
}

// Totals that the device did not give are absent: invalid values, and zeros of
// what it has no sensor for.
func TestFITTotals(t *testing.T) {
	total := func(points int, dist, cycles, work uint32, up, down uint16, fraction byte) Totals {
		var m fitMaker
		fitID(&m, fileActivity)
		if points > 0 {
			fitPoints(&m, day0, points)
		}
		m.define(3, 18, fitField{253, 4, baseUint32}, fitField{2, 4, baseUint32}, fitField{5, 1, baseEnum}, fitField{8, 4, baseUint32},
			fitField{9, 4, baseUint32}, fitField{10, 4, baseUint32}, fitField{48, 4, baseUint32}, fitField{22, 2, baseUint16}, fitField{23, 2, baseUint16},
			fitField{94, 1, baseUint8})
		m.data(3, day0+9, day0, byte(2), uint32(9500), dist, cycles, work, up, down, fraction)
		return oneTrack(t, m.file()).Totals
	}
	got := total(10, 123456, 700, 150000, 320, 310, 64)
	assert.Equal(t, Totals{Distance: 1234.56, Climb: 320, Descent: 310, Moving: 9.5, Turns: 700.5, Work: 150000}, got)
	got = total(0, 123456, no32, no32, no16, no16, no8)
	assert.Equal(t, 1234.56, got.Distance, "a ride without points counts by its totals")
	for _, absent := range []float64{got.Climb, got.Descent, got.Turns, got.Work} {
		assert.True(t, math.IsNaN(absent))
	}
	got = total(10, 0, 0, 0, 0, 0, no8)
	assert.Equal(t, []float64{0, 0, 0, 0}, []float64{got.Distance, got.Climb, got.Descent, got.Turns}, "zeros of what was sampled")
	assert.True(t, math.IsNaN(got.Work), "a zero without a power meter")
}

// Sensors are told once each, by serial number or ANT number, whichever network
// they spoke over; head units' own parts are not sensors.
func TestFITSensors(t *testing.T) {
	var m fitMaker
	fitID(&m, fileActivity)
	fitPoints(&m, day0, 5)
	m.define(4, 23, fitField{253, 4, baseUint32}, fitField{0, 1, baseUint8}, fitField{1, 1, baseUint8}, fitField{2, 2, baseUint16},
		fitField{3, 4, baseSerial}, fitField{4, 2, baseUint16}, fitField{21, 2, baseANT}, fitField{25, 1, baseEnum}, fitField{27, 6, baseString})
	device := func(index, kind byte, serial uint32, ant uint16, source byte, name string) {
		m.data(4, day0, index, kind, uint16(300), serial, uint16(9), ant, source, name)
	}
	device(0, no8, 4711, 0, 5, "unit\x00\x00")
	device(1, 11, 0, 77, 1, "\x00\x00\x00\x00\x00\x00")
	for range 50 {
		device(1, 11, 900, 77, 1, "meter\x00")
		device(2, 34, no32, 55, 1, "gears\x00")
	}
	device(3, 1, 1234, 0, 3, "strap\x00")      // a Bluetooth heart rate strap
	device(4, 123, no16, no16, 1, "cheap\x00") // cannot be told from others
	device(5, 4, 99, 0, 5, "baro\x00\x00")
	device(6, no8, 98, 0, 1, "none\x00\x00")
	fitSessionOf(&m, 2, no8, day0, day0+4, 4000)
	tr := oneTrack(t, m.file())
	assert.Equal(t, wear.Sensor{Maker: 300, Product: 7, Serial: 4711, Name: "unit"}, tr.Device)
	assert.Equal(t, []wear.Sensor{
		{Type: 11, Maker: 300, Product: 9, Serial: 900, ANT: 77, Name: "meter"},
		{Type: 34, Maker: 300, Product: 9, ANT: 55, Name: "gears"},
		{Type: 120, Maker: 300, Product: 9, Serial: 1234, Name: "strap"},
	}, tr.Sensors)
}
