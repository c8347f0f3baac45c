package ingest

import "math"

const (
	latest    = 4     // s: what a receiver evens out comes later than the cadence, up to so much
	lagApart  = 3     // s between the developments that are compared
	lagJump   = 0.1   // of a development: more is a shift, whatever the lag
	lagLooks  = 1_500 // places to compare at
	lagEnough = 100   // of them that must tell
)

// lag is by how many seconds the recorded speed comes after the cadence: the
// lag with which developments change least from moment to moment. Speeds from
// satellites are evened out and come late, those of a wheel sensor at once. On
// the one real ride with gear changes in the libraries' test data it is 3.5 s,
// and takes the right cog from 85 to 93 % of the steady time.
func (r *reducer) lag() float64 {
	stride := 1 + len(r.samples)/lagLooks
	var changes [latest + 1]float64
	best := 0
	for lag := range changes {
		change, told := r.change(float64(lag), stride)
		if told < lagEnough {
			return 0
		}
		if changes[lag] = change; change < changes[best] {
			best = lag
		}
	}
	if best == 0 || best == latest {
		return float64(best)
	}
	// The bottom of the parabola through the best and its neighbours.
	before, at, after := changes[best-1], changes[best], changes[best+1]
	return float64(best) + (before-after)/(2*(before-2*at+after))
}

// change is by how much developments change in lagApart, taken with a lag of
// the speed, and at how many places that could be told.
func (r *reducer) change(lag float64, stride int) (mean float64, told int) {
	sum := 0.0
	for i := 0; i+lagApart < len(r.samples); i += stride {
		j := i + lagApart
		if !r.spins(i) || !r.spins(j) || r.t[j]-r.t[i] > 2*lagApart || r.t[len(r.t)-1]-r.t[j] < latest {
			continue
		}
		was := r.speedAt(i, lag) * r.samples[j].Cadence
		is := r.speedAt(j, lag) * r.samples[i].Cadence
		if !(was > 0 && is > 0) {
			continue
		}
		sum += min(math.Abs(is-was)/max(is, was), lagJump)
		told++
	}
	return sum / float64(max(told, 1)), told
}

// speedAt is the speed that was recorded some seconds after sample i; NaN where
// nothing was.
func (r *reducer) speedAt(i int, later float64) float64 {
	at := r.t[i] + later
	k := i
	for k+1 < len(r.t) && r.t[k] < at {
		if k++; r.cut[k] || r.t[k]-r.t[k-1] > steadyFar {
			return math.NaN()
		}
	}
	switch {
	case r.t[k] < at:
		return math.NaN()
	case r.t[k] == at:
		return r.v[k]
	}
	share := (at - r.t[k-1]) / (r.t[k] - r.t[k-1])
	return r.v[k-1] + share*(r.v[k]-r.v[k-1])
}
