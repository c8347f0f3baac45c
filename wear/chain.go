package wear

import "math"

// Pitch is the pitch of a bicycle chain in mm: half an inch.
const Pitch = 12.7

// PitchDiameter is the diameter in mm of the circle through the chain's pins
// on a wheel of z teeth: p / sin(180° / z) (ISO 606, annex A).
func PitchDiameter(z int) float64 { return Pitch / math.Sin(math.Pi/float64(z)) }

// PercentElongated is by how much a length of chain, in mm, is longer than
// that many new pitches, in per cent of the new length.
func PercentElongated(mm float64, pitches int) float64 {
	nominal := float64(pitches) * Pitch
	return 100 * (mm - nominal) / nominal
}

// ChainTravel is how far, in metres, the chain runs in that many turns of the
// crank: turns × teeth × pitch. The polygon effect (0.16 % at 32 teeth between
// torque over radius and power over speed) is left out.
func ChainTravel(turns float64, ring int) float64 { return turns * float64(ring) * Pitch / 1000 }

// Articulation is the angle in degrees through which a link turns as it runs
// on to a wheel of z teeth.
func Articulation(z int) float64 { return 360 / float64(z) }

// WheelTurns is how often a small wheel on the chain turns: turns of the crank
// × teeth of the ring / its own teeth.
func WheelTurns(turns, ring, teeth float64) float64 { return turns * ring / teeth }
