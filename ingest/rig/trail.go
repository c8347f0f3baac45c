package rig

import (
	"math"
	"math/rand/v2"
)

const (
	grid     = 2.0 // m of plan distance between two points of a trail
	sideways = 4.0 // m/s² that a rider takes in a corner (common practice, no published source)
	slowing  = 2.0 // m/s² at which he brakes ahead of one
	flatOut  = 9.0 // m/s that he allows himself at best
)

// trail is a closed loop: tables over plan distance, one point each grid
// metres, the last the same as the first.
type trail struct {
	length   float64 // m
	slope    []float64
	limit    []float64 // m/s that the rider allows himself
	lat, lon []float64 // degrees
	low      float64   // where the loop is lowest and highest, m along it
	high     float64
	relief   float64 // m between the two
}

// wave is one part of a periodic curve: amp·sin(2π·turns·x + phase), x from 0 to 1.
type wave struct{ amp, turns, phase float64 }

type curve []wave

func (c curve) at(x float64) float64 {
	var y float64
	for _, w := range c {
		y += w.amp * math.Sin(2*math.Pi*w.turns*x+w.phase)
	}
	return y
}

// newTrail lays out the loop that the spec's Trail seeds.
func newTrail(s Spec) *trail {
	rng := rand.New(rand.NewPCG(s.Trail, 1))
	points := 3000 + rng.IntN(2000)
	if s.Uplifts > 0 {
		points += 2000 // a lift is worth building on a high hill only
	}
	t := &trail{length: float64(points) * grid}
	t.rise(s.Hills, rng)
	heading := t.wind(s.Place, rng)
	if s.Indoor {
		t.limit = make([]float64, points+1)
		for i := range t.limit {
			t.limit[i] = 20
		}
		return t
	}
	t.pace(heading, rng)
	return t
}

// waves adds n waves of the given amplitude, with wavelengths between short and
// long in metres; step 2 keeps the turns even.
func (t *trail) waves(c curve, n int, amp, short, long float64, step float64, rng *rand.Rand) curve {
	for range n {
		length := short * math.Pow(long/short, rng.Float64())
		turns := step * max(1, math.Round(t.length/length/step))
		c = append(c, wave{amp * (0.6 + 0.8*rng.Float64()), turns, 2 * math.Pi * rng.Float64()})
	}
	return c
}

// rise shapes the hills: a few long climbs under shorter rolls, scaled so that
// a lap climbs the wanted metres per km.
func (t *trail) rise(hills float64, rng *rand.Rand) {
	shape := t.waves(nil, 4, 1, 1500, t.length, 1, rng)
	shape = t.waves(shape, 5, 0.5, 150, 800, 1, rng)
	n := int(t.length / grid)
	t.slope = make([]float64, n+1)
	var up float64
	for i := range t.slope {
		t.slope[i] = shape.at(float64(i) / float64(n))
		if i < n {
			up += max(0, t.slope[i])
		}
	}
	scale := hills / 1000 * float64(n) / up
	var height, lowest, highest float64
	for i := range t.slope {
		t.slope[i] *= scale
		if height < lowest {
			lowest, t.low = height, float64(i)*grid
		}
		if height > highest {
			highest, t.high = height, float64(i)*grid
		}
		height += t.slope[i] * grid
	}
	t.relief = highest - lowest
}

// wind lays the loop out on the ground. A heading that turns by half a circle
// over half of the length, with waves that repeat in each half, comes back
// exactly to where it began.
func (t *trail) wind(start Place, rng *rand.Rand) (heading []float64) {
	bends := t.waves(nil, 3, 0.7, 1500, t.length/2, 2, rng)
	bends = t.waves(bends, 5, 0.35, 60, 250, 2, rng)
	n := int(t.length / grid)
	first := 2 * math.Pi * rng.Float64()
	heading = make([]float64, n+1)
	for i := range heading {
		x := float64(i) / float64(n)
		heading[i] = first + 2*math.Pi*x + bends.at(x)
	}
	t.lat, t.lon = make([]float64, n+1), make([]float64, n+1)
	t.lat[0], t.lon[0] = start.Lat, start.Lon
	for i := range n {
		sin, cos := math.Sincos((heading[i] + heading[i+1]) / 2)
		north, east := perMetre(t.lat[i])
		t.lat[i+1] = t.lat[i] + grid*cos*north
		t.lon[i+1] = t.lon[i] + grid*sin*east
	}
	return heading
}

// perMetre is how many degrees of latitude and of longitude a metre is, by the
// radii of curvature of WGS84.
func perMetre(lat float64) (north, east float64) {
	const a, e2 = 6378137.0, 0.00669437999014
	sin, cos := math.Sincos(lat * math.Pi / 180)
	w := math.Sqrt(1 - e2*sin*sin)
	return 180 / math.Pi * w * w * w / (a * (1 - e2)), 180 / math.Pi * w / (a * cos)
}

// pace sets the speed that the rider allows himself: by corner, by how rough
// the ground is where it falls, and by what he can still brake for.
func (t *trail) pace(heading []float64, rng *rand.Rand) {
	rough := t.waves(nil, 2, 0.5, 300, 1200, 1, rng)
	n := len(heading) - 1
	t.limit = make([]float64, n+1)
	for i := range n {
		bend := math.Abs(heading[i+1]-heading[i]) / grid
		top := min(flatOut, math.Sqrt(sideways/max(bend, 1e-3)))
		if steep := -t.slope[i] - 0.03; steep > 0 {
			top = min(top, flatOut-(15+35*math.Abs(rough.at(float64(i)/float64(n))))*steep)
		}
		t.limit[i] = max(top, 2.5)
	}
	t.limit[n] = t.limit[0]
	for range 2 { // the second time round the start is known
		for i := n - 1; i >= 0; i-- {
			t.limit[i] = min(t.limit[i], math.Sqrt(t.limit[i+1]*t.limit[i+1]+2*slowing*grid))
		}
		t.limit[n] = t.limit[0]
	}
}

// at reads a table at a distance along the loop.
func (t *trail) at(table []float64, s float64) float64 {
	i, part := t.index(s)
	return table[i] + part*(table[i+1]-table[i])
}

func (t *trail) index(s float64) (int, float64) {
	s = math.Mod(s, t.length)
	i := min(int(s/grid), len(t.slope)-2)
	return i, s/grid - float64(i)
}

// on reports the plan distance from a to b along the loop, going forward.
func (t *trail) on(a, b float64) float64 {
	return math.Mod(b-a+t.length, t.length)
}
