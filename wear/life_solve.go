package wear

import "math"

// fitLife finds the greatest likelihood: for each shape the best scale, of
// these the best shape.
func fitLife(obs []lifeObs) (*lifeFit, error) {
	f := &lifeFit{obs: obs}
	for i := range obs {
		f.failures += boolInt(obs[i].failed)
	}
	if !f.bounded() {
		return nil, &LifeError{"every failure was found at the part's first look, so none says how long they last at least", "look at such parts more often"}
	}
	if f.centre(); !f.inside() {
		return nil, errCoarse
	}
	p := f.at(f.m, f.shape)
	f.logLik = p.logLik
	if !f.covariance() {
		return nil, errCoarse
	}
	return f, nil
}

var errCoarse = &LifeError{"the ends lie in so few places that any spread of life fits them", "look at such parts more often, or wait for more of them to end"}

// bounded reports whether anything keeps the scale from falling to nothing:
// some load that a part is known to have lasted.
func (f *lifeFit) bounded() bool {
	for i := range f.obs {
		if o := &f.obs[i]; !o.found || o.good > o.entry {
			return true
		}
	}
	return false
}

// scale is the best ln scale for a shape. The likelihood is concave in the
// hazard's rate, so its slope has one root; for ends that are exact or censored
// that is η^β = Σ t^β / failures.
func (f *lifeFit) scale(shape float64) float64 {
	top := math.Inf(-1)
	for i := range f.obs {
		top = max(top, f.obs[i].load)
	}
	sum, failed, found := 0.0, 0, false
	for i := range f.obs {
		o := &f.obs[i]
		sum += math.Exp(shape*(o.load-top)) - math.Exp(shape*(o.entry-top))
		failed += boolInt(o.failed)
		found = found || o.found
	}
	m := top + math.Log(sum/float64(failed))/shape
	if !found {
		return m
	}
	return climb(func(m float64) float64 { return f.at(m, shape).dm }, m, 1/shape)
}

// nShapes is how many shapes are tried before the best is refined.
const nShapes = 17

func shapeAt(i int) float64 {
	return leastShape * math.Pow(mostShape/leastShape, float64(i)/(nShapes-1))
}

// centre sets shape and scale to the best ones.
func (f *lifeFit) centre() {
	best, most := 0, math.Inf(-1)
	for i := range nShapes {
		if l := f.at(f.scale(shapeAt(i)), shapeAt(i)).logLik; l > most {
			best, most = i, l
		}
	}
	slope := func(shape float64) float64 { return f.at(f.scale(shape), shape).dshape }
	f.shape = root(slope, shapeAt(max(0, best-1)), shapeAt(min(nShapes-1, best+1)), enough)
	f.m = f.scale(f.shape)
}

// inside reports whether the best shape is one that the data chose.
func (f *lifeFit) inside() bool {
	return f.shape > shapeAt(0)*1.001 && f.shape < shapeAt(nShapes-1)/1.001
}

// covariance inverts the observed information; ok is false where the
// likelihood is flat.
func (f *lifeFit) covariance() bool {
	dm, ds := 1e-5/f.shape, 1e-5*f.shape
	up, down := f.at(f.m+dm, f.shape), f.at(f.m-dm, f.shape)
	wide, tight := f.at(f.m, f.shape+ds), f.at(f.m, f.shape-ds)
	mm := -(up.dm - down.dm) / (2 * dm)
	ss := -(wide.dshape - tight.dshape) / (2 * ds)
	ms := -((up.dshape-down.dshape)/(2*dm) + (wide.dm-tight.dm)/(2*ds)) / 2
	det := mm*ss - ms*ms
	if !(mm > 0 && ss > 0 && det > 1e-9*mm*ss) {
		return false
	}
	f.cov = [2][2]float64{{ss / det, -ms / det}, {-ms / det, mm / det}}
	return true
}

// climb finds where a slope that falls from above nothing to below it is
// nothing, walking from x.
func climb(slope func(float64) float64, x, step float64) float64 {
	lo := end{x, slope(x)}
	hi := lo
	for lo.f < 0 && x-lo.x < 1e4*step {
		lo = endAt(slope, lo.x-1.6*(x-lo.x+step/8))
	}
	for hi.f > 0 && hi.x-x < 1e4*step {
		hi = endAt(slope, hi.x+1.6*(hi.x-x+step/8))
	}
	return rootIn(slope, lo, hi, fine)
}

// end is an end of a stretch in which a function is nothing somewhere, and what it
// is there: to work that out takes all units.
type end struct{ x, f float64 }

func endAt(f func(float64) float64, x float64) end { return end{x, f(x)} }

// fine and enough are how near root comes to the place, relative to it: enough
// where the likelihood is flat, so that an error there counts by its square.
const (
	fine   = 1e-12
	enough = 1e-8
)

// root finds where f changes its sign between lo and hi: regula falsi (the
// Illinois variant), every fourth step a bisection. Where it does not
// change, the end nearer to nothing is returned.
func root(f func(float64) float64, lo, hi, near float64) float64 {
	return rootIn(f, endAt(f, lo), endAt(f, hi), near)
}

// rootIn is root where f is known at both ends.
func rootIn(f func(float64) float64, lo, hi end, near float64) float64 {
	if lo.f*hi.f > 0 {
		if math.Abs(lo.f) < math.Abs(hi.f) {
			return lo.x
		}
		return hi.x
	}
	for side, i := 0, 0; i < 200 && hi.x-lo.x > near*(1+math.Abs(lo.x)+math.Abs(hi.x)); i++ {
		x := lo.x + (hi.x-lo.x)*lo.f/(lo.f-hi.f)
		if i%4 == 3 || !(x > lo.x && x < hi.x) {
			x = lo.x + (hi.x-lo.x)/2
		}
		at := endAt(f, x)
		switch {
		case at.f == 0:
			return x
		case at.f*lo.f > 0:
			if lo = at; side < 0 {
				hi.f /= 2
			}
			side = -1
		default:
			if hi = at; side > 0 {
				lo.f /= 2
			}
			side = 1
		}
	}
	return lo.x + (hi.x-lo.x)/2
}
