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
	lo, hi := x, x
	for slope(lo) < 0 && x-lo < 1e4*step {
		lo -= 1.6 * (x - lo + step/8)
	}
	for slope(hi) > 0 && hi-x < 1e4*step {
		hi += 1.6 * (hi - x + step/8)
	}
	return root(slope, lo, hi, fine)
}

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
	flo, fhi := f(lo), f(hi)
	if flo*fhi > 0 {
		if math.Abs(flo) < math.Abs(fhi) {
			return lo
		}
		return hi
	}
	for side, i := 0, 0; i < 200 && hi-lo > near*(1+math.Abs(lo)+math.Abs(hi)); i++ {
		x := lo + (hi-lo)*flo/(flo-fhi)
		if i%4 == 3 || !(x > lo && x < hi) {
			x = lo + (hi-lo)/2
		}
		fx := f(x)
		switch {
		case fx == 0:
			return x
		case fx*flo > 0:
			if lo, flo = x, fx; side < 0 {
				fhi /= 2
			}
			side = -1
		default:
			if hi, fhi = x, fx; side > 0 {
				flo /= 2
			}
			side = 1
		}
	}
	return lo + (hi-lo)/2
}
