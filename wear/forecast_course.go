package wear

import "math"

// How far the wear to come may leave the line of the readings: see drift.
const (
	driftSD = 0.25
	speedSD = 0.3 // of the logarithm of chainFaster

	speedLeast = 0.4 // share of it that a reading near the limit still has
)

// course is how one part wears on one bike: a line of straight wear over load.
type course struct {
	prior    prior
	evidence evidence
	gait     gait
	last     float64    // load of the last reading
	post     *posterior // nil where nothing was read on this bike
	curve    *curve     // of the load at which the limit is reached; nil until crossed
}

// read reports whether the course rests on readings of this bike.
func (c *course) read() bool { return len(c.evidence.exact)+len(c.evidence.gauged) > 0 }

// work fits the line and finds the crossing.
func (c *course) work() {
	c.fit()
	c.cross()
}

// cross finds the crossing of what was fitted; without a reading that is the
// prior's, of which most parts share one.
func (c *course) cross() {
	if !c.read() {
		c.curve = c.prior.unread(c.gait.limit)
		return
	}
	c.curve = c.post.crossing(c.gait.limit, c.drift())
}

// fit fits the line to what was read.
func (c *course) fit() {
	if !c.read() {
		return
	}
	for _, r := range c.evidence.exact {
		c.last = max(c.last, r.load)
	}
	for _, r := range c.evidence.gauged {
		c.last = max(c.last, r.load)
	}
	c.post = c.prior.fit(&c.evidence)
}

// drift widens the range with the way that lies past the last reading, as far
// as the readings say more than the prior: that one has it already.
func (c *course) drift() drift {
	told := 1 - c.post.axisVar/(c.prior.rateSD*c.prior.rateSD)
	if !(told > 0) {
		return drift{}
	}
	d := drift{from: c.last, sd: driftSD * math.Sqrt(told)}
	if over := c.gait.limit - c.gait.knee; over > 0 {
		now, _ := c.post.wear(c.last)
		d.speed = speedSD * math.Sqrt(told) * over / max(over, c.gait.limit-now)
	}
	return d
}

// surelyShort reports whether the limit is, as likely as not, not reached at a load,
// by a bound that needs no crossing: that wear lies 1.3 standard deviations above
// its mean has a chance of at most 1/(1+1.3²) (F. P. Cantelli), and of what drift makes
// of the way past the last reading all but the outermost node is within the load
// asked about. False says nothing.
func (c *course) surelyShort(load float64) bool {
	if c.post == nil {
		return false
	}
	d := c.drift()
	if load > d.from && (d.sd != 0 || d.speed != 0) {
		load = d.from + math.Exp(nodes5[3]*d.spread(load))*(load-d.from)
	}
	mean, sd := c.post.wear(load)
	return mean+1.3*sd < c.gait.limit
}
