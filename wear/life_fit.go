package wear

import "math"

// lifeObs is a unit as the likelihood takes it: natural logarithms of loads,
// −Inf for none.
type lifeObs struct {
	load, good, entry float64
	failed, found     bool
}

func observe(units []Unit) []lifeObs {
	obs := make([]lifeObs, len(units))
	for i, u := range units {
		o := lifeObs{load: math.Log(u.Load), entry: math.Log(u.Entry), failed: u.failed()}
		o.good = max(math.Log(u.Good), o.entry) // it was known to run when it came
		o.found = u.failed() && u.Found && o.good < o.load-leastGap
		obs[i] = o
	}
	return obs
}

// lifeFit is the distribution of greatest likelihood, its parameters m = ln
// scale and shape.
type lifeFit struct {
	obs      []lifeObs
	failures int
	m, shape float64
	logLik   float64
	cov      [2][2]float64 // of m and shape
}

// leastGap is the gap, in the logarithm of load, below which wear found at a
// look is taken as come then.
const leastGap = 1e-9

// Shapes between which the likelihood is searched. Lives of a shape below 0.2
// or above 50 have not been seen (common practice): there the data do not tell.
const (
	leastShape = 0.05
	mostShape  = 100
)

// point is the likelihood at one place and its slopes.
type point struct{ logLik, dm, dshape float64 }

// hazard is the cumulated hazard (t/η)^β at ln t − ln η = x, and x times it.
// Far from the data it is held within what a float can carry.
func hazard(x, shape float64) (h, xh float64) {
	if math.IsInf(x, -1) {
		return 0, 0
	}
	h = math.Exp(max(-600, min(600, shape*x)))
	return h, x * h
}

// at is the log-likelihood of all units and its slopes in m and shape.
func (f *lifeFit) at(m, shape float64) point {
	var p point
	lnShape := math.Log(shape)
	for i := range f.obs {
		p.add(&f.obs[i], m, shape, lnShape)
	}
	return p
}

// add adds one unit: ln of density where the end is exact, of survival where it
// is censored, of the difference of two survivals where wear was found at a
// look; divided by the survival to its entry.
func (p *point) add(o *lifeObs, m, shape, lnShape float64) {
	if !math.IsInf(o.entry, -1) {
		p.lasted(o.entry-m, shape, +1)
	}
	switch x := o.load - m; {
	case o.found:
		goodH := p.lasted(o.good-m, shape, -1)
		p.foundBetween(o.good-m, goodH, x, shape)
	case o.failed:
		p.logLik += lnShape + shape*x - o.load
		p.dm -= shape
		p.dshape += 1/shape + x
		p.lasted(x, shape, -1)
	default:
		p.lasted(x, shape, -1)
	}
}

// lasted adds sign times the cumulated hazard at x, and returns x times it.
func (p *point) lasted(x, shape, sign float64) float64 {
	h, xh := hazard(x, shape)
	p.logLik += sign * h
	p.dm -= sign * shape * h
	p.dshape += sign * xh
	return xh
}

// foundBetween adds ln(1 − e^−D), D being the hazard from one place to the other;
// fromH is the first place times its hazard.
func (p *point) foundBetween(from, fromH, to, shape float64) {
	d, toH := hazard(to, shape)
	if !math.IsInf(from, -1) {
		d *= -math.Expm1(-shape * (to - from)) // not as a difference: it would lose its digits
	}
	k := 1 / math.Expm1(d)
	p.logLik += math.Log(-math.Expm1(-d))
	p.dm -= shape * d * k
	p.dshape += (toH - fromH) * k
}
