package ingest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// steadyFor is a stretch of one second at a steady speed on a grade (tangent).
func steadyFor(v, grade, rho float64) stretch {
	return stretch{dist: v, rise: v * math.Sin(math.Atan(grade)), v0: v, v1: v, cubes: v * v * v, rho: rho}
}

// Our own vectors from the published equation (Martin et al. 1998); bearings,
// which pawl leaves out, are added where a row has them.
func TestEnergyMeetsOwnVectors(t *testing.T) {
	for _, row := range checks(t, "power_own.csv") {
		m := Model{
			BikeMass: number(t, row, "m_kg"), Crr: number(t, row, "crr"),
			CdA: number(t, row, "cda") + number(t, row, "fw"),
		}
		wheel := m.energy(steadyFor(number(t, row, "v_ms"), number(t, row, "grade"), number(t, row, "rho")))
		want := number(t, row, "P_air") + number(t, row, "P_roll") + number(t, row, "P_grav")
		assert.InDelta(t, want, wheel, 1e-5, row)
		crank := number(t, row, "P_crank")
		wheel += number(t, row, "P_bearing")
		if crank < 0 { // not pedalling: the brakes' share is never divided
			assert.Zero(t, atCrank(wheel))
			continue
		}
		assert.InDelta(t, crank, wheel/(1-number(t, row, "loss")), 1e-4, row)
		assert.InEpsilon(t, wheel/0.96, atCrank(wheel), 1e-12)
	}
}

// The table of glasstetter.net/bikepower, 90 kg on the flat: within 1 W. Its
// K = ρ·CdA/2, Crr and efficiency were inferred from the table.
func TestEnergyMeetsThePublishedTable(t *testing.T) {
	m := Model{BikeMass: 90, Crr: 0.0047, CdA: 2 * 0.26684 / 1.2}
	for _, row := range checks(t, "power_published.csv") {
		v := number(t, row, "kph") / 3.6
		assert.InDelta(t, number(t, row, "P_pub"), m.energy(steadyFor(v, 0, 1.2))/0.95, 1, "%v km/h", row["kph"])
	}
}

// Standard atmosphere (ISO 2533): 1.2250, 1.1117, 1.0065 kg/m³ at 0, 1, 2 km.
func TestAir(t *testing.T) {
	assert.InDelta(t, 1.2250, air(0), 1e-4)
	assert.InDelta(t, 1.1117, air(1000), 1e-4)
	assert.InDelta(t, 1.0065, air(2000), 1e-4)
	assert.False(t, math.IsNaN(air(1e9)))
}

// climber rides for 1,000 s at 3 m/s up a slope of 8 %.
func climber(power float64) *Track {
	return trackOf(1001, func(i int, s *Sample) {
		rolled(i, s, 3, 0.08)
		s.Power = power
	})
}

func TestWorkRecorded(t *testing.T) {
	out := Reduce(climber(250), Model{})
	assert.Equal(t, int64(250_000), out.Recorded[wear.Work])
	assert.Zero(t, out.Estimated[wear.Work])

	tr := climber(250)
	tr.Totals.Work = 252_000
	assert.Equal(t, int64(252_000), Reduce(tr, Model{}).Recorded[wear.Work], "the device knows better")
	tr.Totals.Work = 500_000
	assert.Equal(t, int64(250_000), Reduce(tr, Model{}).Recorded[wear.Work], "but not by a factor of two")
}

func TestWorkEstimated(t *testing.T) {
	m := Model{RiderMass: 70, BikeMass: 15, Crr: 0.02, CdA: 0.45}
	out := Reduce(climber(nan), m)
	assert.Zero(t, out.Recorded[wear.Work])
	rise, way := 240.0, 3000.0
	want := (85*9.80665*rise + 85*9.80665*0.02*math.Sqrt(way*way-rise*rise) + 0.5*air(620)*0.45*9*way) / 0.96
	assert.InEpsilon(t, want, out.Estimated.SI(wear.Work), 0.01)

	heavy := m
	heavy.RiderMass += 85 // twice the mass: twice gravity and rolling, the same air
	more := Reduce(climber(nan), heavy).Estimated.SI(wear.Work) - out.Estimated.SI(wear.Work)
	assert.InEpsilon(t, want-0.5*air(620)*0.45*9*way/0.96, more, 0.01)
}

func TestWorkWithoutAltitudeComesFromPedalling(t *testing.T) {
	tr := trackOf(1001, func(i int, s *Sample) {
		rolled(i, s, 5, 0)
		s.Alt = nan
	})
	out := Reduce(tr, Model{})
	assert.InEpsilon(t, pedalShare*typicalPower*1000, out.Estimated.SI(wear.Work), 0.01)
	assert.InEpsilon(t, pedalShare*pedalRate*1000/60, out.Estimated.SI(wear.Turns), 0.01)
}

func TestAbsurdPowerIsLeftOut(t *testing.T) {
	tr := climber(250)
	for _, i := range []int{100, 101, 500} {
		tr.Samples[i].Power = 9999
	}
	tr.Samples[700].Power = math.Inf(1)
	out := Reduce(tr, Model{})
	assert.InDelta(t, 250_000, out.Recorded[wear.Work], 1, "a short silence repeats the last value")
}

func TestMotors(t *testing.T) {
	own := Reduce(climber(100), Model{})
	mid := Reduce(climber(100), Model{Motor: wear.MidMotor})
	assert.Equal(t, own.Recorded[wear.Work], mid.Recorded[wear.Work])
	assert.Equal(t, own.Recorded[wear.Work], mid.Estimated[wear.Work])
	guess := Reduce(climber(nan), Model{})
	hub := Reduce(climber(nan), Model{Motor: wear.HubMotor})
	assert.InDelta(t, float64(guess.Estimated[wear.Work])/2, float64(hub.Estimated[wear.Work]), 1)
	require.Equal(t, guess.Estimated[wear.Turns], hub.Estimated[wear.Turns])
}
