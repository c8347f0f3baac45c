package ingest

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// at makes samples of times in seconds.
func at(seconds ...int64) []Sample {
	var list []Sample
	for _, s := range seconds {
		list = append(list, Sample{T: fitClockSet + s*1000, Dist: float64(s)})
	}
	return list
}

func times(list []Sample) []int64 {
	var seconds []int64
	for _, s := range list {
		seconds = append(seconds, (s.T-fitClockSet)/1000)
	}
	return seconds
}

func TestFITTidy(t *testing.T) {
	const day = 86_400
	for _, c := range []struct {
		name     string
		in, out  []int64
		warnings []string
	}{
		{"in order", []int64{1, 2, 3}, []int64{1, 2, 3}, nil},
		{"one second twice", []int64{1, 2, 2, 3}, []int64{1, 2, 3}, nil},
		{"one step back", []int64{1, 2, 9, 3, 4, 5}, []int64{1, 2, 3, 4, 5}, []string{"1 point whose time runs backwards left out"}},
		{"clock set back early", []int64{901, 902, 1, 2, 3, 4}, []int64{1, 2, 3, 4}, []string{"2 points whose time runs backwards left out"}},
		{"nonsense at the end", []int64{1, 2, 3, 4, 5, 60 * 365 * day}, []int64{1, 2, 3, 4, 5}, []string{"1 point whose time leaps by more than a day left out"}},
		{"nonsense at the start", []int64{1, 2, 2*day + 1, 2*day + 2, 2*day + 3, 2*day + 4, 2*day + 5, 2*day + 6},
			[]int64{2*day + 1, 2*day + 2, 2*day + 3, 2*day + 4, 2*day + 5, 2*day + 6}, []string{"2 points whose time leaps by more than a day left out"}},
		{"27 days between", []int64{1, 2, 3, 4, 27*day + 1, 27*day + 2, 27*day + 3, 27*day + 4},
			[]int64{1, 2, 3, 4, 27*day + 1, 27*day + 2, 27*day + 3, 27*day + 4}, nil},
		{"clock set on the way", []int64{-900, -899, 5, 6, 7, 8}, []int64{5, 6, 7, 8}, []string{"2 points from before the device's clock was set left out"}},
		{"no points", nil, nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := fitFacts{samples: at(c.in...)}
			require.NoError(t, f.tidy())
			assert.Equal(t, c.out, times(f.samples))
			assert.Equal(t, c.warnings, f.warnings)
		})
	}
	f := fitFacts{samples: at(9, 8, 7, 6, 5, 4)}
	assert.EqualError(t, f.tidy(), "times run backwards at 5 of 6 points")
	f = fitFacts{untimed: 3, samples: at(1, 2)}
	require.NoError(t, f.tidy())
	assert.Equal(t, []string{"3 points without a time left out"}, f.warnings)
}

// The kept samples never decrease, are a subsequence, and are as many as any
// such subsequence has (checked against the quadratic way).
func TestFITAscending(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.SliceOfN(rapid.Int64Range(0, 20), 0, 30).Draw(t, "times")
		kept, dropped := ascending(at(in...))
		got := times(kept)
		assert.True(t, slices.IsSorted(got))
		assert.Equal(t, len(in), len(got)+dropped)
		best, longest := 0, make([]int, len(in))
		for i := range in {
			longest[i] = 1
			for j := range i {
				if in[j] <= in[i] {
					longest[i] = max(longest[i], longest[j]+1)
				}
			}
			best = max(best, longest[i])
		}
		assert.Len(t, got, best)
		i := 0
		for _, s := range in {
			if i < len(got) && got[i] == s {
				i++
			}
		}
		assert.Equal(t, len(got), i)
	})
}

// One moment told in two messages is one sample; the last word wins.
func TestFITJoined(t *testing.T) {
	nan := math.NaN()
	got := joined([]Sample{{T: 1, Lat: 1, Lon: 2, Alt: 3, Dist: nan, Speed: 5, Cadence: nan, Power: 7},
		{T: 1, Lat: nan, Lon: nan, Alt: nan, Dist: 4, Speed: 6, Cadence: 80, Power: nan}})
	assert.Equal(t, []Sample{{T: 1, Lat: 1, Lon: 2, Alt: 3, Dist: 4, Speed: 6, Cadence: 80, Power: 7}}, got)
}

// events writes a ride of 100 s with timer and gear events.
func events(list ...[4]uint32) []byte {
	var m fitMaker
	fitID(&m, fileActivity)
	fitPoints(&m, day0, 101)
	m.define(5, 21, fitField{253, 4, baseUint32}, fitField{0, 1, baseEnum}, fitField{1, 1, baseEnum}, fitField{3, 4, baseUint32})
	for _, e := range list {
		m.data(5, day0+e[0], byte(e[1]), byte(e[2]), e[3])
	}
	fitSessionOf(&m, 2, no8, day0, day0+100, 100_000)
	return m.file()
}

func TestFITPauses(t *testing.T) {
	for _, c := range []struct {
		name   string
		events [][4]uint32 // second, event, type, data
		want   []Pause     // in seconds
	}{
		{"none", [][4]uint32{{0, 0, 0, 0}, {100, 0, 4, 0}}, nil},
		{"one", [][4]uint32{{0, 0, 0, 0}, {20, 0, 4, 0}, {50, 0, 0, 0}, {100, 0, 4, 0}}, []Pause{{20, 50}}},
		{"every kind of stop", [][4]uint32{{10, 0, 1, 0}, {11, 0, 0, 0}, {20, 0, 8, 0}, {21, 0, 0, 0}, {30, 0, 9, 0}, {31, 0, 0, 0}},
			[]Pause{{10, 11}, {20, 21}, {30, 31}}},
		{"stopped twice", [][4]uint32{{20, 0, 4, 0}, {30, 0, 4, 0}, {50, 0, 0, 0}}, []Pause{{20, 50}}},
		{"never started again", [][4]uint32{{0, 0, 0, 0}, {60, 0, 4, 0}}, []Pause{{60, 100}}},
		{"out of order", [][4]uint32{{50, 0, 0, 0}, {20, 0, 4, 0}}, []Pause{{20, 50}}},
		{"other events", [][4]uint32{{20, 9, 1, 0}, {30, 8, 4, 0}, {40, 0, 3, 0}}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []Pause
			for _, p := range oneTrack(t, events(c.events...)).Pauses {
				got = append(got, Pause{(p.From - day0Millis) / 1000, (p.To - day0Millis) / 1000})
			}
			assert.Equal(t, c.want, got)
		})
	}
}

// gear_change_data (FIT profile): rear number, rear teeth, front number, front
// teeth, from the lowest byte up; 0 and 255 are none.
func TestFITShifts(t *testing.T) {
	tr := oneTrack(t, events([4]uint32{5, 43, 3, 32<<24 | 1<<16 | 21<<8 | 6}, [4]uint32{9, 42, 3, 0xFF<<24 | 0xFF<<16 | 18<<8 | 7},
		[4]uint32{12, 43, 3, no32}))
	assert.Equal(t, []Shift{
		{T: day0Millis + 5000, Front: 1, Rear: 6, FrontTeeth: 32, RearTeeth: 21},
		{T: day0Millis + 9000, Rear: 7, RearTeeth: 18},
	}, tr.Shifts)
}

// A leg begins in the gear that was left before it.
func TestFITShiftsOfLeg(t *testing.T) {
	f := fitFacts{shifts: []Shift{{T: 10, Rear: 1}, {T: 20, Rear: 2}, {T: 40, Rear: 3}, {T: 90, Rear: 4}}}
	assert.Equal(t, []Shift{{T: 30, Rear: 2}, {T: 40, Rear: 3}}, f.shiftsOf(30, 80))
	assert.Empty(t, f.shiftsOf(1, 5))
	assert.Equal(t, []Shift{{T: 100, Rear: 4}}, f.shiftsOf(100, 110))
}

// The offset goes by quarters of an hour; absurd ones are not known.
func TestFITZone(t *testing.T) {
	for _, c := range []struct {
		wall int64 // s after UTC
		want int32
	}{{0, 0}, {7200, 7200}, {-18002, -18000}, {20701, 20700}, {50400, 50400}, {-100_000, 0}, {2_000_000, 0}} {
		var f fitFacts
		f.zone(day0Millis, day0Millis+c.wall*1000)
		assert.Equal(t, c.want, f.offset, c.wall)
	}
	var f fitFacts
	f.zone(day0Millis, 0)
	assert.Zero(t, f.offset)
}

// A ride whose times count from when the device was switched on has no day.
func TestFITClockNotSet(t *testing.T) {
	var m fitMaker
	fitID(&m, fileActivity)
	fitPoints(&m, 5000, 10)
	fitSessionOf(&m, 2, no8, 5000, 5009, 9000)
	assert.Contains(t, refusedAs(t, m.file()).Why, "clock was not set")
}

// How a record's fields become a sample.
func TestFITRecord(t *testing.T) {
	for name, c := range map[string]struct {
		set  func(*fitRecord)
		want func(*Sample)
	}{
		"enhanced fields win": {func(r *fitRecord) { r.alt, r.alt16, r.speed, r.speed16 = 3000, 2500, 70_000, 5000 },
			func(s *Sample) { s.Alt, s.Speed = 100, 70 }},
		"fraction of cadence":  {func(r *fitRecord) { r.cadence, r.fraction = 80, 64 }, func(s *Sample) { s.Cadence = 80.5 }},
		"cadence256":           {func(r *fitRecord) { r.cadence256 = 80*256 + 128 }, func(s *Sample) { s.Cadence = 80.5 }},
		"a fraction alone":     {func(r *fitRecord) { r.fraction = 64 }, func(*Sample) {}},
		"half a position":      {func(r *fitRecord) { r.lat = 1 << 29 }, func(*Sample) {}},
		"no fix yet":           {func(r *fitRecord) { r.lat, r.lon = 0, 0 }, func(*Sample) {}},
		"beyond the pole":      {func(r *fitRecord) { r.lat, r.lon = 1<<30+1, 5 }, func(*Sample) {}},
		"on the zero meridian": {func(r *fitRecord) { r.lat, r.lon = 1<<29, 0 }, func(s *Sample) { s.Lat, s.Lon = 45, 0 }},
		"power":                {func(r *fitRecord) { r.power = 250 }, func(s *Sample) { s.Power = 250 }},
	} {
		nan := math.NaN()
		want := Sample{T: day0Millis, Lat: nan, Lon: nan, Alt: nan, Dist: nan, Speed: nan, Cadence: nan, Power: nan}
		c.want(&want)
		sameSamples(t, name, []Sample{want}, []Sample{sampleOf(c.set)})
	}
}
