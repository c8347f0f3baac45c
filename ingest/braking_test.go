package ingest

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func brakingOf(t *Track, m Model) float64 { return Reduce(t, m).Estimated.SI(wear.Braking) }

// massOnly is a model of nothing but mass.
func massOnly(kg float64) Model { return Model{BikeMass: kg, Crr: 1e-300, CdA: 1e-300} }

// The published examples (sources in the file), met by the energy that the
// brakes take.
func TestBrakingMeetsPublishedExamples(t *testing.T) {
	want := map[string]float64{}
	for _, row := range checks(t, "brake.csv") {
		want[row["case"]] = number(t, row, "value")
	}
	stop := massOnly(100).energy(stretch{dist: 20, v0: 10})
	assert.InDelta(t, want["KE 100 kg 10 m/s"], -stop, 1e-6)
	drop := 100 * math.Sin(math.Atan(0.1))
	assert.InDelta(t, want["drop over 100 m of 1-in-10 slope (m)"], drop, 1e-4)
	slope := massOnly(100).energy(stretch{dist: 100, rise: -drop})
	assert.InDelta(t, want["same with g0"], -slope, 0.01)
	const pound, foot = 0.45359237, 0.3048
	long := massOnly(200 * pound).energy(stretch{dist: 10_000, rise: -1500 * foot})
	assert.InDelta(t, want["200 lb x 1500 ft in 540 s (W)"], -long/540, 0.01)
}

// Where air alone holds the bike, the brakes heat most at 1/√3 of that speed,
// by 2/(3√3) of the power of gravity there (published: 58 %).
func TestBrakesHeatMostBelowTerminalSpeed(t *testing.T) {
	m := Model{BikeMass: 95, Crr: 1e-300, CdA: 0.5}
	const slope, rho = 0.1, 1.2
	top := math.Sqrt(95 * gravity * slope / (0.5 * rho * 0.5))
	best, at := 0.0, 0.0
	for v := 0.0; v < top; v += 0.001 * top {
		if p := -m.energy(stretch{dist: v, rise: -v * slope, v0: v, v1: v, cubes: v * v * v, rho: rho}); p > best {
			best, at = p, v/top
		}
	}
	for _, row := range checks(t, "brake.csv") {
		switch row["case"] {
		case "worst-heating speed fraction of terminal":
			assert.InDelta(t, number(t, row, "value"), at, 0.001)
		case "max brake power fraction of m*g*s*vT":
			assert.InDelta(t, number(t, row, "value"), best/(95*gravity*slope*top), 1e-4)
		}
	}
}

// descent is 1,000 m down a slope of 10 %, at a trail pace that swings.
func descent(noise float64) *Track {
	chance := rand.New(rand.NewPCG(7, 8))
	way := 0.0
	return trackOf(1501, func(i int, s *Sample) {
		s.Speed = 7 + 2*math.Sin(float64(i)/15)
		way += s.Speed
		s.Dist, s.Alt = way, 1500-0.1*way+noise*chance.NormFloat64()
	})
}

// About 0.5 MJ for 1,000 m of descent at 95 kg.
func TestBrakingOfADescent(t *testing.T) {
	m := Model{RiderMass: 80, BikeMass: 15}
	out := Reduce(descent(0.2), m)
	require.InDelta(t, 1050, out.Recorded.SI(wear.Descent), 10)
	perKm := out.Estimated.SI(wear.Braking) / out.Recorded.SI(wear.Descent) * 1000
	assert.InDelta(t, 500_000, perKm, 75_000)
	assert.InEpsilon(t, brakingOf(descent(0), m), out.Estimated.SI(wear.Braking), 0.03, "noise adds nothing")
	assert.Zero(t, out.Recorded[wear.Braking], "braking is always estimated")
}

// 0.2 m of altitude noise over 3 h on the flat makes less than 5 % of that.
func TestNoiseDoesNotBrake(t *testing.T) {
	m := Model{RiderMass: 80, BikeMass: 15}
	limit := 0.05 * brakingOf(descent(0), m)
	for name, v := range map[string]float64{"standing": 0, "crawling": 0.6, "walking": 1.2, "riding": 5, "fast": 9} {
		t.Run(name, func(t *testing.T) {
			chance := rand.New(rand.NewPCG(9, 10))
			flat := trackOf(3*3600, func(i int, s *Sample) {
				rolled(i, s, v, 0)
				s.Alt += 0.2 * chance.NormFloat64()
			})
			assert.Less(t, brakingOf(flat, m), limit)
		})
	}
}

// Ten stops on the flat, from 10 m/s in 10 s: half of m·v², less what rolling
// and air take on the way.
func TestStopsAreBraking(t *testing.T) {
	way := 0.0
	tr := trackOf(1201, func(i int, s *Sample) {
		switch in := i % 120; {
		case in < 40:
			s.Speed = 10 * float64(in) / 40
		case in < 90:
			s.Speed = 10
		case in < 100:
			s.Speed = float64(100 - in)
		}
		way += s.Speed
		s.Dist, s.Alt = way, 500+0.01*math.Sin(float64(i))
	})
	m := Model{RiderMass: 80, BikeMass: 15}
	kinetic, roll, drag := 0.5*95*10*10, 95*gravity*wear.DefaultCrr*50, 0.5*1.17*wear.DefaultCdA*2500
	assert.InEpsilon(t, 10*(kinetic-roll-drag), brakingOf(tr, m), 0.25)
}
