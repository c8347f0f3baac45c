package wear

// tally is what a quantity amounts to on each ground, recorded and estimated
// apart, in stored integers: exact however the spans are cut.
type tally struct {
	rides, rec, est [NGrounds]int64
	lacking         int64
}

func (t *tally) add(s *Sums, of CountOf) {
	q := countKinds[of].of
	for g := range s {
		sum := &s[g]
		if sum.Rides == 0 {
			continue // as on most grounds
		}
		rec, est := sum.counted(of)
		t.rides[g] += sum.Rides
		t.rec[g] += rec
		t.est[g] += est
		if q < NQuantities {
			t.lacking += sum.Lacking[q]
		}
	}
}

// counted is what a count is made from, recorded and estimated.
func (s *Sum) counted(of CountOf) (rec, est int64) {
	switch q := countKinds[of].of; {
	case q < NQuantities:
		return s.Recorded[q], s.Estimated[q]
	case of == CountRides:
		return s.Rides, 0
	case of == CountLong:
		return s.Long, 0
	}
	return 0, 0
}

// usage is one count of one part over a stretch of time.
type usage struct {
	amount   [NGrounds]float64 // in the count's unit, unweighted
	rides    [NGrounds]int64
	used     float64 // weighted
	rec, est float64 // weighted, for Data
	lacking  int64   // rides that could not be counted
	noRing   bool    // ring's teeth were assumed
	opening  float64 // of used, what came with used parts
}

// flush adds what was tallied at one ratio and empties the tally.
func (u *usage) flush(t *tally, c counting) {
	for g := range t.rec {
		rec, est := c.ratio*countSI(c.of, t.rec[g]), c.ratio*countSI(c.of, t.est[g])
		f := c.factor(Ground(g))
		u.amount[g] += rec + est
		u.rides[g] += t.rides[g]
		u.rec += f * rec
		u.est += f * est
	}
	u.lacking += t.lacking
	u.used = u.rec + u.est
	*t = tally{}
}

// counting is how a part counts on one bike with one ring.
type counting struct {
	of      CountOf
	ratio   float64 // per turn of the crank; 1 where the count is not derived
	factors [NGrounds]float64
}

// amount is what some rides come to, weighted: as usage.flush has it.
func (c *counting) amount(s *Sums) float64 {
	var rec, est float64
	for g := range s {
		r, e := s[g].counted(c.of)
		if r == 0 && e == 0 {
			continue // as on most grounds of a week
		}
		f := c.factor(Ground(g))
		rec += f * (c.ratio * countSI(c.of, r))
		est += f * (c.ratio * countSI(c.of, e))
	}
	return rec + est
}

// factor is the weight of a ground: a ride is a ride, but where the part was spared.
func (c *counting) factor(g Ground) float64 {
	if f := c.factors[g]; f == 0 || c.of != CountRides && c.of != CountLong {
		return f
	}
	return 1
}

func countSI(of CountOf, stored int64) float64 {
	if q := countKinds[of].of; q < NQuantities {
		return q.SI(stored)
	}
	return float64(stored)
}

// data says whether the usage was recorded.
func (u *usage) data() Data {
	switch {
	case u.est == 0:
		return DataRecorded
	case u.rec == 0:
		return DataEstimated
	}
	return DataMixed
}

// window is the time that a count runs over.
type window struct {
	from, to Instant
	opening  bool // with the opening figures of stays that begin in it
}

// within returns the spans that lie in [from, to).
func (tl Timeline) within(from, to Instant) Timeline {
	lo, hi := tl.bounds(from, to)
	return tl[lo:hi]
}

// usage counts what a part did in a window, over all its stays.
func (a *assessor) usage(p *partView, of CountOf, w window) usage {
	var u usage
	for i := range p.stays {
		st := &p.stays[i]
		c := counting{of: of, factors: a.weights(p.kind, st.Host)}
		if w.opening && st.From >= w.from && st.From < w.to {
			c.ratio = p.ratio(a, of, 0)
			u.open(st.Opening, c)
		}
		if from, to := max(st.From, w.from), min(st.To, w.to); from < to {
			a.overSpans(&u, p, Stay{Host: st.Host, From: from, To: to}, c)
		}
	}
	return u
}

// overSpans adds the spans of a stay, flushing the integers only where the ring
// changes, or for a chain where links bend otherwise.
func (a *assessor) overSpans(u *usage, p *partView, st Stay, c counting) {
	tl := a.c.Lines[st.Host]
	lo, hi := tl.bounds(st.From, st.To)
	var folds []folded
	if p.bent(c.of) {
		folds = a.folds(st.Host)
	}
	var t tally
	for i := lo; i < hi; i++ {
		t.add(&tl[i].Sums, c.of)
		u.noRing = u.noRing || tl[i].Ring == 0
		if folds == nil && i+1 < hi && !(c.of.Derived() && tl[i+1].Ring != tl[i].Ring) {
			continue
		}
		if c.ratio = bendAt(folds, i); !p.bent(c.of) {
			c.ratio = p.ratio(a, c.of, tl[i].Ring)
		}
		u.flush(&t, c)
	}
}

// open adds an opening figure; its ground is not known, so it counts as unmarked.
func (u *usage) open(l Load, c counting) {
	if q := countKinds[c.of].of; q < NQuantities {
		v := c.factors[Unmarked] * c.ratio * l.SI(q)
		u.opening += v
		u.est += v
		u.used = u.rec + u.est
	}
}

// weights are the kind's ground factors on a bike, its motor included.
func (a *assessor) weights(k *Kind, host ID) [NGrounds]float64 {
	f := k.Factors
	if host == a.c.Bike.ID && a.c.Bike.Motor == MidMotor && k.MidMotor != 1 {
		for g := range f {
			f[g] *= k.MidMotor
		}
	}
	return f
}

// ratio is what one turn of the crank adds to a derived count, or to that of a
// chain with the ring of today; 1 for others.
func (p *partView) ratio(a *assessor, of CountOf, ring int) float64 {
	if ring > 0 && p.bent(of) {
		return a.bendLately()
	}
	as := &a.s.Assumed
	r := float64(ring)
	if ring == 0 {
		r = as.Ring
	}
	switch of {
	case CountIdler:
		return WheelTurns(1, r, p.teeth(as.Idler))
	case CountPulley:
		return WheelTurns(1, r, p.teeth(as.Pulley))
	case CountContacts:
		return WheelTurns(p.busyShare, r, p.busyTeeth)
	}
	return 1
}

func (p *partView) teeth(assumed float64) float64 {
	if p.pc.Part.Teeth > 0 {
		return float64(p.pc.Part.Teeth)
	}
	return assumed
}

// busyCog is the cog that is taken to wear first where the rides do not tell
// their gears: two fifths of the way up the cassette.
func (p *partView) busyCog(assumed float64) float64 {
	if cogs := p.pc.Part.Cogs; len(cogs) > 0 {
		return float64(cogs[len(cogs)*2/5])
	}
	return assumed
}
