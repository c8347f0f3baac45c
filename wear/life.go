package wear

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Unit is one part of a kind and model as part life takes it. Loads are what
// the rides put through it, weighted by ground, in one unit for all units.
type Unit struct {
	Name  string  // of the part, for messages
	Load  float64 // done when it ended, or so far
	Entry float64 // done before the book knew it: that it outlived those says nothing (left truncation)
	Found bool    // its wear was found at a look or a reading: it came somewhere after Good, by Load at the latest
	Good  float64 // with Found: done at the last look or reading that found it good; 0 = there was none
	Cause Cause   // why it ended; empty = still running
}

// failed reports whether the end says how long such a part lasts.
func (u Unit) failed() bool { return u.Cause == Worn || u.Cause == Broke }

// LeastFailures is how many parts of one kind and model have to wear out or break
// before their life is told.
const LeastFailures = lifeFailures

// How much the data must carry.
const (
	lifeFailures = 5  // below which there is no part life
	b10Failures  = 10 // below which there is no B10
	firmFailures = 20 // below which all of it is rough
)

// LifeBand is a figure of part life with its interval of 90 %.
type LifeBand struct {
	At, From float64
	To       float64 // 0 = the data give it no upper end
}

// Ending is how many units ended by a cause.
type Ending struct {
	Cause Cause // empty = still running
	N     int
}

// LifeResult is how long parts of one kind and model last: a Weibull
// distribution, in the unit of the loads.
type LifeResult struct {
	Failures           int      // units that wore out or broke
	Censored           int      // units that lasted so far, or ended by another cause
	Endings            []Ending // by cause, running ones last
	Shape, Scale       float64  // survival to t is exp(−(t/Scale)^Shape)
	ShapeErr, ScaleErr float64  // standard errors, from the observed information
	LogLik             float64
	Median             LifeBand
	B10                *LifeBand // a tenth fail before; nil below 10 failures
	Rough              bool      // fewer than 20 failures
	Prior              LifePrior // what it puts in the place of the schedule's expectation
	Method             string    // how the intervals came about
	Notes              []string  // what the reader must know
}

// LifePrior is what to expect of the next part: half outlast Median, and LogSD
// is the spread of the logarithm of life, that of the median's own error
// included. A part that is measured wears at limit / Median per load, with the
// same spread.
type LifePrior struct{ Median, LogSD float64 }

// LifeError is returned where the units cannot tell how long such parts last.
type LifeError struct{ Why, Tip string }

// Error says what is lacking.
func (e *LifeError) Error() string { return "part life: " + e.Why }

// Hint says what to do about it.
func (e *LifeError) Hint() string { return e.Tip }

const lifeMethod = "Weibull by maximum likelihood; 90 % interval by likelihood ratio, shape at its best, held against Student's t of as many degrees as failures"

// PartLife fits a Weibull distribution by maximum likelihood to ended and
// running parts of one kind and model (Lawless, Statistical Models and Methods
// for Lifetime Data, ch. 5, from memory). Only worn and broke are failures; all
// others lasted at least their load. The order of the units does not matter.
// It refuses below five failures; errors about the data are of type *LifeError.
func PartLife(units []Unit) (LifeResult, error) {
	r, fit, err := plainLife(units)
	if err == nil {
		r.bound(fit)
	}
	return r, err
}

// plainLife is [PartLife] without the intervals and B10, which take most of its time.
func plainLife(units []Unit) (LifeResult, *lifeFit, error) {
	r := LifeResult{Method: lifeMethod}
	used, err := r.take(units)
	if err != nil {
		return r, nil, err
	}
	if r.Failures < lifeFailures {
		return r, nil, &LifeError{
			fmt.Sprintf("%d of %s wore out or broke: %d are needed to say how long such parts last", r.Failures, plural(int64(len(used)), "part"), lifeFailures),
			"say worn, broke, crash, early, lost or sold whenever such a part comes off; until then the schedule's figure holds",
		}
	}
	fit, err := fitLife(observe(used))
	if err == nil {
		r.fill(fit)
	}
	return r, fit, err
}

// take checks the units, counts their endings, and returns those that say
// something, in an order that does not depend on theirs.
func (r *LifeResult) take(units []Unit) ([]Unit, error) {
	var used []Unit
	empty := 0
	for _, u := range units {
		if err := u.check(); err != nil {
			return nil, err
		}
		if u.Load <= u.Entry*(1+leastGap) {
			empty++
			continue
		}
		used = append(used, u)
		if u.failed() {
			r.Failures++
		} else {
			r.Censored++
		}
	}
	slices.SortFunc(used, func(x, y Unit) int {
		return cmp.Or(cmp.Compare(x.Load, y.Load), cmp.Compare(x.Good, y.Good), cmp.Compare(x.Entry, y.Entry),
			strings.Compare(string(x.Cause), string(y.Cause)), boolInt(x.Found)-boolInt(y.Found))
	})
	r.endings(used)
	if empty > 0 {
		r.Notes = append(r.Notes, "left out: "+plural(int64(empty), "part")+" that did nothing that the book knows of")
	}
	return used, nil
}

func (u Unit) check() error {
	for _, v := range []struct {
		of string
		v  float64
	}{{"load", u.Load}, {"entry", u.Entry}, {"good", u.Good}} {
		if !(v.v >= 0 && v.v <= math.MaxFloat32) {
			return fmt.Errorf("part %q: %s %g is no load", u.Name, v.of, v.v)
		}
	}
	if u.Found && u.Good > u.Load {
		return fmt.Errorf("part %q: found good at %g, after its wear was found at %g", u.Name, u.Good, u.Load)
	}
	if u.Cause != "" && !slices.Contains(Causes, u.Cause) {
		return fmt.Errorf("part %q: cause %q: not one of %v", u.Name, u.Cause, Causes)
	}
	return nil
}

func (r *LifeResult) endings(used []Unit) {
	for _, c := range append(slices.Clone(Causes), "") {
		n := 0
		for _, u := range used {
			n += boolInt(u.Cause == c)
		}
		if n > 0 {
			r.Endings = append(r.Endings, Ending{c, n})
		}
	}
}

// fill takes the figures from the fit, but for the intervals.
func (r *LifeResult) fill(f *lifeFit) {
	r.Shape, r.Scale, r.LogLik = f.shape, math.Exp(f.m), f.logLik
	r.ShapeErr, r.ScaleErr = math.Sqrt(f.cov[1][1]), r.Scale*math.Sqrt(f.cov[0][0])
	r.Median.At = math.Exp(f.logQuantile(0.5))
	r.Prior = LifePrior{r.Median.At, math.Hypot(weibullLogSD/f.shape, f.logErr(0.5))}
	if r.Failures < firmFailures {
		r.Rough = true
		r.Notes = append(r.Notes, fmt.Sprintf("rough: it rests on %d failures, %d make it firm", r.Failures, firmFailures))
	}
}

// bound puts the intervals to the figures.
func (r *LifeResult) bound(f *lifeFit) {
	r.Median = f.band(0.5)
	if r.Failures >= b10Failures {
		b := f.band(0.1)
		r.B10 = &b
	}
	if r.Median.To == 0 {
		r.Notes = append(r.Notes, "too few have failed to say how long they last at most")
	}
}

// weibullLogSD is the standard deviation of the logarithm of a Weibull variable
// of shape 1: π / √6.
const weibullLogSD = 1.2825498301618641

// Survives is the probability that a new part outlasts a load.
func (r LifeResult) Survives(load float64) float64 {
	return math.Exp(-math.Pow(max(0, load)/r.Scale, r.Shape))
}

// FailsWithin is the probability that a part that has done a load fails within
// the next: 1 − exp((t/η)^β − ((t+d)/η)^β).
func (r LifeResult) FailsWithin(load, next float64) float64 {
	h := func(t float64) float64 { return math.Pow(max(0, t)/r.Scale, r.Shape) }
	return -math.Expm1(h(load) - h(load+max(0, next)))
}

// Quantile is the load by which a share of the parts have failed.
func (r LifeResult) Quantile(p float64) float64 {
	return r.Scale * math.Pow(-math.Log1p(-p), 1/r.Shape)
}

// Mean is how long such a part lasts on average.
func (r LifeResult) Mean() float64 { return r.Scale * math.Gamma(1+1/r.Shape) }
