package wear

import "math"

// roughlyShort reports whether the limit of a part that was measured is, as likely
// as not, not reached today, by a bound that needs no fit, neither of the part nor of
// those before it. False says nothing. Below its mode, see atMost, lies half of the
// rate's distribution at least; half a standard deviation further up, seven tenths;
// a start one and a half above its own mean has a
// chance of a fifteenth; drift is taken as surelyShort has it.
func (a *assessor) roughlyShort(p *partView) bool {
	d := a.drafted(p)
	if d == nil || !d.plain() {
		return false
	}
	c := &d.list[0]
	push, ok := a.mostLearnt(p, &c.prior)
	if !ok {
		return false
	}
	last := 0.0
	for _, r := range c.evidence.exact {
		last = max(last, r.load)
	}
	m := c.prior.marginal(&c.evidence)
	mode := m.atMost(c.prior.rate+push, ownSpread*ownSpread)
	rate := math.Exp(mode + 0.5/math.Sqrt(m.bend(mode)+1/(c.prior.rateSD*c.prior.rateSD)))
	most := drift{from: last, sd: driftSD}
	if c.gait.limit > c.gait.knee {
		most.speed = speedSD
	}
	load := last + math.Exp(nodes5[3]*most.spread(c.now))*(c.now-last)
	return c.now > last && m.mid+(m.slope+load)*rate+1.5*m.sd < c.gait.limit
}

// plain reports whether a part was on one bike only, came new and was read by
// tools that give a figure.
func (d *draft) plain() bool {
	return len(d.list) == 1 && !d.legs[0].used() && len(d.list[0].evidence.exact) > 0 && len(d.list[0].evidence.gauged) == 0
}

// atMost is a place of ln rate that its mode does not lie above, with a prior of a
// mean and at least a variance. Neither do the mean and the median: the density of
// exact readings over ln rate falls faster above the mode than below it. Where the
// readings' own rate is above the prior's mean, it is that; else from the prior's
// mean down by Newton's rule, which on a convex slope stays above what it looks for.
func (m *marginal) atMost(mean, variance float64) float64 {
	if !(m.s > 0) {
		return mean
	}
	if m.middle > 0 && math.Log(m.middle) >= mean {
		return math.Log(m.middle)
	}
	t := mean
	for range 6 {
		b := math.Exp(t)
		t -= (m.s*(b-m.middle)*b + (t-mean)/variance) / (m.bend(t) + 1/variance)
	}
	return t
}

// bend is how fast the readings' part of the slope of the density falls at a place
// of ln rate.
func (m *marginal) bend(t float64) float64 {
	if !(m.s > 0) {
		return 0
	}
	b := math.Exp(t)
	return m.s * b * (2*b - m.middle)
}

// mostLearnt is by how much earlier parts can move the mean of a prior up at most;
// ok is false where that needs a fit. With w₀ and w what prior and readings of one
// know, and a the mean of its ln rate above the prior's, learnt gives it the weight
// w/(1+ow) and the mean a(1+w₀/w), o what parts of a bike differ by: a product of at
// most a times the weight and w₀ together.
func (a *assessor) mostLearnt(p *partView, prior *prior) (push float64, ok bool) {
	var sum float64
	for _, v := range a.forebears(p) {
		d := a.drafted(v)
		if d == nil {
			continue
		}
		if !d.plain() || d.list[0].prior.rate != prior.rate {
			return 0, false
		}
		c := &d.list[0]
		m, known := c.prior.marginal(&c.evidence), c.prior.rateSD*c.prior.rateSD
		above := max(0, m.atMost(prior.rate, known)-prior.rate)
		push = max(push, above)
		sum += above / known
	}
	return max(push, sum*(prior.rateSD*prior.rateSD-ownSpread*ownSpread)), true
}
