package ingest

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/wear"
)

// loop is an invented ride of n seconds with every sensor: two hills, a shift
// now and then, coasting where it goes down.
func loop(n int) *Track {
	chance := rand.New(rand.NewPCG(11, 12))
	way := 0.0
	return trackOf(n, func(i int, s *Sample) {
		slope := 0.08 * math.Sin(float64(i)/400)
		s.Speed = 4.5 - 25*slope + 0.1*chance.NormFloat64()
		way += s.Speed
		s.Dist = way
		s.Alt = 700 + 150*(1-math.Cos(float64(i)/400)) + 0.1*chance.NormFloat64()
		eastward(s, way)
		if s.Cadence, s.Power = 0, 0; slope > -0.03 {
			s.Cadence = 60 + float64(i/200%5)*5
			s.Power = 120 + 2000*max(slope, 0)
		}
	})
}

// silenced is a copy of the track with some fields silenced.
func silenced(t *Track, fn func(s *Sample)) *Track {
	c := *t
	c.Samples = append([]Sample(nil), t.Samples...)
	for i := range c.Samples {
		fn(&c.Samples[i])
	}
	return &c
}

func total(o Outcome) wear.Load { return o.Recorded.Add(o.Estimated) }

func TestReduceEverything(t *testing.T) {
	out := Reduce(loop(7201), Model{})
	assert.Zero(t, out.Lacking)
	assert.Empty(t, out.Notes)
	for q := range wear.NQuantities {
		if q == wear.Braking {
			assert.Positive(t, out.Estimated[q])
			continue
		}
		assert.Positive(t, out.Recorded[q], q)
		assert.Zero(t, out.Estimated[q], q)
	}
	assert.Equal(t, int64(7_200_000), out.Elapsed)
}

// A ride split in two gives about the same: what a window, a mean or a turning
// point loses at the cut is small.
func TestSplitInTwo(t *testing.T) {
	whole := loop(7201)
	cases := map[string]*Track{
		"recorded":   whole,
		"no cadence": silenced(whole, func(s *Sample) { s.Cadence = nan }),
		"no sensors": silenced(whole, func(s *Sample) { s.Cadence, s.Power = nan, nan }),
		"positions":  silenced(whole, func(s *Sample) { s.Cadence, s.Power, s.Dist, s.Speed = nan, nan, nan, nan }),
	}
	for name, tr := range cases {
		t.Run(name, func(t *testing.T) {
			want := total(Reduce(tr, Model{}))
			for _, at := range []int{100, 2000, 3600, 5555} {
				a, b := *tr, *tr
				a.Samples, b.Samples = tr.Samples[:at+1], tr.Samples[at:]
				got := total(Reduce(&a, Model{})).Add(total(Reduce(&b, Model{})))
				for q := range wear.NQuantities {
					assert.InEpsilon(t, want.SI(q), got.SI(q), 0.02, "%v at %d", q, at)
				}
			}
		})
	}
}

func TestOrderOfSamplesDoesNotMatter(t *testing.T) {
	tr := loop(1001)
	tr.Breaks = []int{300, 700}
	want := Reduce(tr, Model{})
	mixed := *tr
	order := rand.New(rand.NewPCG(13, 14)).Perm(len(tr.Samples))
	mixed.Samples, mixed.Breaks = make([]Sample, len(order)), nil
	for from, to := range order {
		mixed.Samples[to] = tr.Samples[from]
		if from == 300 || from == 700 {
			mixed.Breaks = append(mixed.Breaks, to)
		}
	}
	before := append([]Sample(nil), mixed.Samples...)
	assert.Equal(t, want, Reduce(&mixed, Model{}))
	assert.Equal(t, before[:10], mixed.Samples[:10], "the track is not changed")
}

// The columns are used again for the next ride: nothing may be left in them.
func TestNothingLeaksFromRideToRide(t *testing.T) {
	a, b := loop(3001), silenced(loop(2001), func(s *Sample) { s.Cadence, s.Power, s.Alt = nan, nan, nan })
	b.Breaks = []int{5, 6, 1000}
	wantA, wantB := Reduce(a, Model{}), Reduce(b, Model{})
	for range 5 {
		require.Equal(t, wantA, Reduce(a, Model{}))
		require.Equal(t, wantB, Reduce(b, Model{}))
	}
}

// More mass means more work and more braking, by the share that gravity,
// rolling and inertia have in them, and the same way, time and turns.
func TestMassScales(t *testing.T) {
	tr := silenced(loop(7201), func(s *Sample) { s.Power = nan })
	weight := func(kg float64) Outcome { return Reduce(tr, Model{RiderMass: kg - 15, BikeMass: 15, CdA: 0.1}) }
	light, heavy := weight(80), weight(160)
	for _, q := range []wear.Quantity{wear.Work, wear.Braking} {
		assert.InEpsilon(t, 2*light.Estimated.SI(q), heavy.Estimated.SI(q), 0.12, q)
	}
	for _, q := range []wear.Quantity{wear.Distance, wear.Climb, wear.Descent, wear.Moving, wear.Turns} {
		assert.Equal(t, light.Recorded[q], heavy.Recorded[q], q)
	}
}

// sensorValue is what a broken sensor may say.
func sensorValue() *rapid.Generator[float64] {
	return rapid.OneOf(
		rapid.Float64Range(-10, 500), rapid.Float64(),
		rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 255, 65535, math.MaxFloat64, -1e300}),
	)
}

// garbage is a track of whatever a file may hold.
func garbage(t *rapid.T) *Track {
	x := sensorValue()
	when := rapid.OneOf(
		rapid.Int64Range(1_700_000_000_000, 1_700_000_100_000), rapid.Int64(),
		rapid.SampledFrom([]int64{math.MinInt64, math.MaxInt64, 0}),
	)
	tr := &Track{
		Indoor: rapid.Bool().Draw(t, "indoor"), Start: when.Draw(t, "start"), End: when.Draw(t, "end"),
		Breaks: rapid.SliceOfN(rapid.IntRange(-3, 60), 0, 4).Draw(t, "breaks"),
		Totals: Totals{x.Draw(t, "d"), x.Draw(t, "c"), x.Draw(t, "e"), x.Draw(t, "m"), x.Draw(t, "t"), x.Draw(t, "w")},
	}
	for range rapid.IntRange(0, 50).Draw(t, "n") {
		tr.Samples = append(tr.Samples, Sample{
			T: when.Draw(t, "T"), Lat: x.Draw(t, "lat"), Lon: x.Draw(t, "lon"), Alt: x.Draw(t, "alt"),
			Dist: x.Draw(t, "dist"), Speed: x.Draw(t, "speed"), Cadence: x.Draw(t, "cadence"), Power: x.Draw(t, "power"),
		})
	}
	for range rapid.IntRange(0, 3).Draw(t, "pauses") {
		tr.Pauses = append(tr.Pauses, Pause{when.Draw(t, "from"), when.Draw(t, "to")})
	}
	for range rapid.IntRange(0, 3).Draw(t, "shifts") {
		tr.Shifts = append(tr.Shifts, Shift{T: when.Draw(t, "at"), Front: rapid.Byte().Draw(t, "f"), Rear: rapid.Byte().Draw(t, "r")})
	}
	return tr
}

// Whatever a file holds, every figure is finite and none is below zero; no
// ride lowers a count.
func TestGarbageNeverBreaksASum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := sensorValue()
		m := Model{
			x.Draw(t, "rider"), x.Draw(t, "bike"), x.Draw(t, "crr"), x.Draw(t, "cda"),
			wear.Motor(rapid.IntRange(0, 2).Draw(t, "motor")), rapid.Bool().Draw(t, "ignore"),
			wear.Uplift(rapid.IntRange(0, 2).Draw(t, "uplift")),
		}
		sound(t, Reduce(garbage(t), m))
		sound(t, Typed(Given{x.Draw(t, "km"), x.Draw(t, "up"), x.Draw(t, "down"), x.Draw(t, "h")}, m, wear.Usual{}))
	})
}

func sound(t assert.TestingT, out Outcome) {
	const most = int64(2e12)
	for q := range wear.NQuantities {
		for _, v := range []int64{out.Recorded[q], out.Estimated[q]} {
			assert.True(t, v >= 0 && v < most, "%v: %d", q, v)
		}
		if out.Lacking.Has(q) {
			assert.Zero(t, out.Estimated[q], "%v is lacking", q)
		}
	}
	assert.GreaterOrEqual(t, out.Elapsed, int64(0))
	for _, list := range [][]wear.Gear{out.Gears.ByDevelopment, out.Gears.ByNumber} {
		for k, g := range list {
			assert.True(t, g.Turns >= 0 && g.Turns < most && g.Work >= 0 && g.Work < most, "%v", g)
			assert.True(t, k == 0 || list[k-1].Bin < g.Bin, "sorted")
		}
	}
	for _, note := range out.Notes {
		assert.NotContains(t, note, "NaN")
		assert.NotContains(t, note, "Inf")
	}
}

// Gears hold no more than the ride.
func TestGearsAreWithinTheRide(t *testing.T) {
	out := Reduce(loop(7201), Model{})
	var turns, work int64
	for _, g := range out.Gears.ByDevelopment {
		turns, work = turns+g.Turns, work+g.Work
	}
	assert.LessOrEqual(t, turns, out.Recorded[wear.Turns])
	assert.LessOrEqual(t, work, out.Recorded[wear.Work])
	assert.Greater(t, float64(turns), 0.9*float64(out.Recorded[wear.Turns]))
}

func TestModelOf(t *testing.T) {
	m := ModelOf(wear.Bike{})
	assert.Equal(t, Model{RiderMass: 85, BikeMass: 15, Crr: 0.025, CdA: 0.5}, m)
	m = ModelOf(wear.Bike{RiderMass: 70, Mass: 13.5, Crr: 0.02, CdA: 0.45, Wheel: 2.3, Motor: wear.MidMotor})
	assert.Equal(t, Model{RiderMass: 70, BikeMass: 13.5, Crr: 0.02, CdA: 0.45, Motor: wear.MidMotor}, m)
}

func BenchmarkReduce(b *testing.B) {
	full := loop(10_000)
	bench := map[string]*Track{
		"every sensor": full,
		"positions":    silenced(full, func(s *Sample) { s.Cadence, s.Power, s.Dist, s.Speed = nan, nan, nan, nan }),
		"lifts": ride(part{1000, 5, 0.02, nan}, part{1500, 5, 0.2, nan}, part{2500, 7, -0.1, nan},
			part{1500, 5, 0.2, nan}, part{2500, 7, -0.1, nan}, part{1000, 5, 0.02, nan}),
	}
	for name, tr := range bench {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Reduce(tr, Model{})
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(tr.Samples)), "ns/sample")
		})
	}
}
