package wear

import (
	"cmp"
	"math"
	"slices"
	"sync"
)

// What a part's wear is taken to be before anything was read of it (common
// practice, no published source).
const (
	rateSpread   = 0.45 // of ln rate
	rateUnmarked = 0.6  // where the ground is unmarked
	rateGuessed  = 0.9  // where the schedule does not say what such a part lasts
	ownSpread    = 0.27 // of it, what differs from part to part of one bike: rider and place matter more
	chainStart   = 0.06 // %: a new chain reads a little, and beds in
	chainStartSD = 0.05
	chainUsed    = 0.25 // %: a used one of which nothing is known
	chainUsedSD  = 0.2
	startShare   = 0.15 // of the way to the limit: how far other new parts differ
	usedShare    = 1.0 / 3
	usedShareSD  = 4.0 / 15
	guessTimes   = 5 // intervals of measuring that a part lasts where the schedule does not say
)

// sort is what all parts of a sort have in common.
type sortOf struct {
	limit           *Limit
	gait            gait
	way             float64 // straight wear from new to the limit
	by              Count   // the load, and how much of it such a part lasts
	guessed         bool    // the schedule does not say how much
	start, startSD  float64 // of a new part
	arrive, arrived float64 // mean and spread of a used one of which nothing is known
}

// sortOf is what the schedule says of how the part wears; ok is false where
// nothing can be measured or nothing is known to wear it.
func (p *partView) sortOf() (s sortOf, ok bool) {
	s.limit = p.limit()
	if s.limit == nil {
		return s, false
	}
	s.gait = gaitOf(s.limit)
	s.way = s.gait.limit
	if iv, has := p.changing(); has && len(iv.Expect) > 0 {
		s.by = iv.Expect[0]
	} else if s.by, s.guessed = p.guessed(); !s.guessed {
		return s, false
	}
	s.start, s.startSD = 0, startShare*s.way
	s.arrive, s.arrived = usedShare*s.way, usedShareSD*s.way
	if s.limit.Of == Elongation {
		s.start, s.startSD, s.arrive, s.arrived = chainStart, chainStartSD, chainUsed, chainUsedSD
	}
	return s, s.way > s.start
}

// guessed is how much of a load a part lasts by how often it is measured.
func (p *partView) guessed() (Count, bool) {
	for i := range p.kind.Jobs {
		j := &p.kind.Jobs[i]
		if iv := p.at(j); j.Act == ActMeasure && len(iv.Then) > 0 {
			return Count{iv.Then[0].Of, guessTimes * iv.Then[0].Limit}, true
		}
	}
	return Count{}, false
}

// prior is the rate that takes a new part to its limit in what it lasts;
// unmarked is the share of its load on unmarked ground.
func (s *sortOf) prior(unmarked float64) prior {
	p := prior{rate: math.Log((s.way - s.start) / s.by.Limit), rateSD: rateGuessed, start: s.start, startSD: s.startSD}
	if !s.guessed {
		v := rateSpread*rateSpread + unmarked*(rateUnmarked*rateUnmarked-rateSpread*rateSpread)
		p.rateSD = math.Ceil(100*math.Sqrt(v)-1e-9) / 100 // in steps, so that parts share curves
	}
	return p
}

// used is the start of a part that came used: what its opening load did to it
// at another rider's rate, or what used parts have where that is not known.
func (s *sortOf) used(p *prior, opening float64) {
	if opening <= 0 {
		p.start, p.startSD = s.arrive, s.arrived
		return
	}
	worn := math.Exp(p.rate) * opening
	p.start += worn
	p.startSD = math.Hypot(p.startSD, rateUnmarked*worn)
}

// earlier is what the readings of one earlier part say of ln rate on a bike.
type earlier struct {
	part           ID
	mean, variance float64
}

// learnt moves the prior to what earlier parts of the same bike were worn at:
// their mean is the bike's, about which parts differ by ownSpread.
func (p *prior) learnt(list []earlier) {
	if len(list) == 0 {
		return
	}
	own := ownSpread * ownSpread
	w := 1 / (p.rateSD*p.rateSD - own)
	sum := w * p.rate
	for _, e := range list {
		v := 1 / (e.variance + own)
		w, sum = w+v, sum+v*e.mean
	}
	p.rate = sum / w
	p.rateSD = math.Ceil(100*math.Sqrt(1/w+own)-1e-9) / 100
}

// told is what a fitted course says of ln rate beyond its prior; ok is false
// where that is next to nothing.
func (c *course) told() (mean, variance float64, ok bool) {
	w0 := 1 / (c.prior.rateSD * c.prior.rateSD)
	w := 1/c.post.axisVar - w0
	if !(w > 0.05*w0) {
		return 0, 0, false
	}
	return (c.post.axis/c.post.axisVar - c.prior.rate*w0) / w, 1 / w, true
}

// forebears are the earlier parts of the kind on the bike that were measured. They
// are looked up once.
func (a *assessor) forebears(p *partView) []*partView {
	if p.traced {
		return p.before
	}
	p.traced = true
	for i := range a.c.Past {
		pc := &a.c.Past[i]
		if pc.Part.Kind != p.pc.Part.Kind || pc.Part.Material != p.pc.Part.Material || len(pc.Readings) == 0 {
			continue
		}
		v := a.view(pc)
		v.over, v.setting, v.kind = p.over, p.setting, p.kind
		v.setting.part = pc.Part
		p.before = append(p.before, v)
	}
	return p.before
}

// earlierOn gathers what earlier parts of the kind say of the bike, in the
// order of their IDs so that sums do not depend on the order of the facts.
func (a *assessor) earlierOn(p *partView) []earlier {
	var list []earlier
	for _, v := range a.forebears(p) {
		if e, ok := a.fitted(v); ok {
			list = append(list, e)
		}
	}
	slices.SortFunc(list, func(x, y earlier) int { return cmp.Compare(x.part, y.part) })
	return list
}

// fitted is what an earlier part says of its rate on the bike.
func (a *assessor) fitted(p *partView) (earlier, bool) {
	d := a.drafted(p)
	if d == nil {
		return earlier{}, false
	}
	var best earlier
	list := a.courses(p, d, nil)
	for i := range list {
		c := &list[i]
		if c.host != a.c.Bike.ID || c.post == nil {
			continue
		}
		if mean, v, told := c.told(); told && (best.part == 0 || v < best.variance) {
			best = earlier{p.pc.Part.ID, mean, v}
		}
	}
	for i := range list {
		if post := list[i].post; post != nil {
			posteriors.Put(post)
		}
	}
	return best, best.part != 0
}

// unreadKey is all that the shape of a prior's crossing depends on, as shares
// of the limit.
type unreadKey struct{ rateSD, start, startSD float64 }

var unreads struct {
	sync.RWMutex
	known map[unreadKey]*curve
}

const mostUnreads = 1000

// unread is the crossing of a part of which nothing was read. Parts share it:
// only the unit of load differs.
func (p *prior) unread(limit float64) *curve {
	key := unreadKey{p.rateSD, p.start / limit, p.startSD / limit}
	unreads.RLock()
	c := unreads.known[key]
	unreads.RUnlock()
	if c == nil {
		of := prior{rateSD: key.rateSD, start: key.start, startSD: key.startSD}
		c = of.fit(&evidence{}).steady(1)
		unreads.Lock()
		if unreads.known == nil || len(unreads.known) >= mostUnreads {
			unreads.known = map[unreadKey]*curve{}
		}
		unreads.known[key] = c
		unreads.Unlock()
	}
	return &curve{lo: c.lo + math.Log(limit) - p.rate, step: c.step, p: c.p}
}
