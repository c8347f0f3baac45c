package ingest

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// part is a stretch of a made-up ride.
type part struct {
	seconds  int
	v, slope float64
	cadence  float64
}

// ride strings parts together, one sample a second, with odometer and speed.
func ride(parts ...part) *Track {
	var all []part
	for _, p := range parts {
		for range p.seconds {
			all = append(all, p)
		}
	}
	way, alt := 0.0, 800.0
	return trackOf(len(all), func(i int, s *Sample) {
		p := all[i]
		way, alt = way+p.v, alt+p.v*p.slope
		s.Dist, s.Speed, s.Alt, s.Cadence = way, p.v, alt, p.cadence
	})
}

// taken is what uplift takes from distance (m), climb (m) and time (s).
func taken(tr *Track, m Model) (way, climb, time float64) {
	m.Uplift = wear.NoUplift
	all := Reduce(tr, m)
	m.Uplift = wear.FindUplift
	less := all.Recorded.Sub(Reduce(tr, m).Recorded)
	return less.SI(wear.Distance), less.SI(wear.Climb), less.SI(wear.Moving)
}

// What is a lift and what is none, by seconds cut out.
func TestWhatIsALift(t *testing.T) {
	down := part{300, 7, -0.1, 0}
	pedal := part{300, 4, 0.03, 70}
	none := func(p part) part { p.cadence = nan; return p }
	lift := part{300, 4, 0.2, nan}
	cases := map[string]struct {
		tr    *Track
		m     Model
		time  float64
		climb float64
	}{
		"a chair":                       {ride(none(pedal), lift, none(down)), Model{}, 300, 240},
		"a chair, sensor at rest":       {ride(pedal, part{300, 4, 0.2, 0}, down), Model{}, 300, 240},
		"a slow one, sensor at rest":    {ride(pedal, part{120, 2.5, 0.18, 0}, down), Model{}, 120, 54},
		"a slow one without sensor":     {ride(none(pedal), part{120, 2.5, 0.18, nan}, none(down)), Model{}, 0, 0},
		"a climb of 1,500 m/h":          {ride(none(pedal), part{600, 3, 0.139, nan}, none(down)), Model{}, 0, 0},
		"a sprint":                      {ride(none(pedal), part{40, 5, 0.12, nan}, none(down)), Model{}, 0, 0},
		"carried on the shoulder":       {ride(pedal, part{300, 0.8, 0.4, 0}, down), Model{}, 0, 0},
		"it stops for a minute":         {ride(none(pedal), lift, part{50, 0, 0, nan}, lift, none(down)), Model{}, 650, 480},
		"it stops for four":             {ride(none(pedal), lift, part{240, 0, 0, nan}, lift, none(down)), Model{}, 840, 480},
		"two with a ride between":       {ride(none(pedal), lift, none(down), lift), Model{}, 600, 480},
		"pedalling on the chair":        {ride(pedal, part{150, 4, 0.2, 0}, part{3, 4, 0.2, 20}, part{150, 4, 0.2, 0}, down), Model{}, 300, 240},
		"pedalled all the way":          {ride(pedal, part{300, 4, 0.2, 60}, down), Model{}, 0, 0},
		"drive home":                    {ride(none(pedal), part{60, 0, 0, nan}, part{900, 20, 0, nan}, part{30, 0, 0, nan}), Model{}, 900, 0},
		"a level road at 14 m/s":        {ride(none(pedal), part{300, 13, 0, nan}), Model{}, 0, 0},
		"a fast road down":              {ride(none(pedal), part{300, 20, -0.09, nan}), Model{}, 0, 0},
		"an e-bike":                     {ride(none(pedal), part{600, 5, 0.14, nan}, none(down)), Model{Motor: wear.MidMotor}, 0, 0},
		"an e-bike on a lift":           {ride(none(pedal), part{300, 6, 0.3, nan}, none(down)), Model{Motor: wear.MidMotor}, 300, 540},
		"an e-bike, sensor at rest":     {ride(pedal, part{300, 5, 0.14, 0}, down), Model{Motor: wear.MidMotor}, 300, 210},
		"a throttle":                    {ride(pedal, part{300, 5, 0.14, 0}, down), Model{Motor: wear.HubMotor}, 0, 0},
		"nothing but a lift":            {ride(lift), Model{}, 299, 239},
		"a sensor dead at zero, uphill": {ride(pedal, part{1500, 3, 0.1, 0}, down), Model{}, 0, 0},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, climb, time := taken(c.tr, c.m)
			assert.InDelta(t, c.time, time, 0.03*c.time+8)
			assert.InDelta(t, c.climb, climb, 0.03*c.climb+5)
		})
	}
}

// The file may know of a motor that the bike's owner did not name.
func TestSportTellsOfAMotor(t *testing.T) {
	for sport, time := range map[string]float64{"e_biking": 0, "E-Bike ride": 0, "cycling": 600} {
		tr := ride(part{300, 4, 0.03, nan}, part{600, 5, 0.14, nan}, part{300, 7, -0.1, nan})
		tr.Sport = strings.ToLower(sport)
		_, _, cut := taken(tr, Model{})
		assert.InDelta(t, time, cut, 20, sport)
	}
}

func TestLiftsAreSaid(t *testing.T) {
	down := part{300, 7, -0.15, nan}
	lift := part{600, 5, 0.24, nan}
	assert.Equal(t, []string{"1 lift cut out: 3.0 km, 715 m up, 10 min"}, Reduce(ride(down, lift, down), Model{}).Notes, "of 720: the mean of 9 s rounds both ends")
	two := Reduce(ride(down, lift, part{240, 0, 0, nan}, lift, down, lift, down), Model{})
	assert.Regexp(t, `^2 lifts cut out: 9.0 km, 2,1\d\d m up, 34 min$`, cutNote(two), "one of them stood still for a while")
	assert.Equal(t, "12,345,678", thousands(12_345_678.4))
	assert.Equal(t, "2,000", thousands(1999.6))
	assert.Equal(t, "999", thousands(999.4))
}

// No altitude: a motorway is told by speed alone, a fast descent is not taken
// for one.
func TestLiftsWithoutAltitude(t *testing.T) {
	for v, time := range map[float64]float64{33: 600, 22: 0, 14: 0} {
		tr := silenced(ride(part{300, 5, 0, nan}, part{60, 0, 0, nan}, part{600, v, 0, nan}, part{60, 0, 0, nan}), func(s *Sample) { s.Alt = nan })
		_, _, cut := taken(tr, Model{})
		assert.InDelta(t, time, cut, 5, "%g m/s", v)
	}
}

// A wheel sensor stands still on the chair; a fault of the altitude on the
// ground is no lift.
func TestSteepLifts(t *testing.T) {
	hung := ride(part{300, 5, 0.02, nan}, part{300, 0, 0, nan}, part{300, 7, -0.1, nan})
	for i := range hung.Samples {
		hung.Samples[i].Alt += float64(min(max(i-300, 0), 300))
	}
	_, climb, time := taken(hung, Model{})
	assert.InDelta(t, 300, climb, 5)
	assert.InDelta(t, 300, time, 8)

	upright := ride(part{300, 5, 0.02, nan}, part{300, 1, 1, nan}, part{300, 7, -0.1, nan})
	_, climb, _ = taken(upright, Model{})
	assert.Zero(t, climb)
}

// Gear changes tell of riding as a cadence sensor does: a slow lift without
// one of them is found, a climb with some is not.
func TestShiftsTellOfRiding(t *testing.T) {
	tr := ride(part{1200, 4, 0.03, nan}, part{300, 2.5, 0.18, nan}, part{600, 7, -0.1, nan})
	for i := 0; i < 2100; i += 20 {
		if i < 1200 || i >= 1500 {
			tr.Shifts = append(tr.Shifts, Shift{T: tr.Samples[i].T, Rear: uint8(1 + i/20%10)})
		}
	}
	_, climb, _ := taken(tr, Model{})
	assert.InDelta(t, 135, climb, 8)
	for i := 1200; i < 1500; i += 40 {
		tr.Shifts = append(tr.Shifts, Shift{T: tr.Samples[i].T, Rear: uint8(i / 40 % 10)})
	}
	_, climb, _ = taken(tr, Model{})
	assert.Zero(t, climb, "the changes need not be in order")
}

// The user says that every climb was a lift: then slow roads up are cut out
// too, but nothing that a sensor heard being pedalled.
func TestAllUplift(t *testing.T) {
	slow := part{1200, 4, 0.06, nan}
	tr := ride(part{60, 5, 0, nan}, slow, part{900, 7, -0.05, nan}, slow, part{900, 7, -0.05, nan})
	assert.Empty(t, cutNote(Reduce(tr, Model{})))
	out := Reduce(tr, Model{Uplift: wear.AllUplift})
	assert.Equal(t, "2 lifts cut out: 9.6 km, 574 m up, 40 min", cutNote(out))
	assert.InDelta(t, 60*5+2*900*7, out.Recorded.SI(wear.Distance), 60)
	assert.InDelta(t, 0, out.Recorded.SI(wear.Climb), 5)
	assert.InDelta(t, 630, out.Recorded.SI(wear.Descent), 10)

	ridden := trackOfFile(t, rig.Make(rig.Full(6)).FIT())
	all, none := Reduce(ridden, Model{Uplift: wear.AllUplift}), Reduce(ridden, Model{Uplift: wear.NoUplift})
	assert.InEpsilon(t, none.Recorded[wear.Turns], all.Recorded[wear.Turns], 0.001)
	assert.InEpsilon(t, none.Recorded[wear.Climb], all.Recorded[wear.Climb], 0.05)

	typed := Typed(Given{30, 900, 900, 3}, Model{Uplift: wear.AllUplift}, wear.Usual{})
	assert.Equal(t, Typed(Given{30, 900, 900, 3}, Model{}, wear.Usual{}).Recorded, typed.Recorded)
	assert.Equal(t, []string{"no samples: lifts cannot be cut out"}, typed.Notes)
}

var timeless = regexp.MustCompile(`<time>[^<]*</time>`)

// Times that were made up tell nothing of how fast a climb was.
func TestMadeUpTimesHaveNoLifts(t *testing.T) {
	day := rig.Make(liftDay(1, false, false))
	at := wear.Instant(day.Samples[0].T)
	tracks, err := readGPX(timeless.ReplaceAll(day.GPX(), nil), Options{On: &at, Hours: 1})
	require.NoError(t, err)
	require.Contains(t, tracks[0].Warnings, evenTimes)
	assert.Empty(t, cutNote(Reduce(tracks[0], Model{})))
	assert.NotEmpty(t, cutNote(Reduce(tracks[0], Model{Uplift: wear.AllUplift})))
}

// Lifts put nothing into the gears, and braking starts afresh below them.
func TestLiftsAreInNoGear(t *testing.T) {
	day := rig.Make(liftDay(3, true, true))
	out := reduceFile(t, day.FIT(), Model{})
	all := reduceFile(t, day.FIT(), Model{Uplift: wear.NoUplift})
	turns := func(list []wear.Gear) (n int64) {
		for _, g := range list {
			n += g.Turns
		}
		return n
	}
	assert.InEpsilon(t, turns(all.Gears.ByDevelopment), turns(out.Gears.ByDevelopment), 0.01)
	assert.LessOrEqual(t, turns(out.Gears.ByDevelopment), out.Recorded[wear.Turns])
	assert.False(t, math.IsNaN(out.Estimated.SI(wear.Braking)))
}
