package wear

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

const minute = 60_000 // ms

// outing is a ride of three hours and 40 km as a head unit records it, changed.
func outing(id byte, changes ...func(*Ride)) Ride {
	r := Ride{ID: RideID{id}, Start: days(1), Elapsed: 180 * minute, Format: FIT,
		Recorded: Load{Distance: 40_00_000, Moving: 150 * minute}}
	for _, change := range changes {
		change(&r)
	}
	return r
}

func of(bike ID) func(*Ride)            { return func(r *Ride) { r.Bike = bike } }
func later(minutes int64) func(*Ride)   { return func(r *Ride) { r.Start += Instant(minutes * minute) } }
func lasting(minutes int64) func(*Ride) { return func(r *Ride) { r.Elapsed = minutes * minute } }
func far(km float64) func(*Ride) {
	return func(r *Ride) { r.Recorded[Distance] = int64(km * 100_000) }
}
func movingFor(minutes int64) func(*Ride) {
	return func(r *Ride) { r.Recorded[Moving] = minutes * minute }
}
func with(s ...Sensor) func(*Ride) { return func(r *Ride) { r.Sensors = append(r.Sensors, s...) } }
func by(serial uint32, maker uint16) func(*Ride) {
	return func(r *Ride) { r.Device = Sensor{Serial: serial, Maker: maker} }
}
func from(f Format) func(*Ride) { return func(r *Ride) { r.Format = f } }
func damaged(r *Ride)           { r.Salvaged = true }
func apart(r *Ride)             { r.Unlike = []RideID{{1}, {2}, {3}} }

func TestSameOuting(t *testing.T) {
	type change = func(*Ride)
	herStrap := Sensor{Type: 120, Serial: 6}
	for _, tt := range []struct {
		name string
		a, b []change
		want Sameness
	}{
		{"on one bike", []change{of(1)}, []change{of(1), later(2), far(42)}, Same},
		{"on one bike, distances disagree", []change{of(1)}, []change{of(1), far(46)}, Doubtful},
		{"on one bike, half the time in common", []change{of(1)}, []change{of(1), later(90)}, Doubtful},
		{"on one bike, a tenth in common", []change{of(1)}, []change{of(1), later(162)}, Apart},
		{"on one bike, one after the other", []change{of(1)}, []change{of(1), later(180)}, Apart},
		{"stopped too late", []change{of(1)}, []change{of(1), lasting(600)}, Same},
		{"stopped too late, and driven home", []change{of(1)}, []change{of(1), lasting(600), far(80)}, Doubtful},
		{"legs with a lunch between", []change{of(1), lasting(90), far(20)}, []change{of(1), later(150), lasting(90), far(20)}, Apart},
		{"legs of no bike yet", []change{lasting(90), with(strap), by(9, 1)}, []change{later(150), lasting(90), with(strap), by(9, 1)}, Apart},
		{"a leg and the whole", []change{of(1), lasting(90), far(20)}, []change{of(1)}, Doubtful},
		{"a clock an hour off, a short ride", []change{of(1), lasting(60)}, []change{of(1), lasting(60), later(60)}, Apart},
		{"a clock an hour off, of no bike yet", nil, []change{later(60)}, Apart},
		// A bike cannot be in two places: the two hours in common are asked about.
		{"a clock an hour off, on one bike", []change{of(1)}, []change{of(1), later(60)}, Doubtful},

		{"indoors, neither knows a distance", []change{of(1), far(0)}, []change{of(1), far(0), movingFor(155)}, Same},
		{"indoors, one knows a distance", []change{of(1), far(0)}, []change{of(1)}, Same},
		{"indoors, moving times disagree", []change{of(1), far(0), movingFor(60)}, []change{of(1), far(0)}, Doubtful},
		{"nothing to compare", []change{of(1), far(0), movingFor(0)}, []change{of(1)}, Doubtful},
		{"indoors, of no bike yet", []change{far(0)}, []change{far(0)}, Compare},

		{"two of a household", nil, []change{later(1), far(39)}, Compare},
		{"with straps of their own", []change{with(strap)}, []change{with(herStrap)}, Compare},
		{"two friends, other distances", nil, []change{far(60)}, Apart},
		{"two friends with one app", []change{by(1234, 1)}, []change{by(1234, 1)}, Compare},
		{"one strap in both", []change{with(strap)}, []change{with(herStrap, strap)}, Same},
		{"one strap, other distances", []change{with(strap)}, []change{with(strap), far(20)}, Doubtful},
		{"one strap without a number", []change{with(Sensor{Type: 120, Serial: 65535})}, []change{with(Sensor{Type: 120, Serial: 65535})}, Compare},
		{"one ANT number", []change{with(Sensor{Type: 120, ANT: 7})}, []change{with(Sensor{Type: 120, ANT: 7})}, Compare},
		{"one number, two types", []change{with(strap)}, []change{with(Sensor{Type: typePower, Serial: strap.Serial})}, Compare},

		{"one of no bike yet", []change{of(1)}, nil, Compare},
		{"one of no bike yet, one shifter", []change{of(1), with(trailShifter)}, []change{with(trailShifter)}, Same},
		{"one of no bike yet, other distances", []change{of(1)}, []change{far(60)}, Apart},
		{"two bikes, begun at once", []change{of(1)}, []change{of(2)}, Compare},
		{"two bikes", []change{of(1)}, []change{of(2), later(1)}, Apart},
		{"two bikes, one strap", []change{of(1), with(strap)}, []change{of(2), with(strap)}, Doubtful},
		{"two bikes, one recording", []change{of(1), by(9, 1)}, []change{of(2), by(9, 0), from(TCX)}, Doubtful},
		{"two bikes, one device, not at once", []change{of(1), by(9, 1)}, []change{of(2), by(9, 1), later(1)}, Apart},
		{"two bikes, devices without a number", []change{of(1), by(65535, 1)}, []change{of(2), by(65535, 1)}, Compare},
		{"two bikes, one number of two makers", []change{of(1), by(9, 1)}, []change{of(2), by(9, 2)}, Compare},

		{"a damaged file of one device", []change{of(1), by(9, 1), damaged, far(20)}, []change{of(2), by(9, 1)}, Same},
		{"a damaged file of one bike", []change{of(1), by(9, 1), damaged, far(20)}, []change{of(1)}, Same},
		{"a damaged file of a device without a number", []change{of(1), by(65535, 1), damaged, far(20)}, []change{by(65535, 1)}, Compare},
		{"a damaged file that names no device", []change{damaged, far(20)}, []change{by(9, 1)}, Compare},
		{"a damaged file of another device", []change{of(1), by(8, 1), damaged}, []change{of(2), by(9, 1), later(1)}, Apart},
		{"two damaged files", []change{by(9, 1), damaged, far(20)}, []change{by(9, 1), damaged}, Apart},

		{"no time passed", []change{of(1), lasting(0)}, []change{of(1)}, Apart},
		{"typed in", []change{of(1), from(Typed)}, []change{of(1)}, Apart},
		{"a row of a table", []change{of(1), from(Table)}, []change{of(1)}, Apart},
		{"apart by the user's word", []change{of(1), apart}, []change{of(1)}, Apart},
	} {
		a, b := outing(1, tt.a...), outing(2, tt.b...)
		assert.Equal(t, tt.want, a.Sameness(b), tt.name)
		assert.Equal(t, tt.want, b.Sameness(a), tt.name)
	}
	r := outing(1, of(1))
	assert.Equal(t, Apart, r.Sameness(r), "a ride is no twin of itself")
}

// The limits, and one step either side.
func TestSameLimits(t *testing.T) {
	for _, tt := range []struct {
		start, elapsed int64
		distance       int64
		want           Sameness
	}{
		{36 * minute, 180 * minute, 40_00_000, Same}, // 80 % of the time
		{36*minute + 1, 180 * minute, 40_00_000, Doubtful},
		{144 * minute, 180 * minute, 40_00_000, Doubtful}, // 20 %
		{144*minute + 1, 180 * minute, 40_00_000, Apart},
		{0, 180 * minute, 36_00_000, Same}, // 10 % of the longer
		{0, 180 * minute, 36_00_000 - 1, Doubtful},
		{0, 1, 40_00_000, Same},
	} {
		b := outing(2, of(1))
		b.Start += Instant(tt.start)
		b.Elapsed, b.Recorded[Distance] = tt.elapsed, tt.distance
		assert.Equal(t, tt.want, outing(1, of(1)).Sameness(b), "%+v", tt)
	}
	for ms, want := range map[Instant]Sameness{exportLag: Doubtful, exportLag + 1: Apart} {
		b := outing(2, of(2), by(9, 1))
		b.Start += ms
		assert.Equal(t, want, outing(1, of(1), by(9, 1)).Sameness(b), "%d ms", ms)
	}
}

// Which of two rides is asked about the other does not matter; and without one
// bike or one sensor's serial number, nothing but the samples makes them the same,
// save a damaged file and its whole one of one numbered device.
func TestSameIsSymmetric(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, b := drawRide(rt, "a"), drawRide(rt, "b")
		assert.Equal(rt, a.Sameness(b), b.Sameness(a))
		wholeOfCut := a.Salvaged != b.Salvaged && a.oneDevice(b) && max(a.Start, b.Start)-min(a.Start, b.Start) <= sameSecond
		if a.Sameness(b) == Same && !sharesSensor(a, b) && !wholeOfCut {
			assert.Equal(rt, a.Bike, b.Bike)
			assert.NotZero(rt, a.Bike)
		}
		assert.Equal(rt, Apart, a.Sameness(a))
	})
}

func TestRicher(t *testing.T) {
	cut := func(r *Ride) { r.Salvaged = true }
	turns := func(r *Ride) { r.Recorded[Turns] = 10_000_000 }
	halfTurns := func(r *Ride) { r.Recorded[Turns], r.Estimated[Turns] = 5, 5 }
	guessed := func(r *Ride) { r.Estimated[Turns], r.Estimated[Work] = 10_000_000, 1_000_000 }
	// each counts before the one after it
	order := []Ride{
		outing(9, turns, from(GPX)),
		outing(8, movingFor(160)), outing(1), outing(2, guessed), outing(3, halfTurns),
		outing(4, from(TCX)), outing(5, from(GPX), movingFor(170)),
		outing(6, turns, cut), outing(7, cut),
	}
	for i, a := range order {
		for j, b := range order {
			assert.Equal(t, cmp.Compare(j, i), cmp.Compare(a.Richer(b), 0), "%v and %v", a.ID, b.ID)
		}
	}
}

// Richer is a total order, so that of three recordings the same one counts in
// whatever order they came.
func TestRicherIsAnOrder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, b, c := drawRide(rt, "a"), drawRide(rt, "b"), drawRide(rt, "c")
		a.ID, b.ID, c.ID = RideID{1}, RideID{2}, RideID{1, 1}
		sign := func(x, y Ride) int { return cmp.Compare(x.Richer(y), 0) }
		assert.NotZero(rt, sign(a, b), "one of two counts")
		assert.Equal(rt, sign(a, b), -sign(b, a))
		assert.Zero(rt, sign(a, a))
		if sign(a, b) > 0 && sign(b, c) > 0 {
			assert.Positive(rt, sign(a, c))
		}
		best := slices.MaxFunc([]Ride{a, b, c}, Ride.Richer).ID
		for _, order := range [][]Ride{{a, c, b}, {b, a, c}, {b, c, a}, {c, a, b}, {c, b, a}} {
			counts := order[0] // as they come, one after the other
			for _, r := range order[1:] {
				if r.Richer(counts) > 0 {
					counts = r
				}
			}
			assert.Equal(rt, best, counts.ID)
		}
	})
}

// drawRide draws from few figures, so that two are often alike.
func drawRide(rt *rapid.T, name string) Ride {
	few := func(what string, of ...int64) int64 { return rapid.SampledFrom(of).Draw(rt, name+" "+what) }
	r := Ride{
		ID: RideID{byte(few("id", 1, 2, 3))}, Bike: ID(few("bike", 0, 1, 2)), Start: days(1) + Instant(few("start", 0, 0, 3000, 60*minute)),
		Elapsed: few("elapsed", 0, 60*minute, 180*minute), Format: Format(few("format", 0, 1, 1, 2, 3, 4)),
		Device:   Sensor{Serial: uint32(few("device", 0, 9)), Maker: uint16(few("maker", 0, 1, 2))},
		Salvaged: few("salvaged", 0, 0, 1) == 1,
	}
	if few("unlike", 0, 0, 0, 1) == 1 {
		r.Unlike = []RideID{{byte(few("unlike which", 1, 2, 3))}}
	}
	for _, q := range []Quantity{Distance, Moving, Turns} {
		r.Recorded[q], r.Estimated[q] = few(q.String(), 0, 100, 105, 200), few("estimated "+q.String(), 0, 3, 150)
	}
	for range few("sensors", 0, 1, 2) {
		r.Sensors = append(r.Sensors, drawSensor(rt, name))
	}
	return r
}
