package wear

import "math"

// seasonSpread is how far a season may lie off what the last weeks let expect, of
// all bikes alike, as the standard deviation of ln pace: one wet month hits all. It
// is a part of each bike's own spread of pace, not added to it (common practice,
// no published source).
const seasonSpread = 0.2

// Seasons that are reckoned with: standard normal values from −3 to 3 at even
// steps, each as likely as the normal density there. Even steps, not those of Gauss
// and Hermite: in a large fleet the number needed is nearly certain within one
// season, and a service level between two far nodes would fall on one of them. The
// chances are worked out at every other one, the knots, and put between by the
// cubic through the four nearest (Lagrange).
const (
	seasonKnots = 7
	seasonNodes = 2*seasonKnots - 1
)

var seasonAt, seasonWeight = seasons()

func seasons() (at, weight [seasonNodes]float64) {
	var sum float64
	for i := range at {
		at[i] = 6*float64(i)/(seasonNodes-1) - 3
		weight[i] = math.Exp(-at[i] * at[i] / 2)
		sum += weight[i]
	}
	for i := range weight {
		weight[i] /= sum
	}
	return at, weight
}

// between fills in what lies between the knots, which stand at even places.
func between(v *[seasonNodes]float64) {
	for i := 1; i < seasonNodes; i += 2 {
		a, b := v[i-1], v[i+1]
		var mid float64
		switch {
		case i == 1:
			mid = (3*a + 6*b - v[i+3]) / 8
		case i == seasonNodes-2:
			mid = (6*a + 3*b - v[i-3]) / 8
		default:
			mid = (9*(a+b) - v[i-3] - v[i+3]) / 16
		}
		v[i] = max(min(a, b), min(max(a, b), mid))
	}
}

// lifespan is how long a part lasts, in load: as its readings have it, about a
// median with its logarithm normal or of Weibull's form, or just so long.
type lifespan struct {
	curve  *curve  // of its readings; nil = none
	median float64 // or the one figure, where there is neither shape nor spread
	shape  float64 // Weibull's; 0 = not of that form
	spread float64 // standard deviation of the logarithm
}

// lasted is the life that parts of the book tell, the error of its median with it:
// Weibull's form, because the hazard of an old part grows.
func (p LifePrior) lasted() lifespan {
	return lifespan{median: p.Median, shape: weibullLogSD / p.LogSD}
}

// survives is the probability that it lasts longer than a load.
func (l *lifespan) survives(load float64) float64 {
	switch {
	case l.curve != nil:
		return 1 - l.curve.at(load)
	case load <= 0:
		return 1
	case l.shape > 0:
		return math.Exp(-math.Ln2 * math.Pow(load/l.median, l.shape))
	case l.spread > 0:
		return tailPast(math.Log(load/l.median) / l.spread)
	}
	return float64(boolInt(load < l.median))
}

// The normal distribution at even steps: it is asked for millions of times.
const (
	tailSteps = 256 // a standard deviation: off by less than 5e-7 between two
	tailFrom  = -8  // below which all outlast it
	tailTo    = 4   // beyond which a share of what is left has to be exact
)

var tailAt = func() (at [(tailTo-tailFrom)*tailSteps + 1]float64) {
	for i := range at {
		at[i] = math.Erfc((float64(i)/tailSteps+tailFrom)/math.Sqrt2) / 2
	}
	return at
}()

// tailPast is the probability that a standard normal is greater than z.
func tailPast(z float64) float64 {
	switch {
	case z <= tailFrom:
		return 1
	case z >= tailTo:
		return math.Erfc(z/math.Sqrt2) / 2
	}
	x := (z - tailFrom) * tailSteps
	i := min(int(x), len(tailAt)-2)
	return tailAt[i] + (x-float64(i))*(tailAt[i+1]-tailAt[i])
}

// fixed reports whether it lasts just so long.
func (l *lifespan) fixed() bool { return l.curve == nil && l.shape == 0 && l.spread == 0 }

// way is one count that takes a part to its end.
type way struct {
	now   float64  // done so far
	first lifespan // of the part
	next  lifespan // of the one that follows it, which begins at nothing
	lived bool     // it is known to have lasted so far
	due   bool     // it is at its end: only the next one is open
	pace  pace
}

// within are the chances in so many days of a season that lies z standard
// deviations off; spread is the season's.
func (w *way) within(days, z, spread float64) chances {
	if w.pace.exact || w.pace.perDay <= 0 {
		return w.after(w.pace.perDay * days)
	}
	all := w.pace.over(days)
	spread = min(spread, all)
	rest := math.Sqrt(all*all - spread*spread)
	load := w.pace.perDay * max(0, w.pace.ridden(days)) * math.Exp(spread*z)
	var c chances
	for k, y := range nodes5 {
		c.once += weights5[k] * w.once(load*math.Exp(rest*y))
	}
	if next := 1 - w.next.survives(load*math.Exp(rest)); c.once*next > againLeast {
		far := math.Exp(math.Sqrt(3) * rest) // Gauss and Hermite's three nodes
		c.twice = min(c.once, (w.twice(load/far)+4*w.twice(load)+w.twice(load*far))/6)
	}
	return c
}

// after are the chances within a load.
func (w *way) after(load float64) chances {
	c := chances{once: w.once(load)}
	c.twice = min(c.once, w.twice(load))
	return c
}

// alive is the probability that the part got so far, 1 where that is not known.
func (w *way) alive() float64 {
	if w.lived {
		return w.first.survives(w.now)
	}
	return 1
}

// once is the chance that the part comes to its end within a load. One that is
// known to have lasted so far has the chance of those that did: 1 − S(now + load) /
// S(now).
func (w *way) once(load float64) float64 {
	alive := w.alive()
	if w.due || alive < lifeNothing { // due, or past all that it can last
		return 1
	}
	return min(1, max(0, 1-w.first.survives(w.now+load)/alive))
}

// How the second of two in one window is reckoned.
const (
	againLeast  = 1e-3 // below which it is left out: one in a thousand
	againSteps  = 4
	lifeNothing = 1e-15 // of what such parts last, is left of one that no figure fits
)

// twice is the chance that the part and the one after it are used up within a
// load: what the first leaves, the second wears.
func (w *way) twice(load float64) float64 {
	alive := w.alive()
	if w.due || alive < lifeNothing {
		return 1 - w.next.survives(load)
	}
	if w.first.fixed() {
		return 1 - w.next.survives(load-max(0, w.first.median-w.now))
	}
	before := min(alive, w.first.survives(w.now))
	sum := (alive - before) * (1 - w.next.survives(load)) // has come to its end already
	for i := range againSteps {
		s := min(before, w.first.survives(w.now+load*float64(i+1)/againSteps))
		left := load * (1 - (float64(i)+0.5)/againSteps)
		sum += (before - s) * (1 - w.next.survives(left))
		before = s
	}
	return sum / alive
}
