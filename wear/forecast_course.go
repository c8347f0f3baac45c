package wear

import "math"

// What a part's wear is taken to be before anything was read of it (common
// practice, no published source).
const (
	rateSpread     = 0.45 // of ln rate
	rateUnmarked   = 0.6  // where the ground is unmarked
	rateGuessed    = 0.9  // where the schedule does not say what such a part lasts
	chainStart     = 0.06 // %: a new chain reads a little, and beds in
	chainStartSD   = 0.05
	chainUsed      = 0.25 // %: a used one of which nothing is known
	chainUsedSD    = 0.2
	startShare     = 0.15 // of the way to the limit: how far other new parts differ
	usedShare      = 1.0 / 3
	usedShareSD    = 4.0 / 15
	usedRateSpread = 0.6 // of what an earlier owner's riding did for its load
)

// How far the wear to come may leave the line of the readings: see drift.
const (
	driftSD = 0.24
	speedSD = 0.3 // of the logarithm of chainFaster
)

// course is how one part wears on one bike: a line of straight wear over load.
type course struct {
	prior    prior
	evidence evidence
	gait     gait
	limit    float64 // straight wear at the limit
	last     float64 // load of the last reading
	post     *posterior
	curve    *curve // of the load at which the limit is reached
}

// work fits the line and finds the crossing.
func (c *course) work() {
	for _, r := range c.evidence.exact {
		c.last = max(c.last, r.load)
	}
	for _, r := range c.evidence.gauged {
		c.last = max(c.last, r.load)
	}
	c.post = c.prior.fit(&c.evidence)
	c.curve = c.post.crossing(c.limit, c.drift())
}

// drift widens the range with the way that lies past the last reading, as far
// as the readings say more than the prior: that one has it already.
func (c *course) drift() drift {
	told := 1 - c.post.axisVar/(c.prior.rateSD*c.prior.rateSD)
	if !(told > 0) {
		return drift{}
	}
	d := drift{from: c.last, sd: driftSD * math.Sqrt(told)}
	if over := c.limit - c.gait.knee; over > 0 {
		now, _ := c.post.wear(c.last)
		d.speed = speedSD * math.Sqrt(told) * over / max(over, c.limit-now)
	}
	return d
}
