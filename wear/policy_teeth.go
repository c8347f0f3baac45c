package wear

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// teethLife is how long cassettes or rings last with chains of each limit, in
// what the schedule expects: natural logarithms of the mean, and what is not
// known of them. Where only one of the two is known, the other follows by how
// much faster teeth wear under a chain past 0.5 %.
type teethLife struct {
	none     bool // no such part is there
	mean, sd [2]float64
	known    [2]bool
	faster   float64 // times, past 0.5 %
}

// What is taken where the fleet's own parts do not tell (common practice, no
// published source).
const (
	expectSD   = 0.3  // of the logarithm of what the schedule expects
	teethTimes = 2    // teeth wear so much faster once the chain is past 0.5 %, where the schedule does not say
	teethSD    = 0.35 // of the logarithm of that
)

// mostLives is how many lives are fitted: of more, every n-th in order of load.
const mostLives = 2000

// teethLife takes the fleet's own lives of a kind where there are enough, else
// the schedule's.
func (f *PolicyFacts) teethLife(kind int, r *PolicyResult) teethLife {
	name := policyKinds[kind]
	t := teethLife{none: f.use[kind].load <= 0, sd: [2]float64{expectSD, 0}, faster: f.halved[kind]}
	if t.faster <= 1 {
		t.faster = teethTimes
	}
	if t.none {
		r.Rests = append(r.Rests, fmt.Sprintf("%ss: none that was ridden is in the book", name))
		return t
	}
	l := &f.lives[kind]
	lists := [2][]Unit{l.mild, l.worn}
	ran := [2]string{fmt.Sprintf("up to %g %%", wornFrom), fmt.Sprintf("past %g %%", wornFrom)}
	for i, list := range lists {
		failed, ok := t.own(i, list)
		if ok {
			r.Own = true
			r.Rests = append(r.Rests, fmt.Sprintf("%ss: %d that wore out or broke with chains %s", name, failed, ran[i]))
			continue
		}
		r.Rests = append(r.Rests, fmt.Sprintf("%ss with chains %s: %s (common practice, no published source); %d failed so here, %d are needed",
			name, ran[i], t.instead(i, lists), failed, lifeFailures))
	}
	if l.spoilt > 0 {
		r.Rests = append(r.Rests, fmt.Sprintf("%ss: left out what %s did after a chain past %g %%", name, plural(int64(l.spoilt), "part"), spoiltFrom))
	}
	if l.unread > 0 {
		r.Rests = append(r.Rests, fmt.Sprintf("%ss: %s left out that no measured chain ran on, or that moved from bike to bike", name, plural(int64(l.unread), "part")))
	}
	return t
}

// instead says what stands for lives that are not known.
func (t *teethLife) instead(i int, lists [2][]Unit) string {
	if t.known[0] || i == 0 && failures(lists[1]) >= lifeFailures {
		return "taken from the other ones"
	}
	return "the schedule's expectation"
}

func failures(list []Unit) (n int) {
	for _, u := range list {
		n += boolInt(u.failed() && u.Load > u.Entry*(1+leastGap))
	}
	return n
}

// own fits the fleet's lives with chains of one limit; ok is false where they do
// not tell. The error of the mean is that of the scale, widened as Student's t
// is for as many failures.
func (t *teethLife) own(i int, list []Unit) (failed int, ok bool) {
	failed = failures(list)
	if failed < lifeFailures {
		return failed, false
	}
	fit, _, err := plainLife(thinned(list))
	var refused *LifeError
	if errors.As(err, &refused) || err != nil {
		return failed, false
	}
	t.known[i] = true
	t.mean[i] = math.Log(fit.Mean())
	t.sd[i] = fit.ScaleErr / fit.Scale * student95(float64(fit.Failures)) / normal95
	return failed, true
}

// normal95 is the 95 % point of a standard normal.
const normal95 = 1.6448536269514722

// thinned are at most mostLives of the units, spread over their loads.
func thinned(list []Unit) []Unit {
	if len(list) <= mostLives {
		return list
	}
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(x, y Unit) int {
		switch {
		case x.Load < y.Load:
			return -1
		case x.Load > y.Load:
			return 1
		}
		return boolInt(x.failed()) - boolInt(y.failed())
	})
	out := make([]Unit, 0, mostLives)
	for i := range mostLives {
		out = append(out, list[i*len(list)/mostLives])
	}
	return out
}

// at is the mean life with chains of each limit, at places of the grid: one for
// each that is known, one for how much faster teeth wear; past is the share of a
// chain's turns at 0.75 % that it is past 0.5 %.
func (t *teethLife) at(z [2]float64, faster, past float64) (life [2]float64) {
	slower := 1 + (t.faster*math.Exp(teethSD*faster)-1)*past
	for i := range life {
		life[i] = math.Exp(t.mean[i] + t.sd[i]*z[i])
	}
	switch {
	case t.known[0] && t.known[1]:
	case t.known[1]:
		life[0] = life[1] * slower
	default:
		life[1] = life[0] / slower
	}
	return life
}

// grids are the places that the lives are looked at: one axis for each that is
// known, or the schedule's.
func (t *teethLife) grids() (low, high []node) {
	point := []node{{0, 1}}
	switch {
	case t.none:
		return point, point
	case t.known[0] && t.known[1]:
		return policyNodes, policyNodes
	case t.known[1]:
		return point, policyNodes
	}
	return policyNodes, point
}

// assumes reports whether the lives of one limit follow from the other's.
func (t *teethLife) assumes() bool { return !t.none && !(t.known[0] && t.known[1]) }
