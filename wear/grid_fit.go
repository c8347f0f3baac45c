package wear

import (
	"math"
	"sort"
	"sync"
)

// posteriors are those that nobody needs any more: for a fleet's earlier parts that
// is most of them.
var posteriors = sync.Pool{New: func() any { return new(posterior) }}

// fit takes the posterior of the prior and the evidence on the grid. There is
// no sampling: the same readings give the same figures to the last bit.
func (p *prior) fit(e *evidence) *posterior {
	m := p.marginal(e)
	post := posteriors.Get().(*posterior)
	*post = posterior{linear: p.linear, mid: m.mid, slope: m.slope, sd: m.sd, share: 1, rows: post.rows[:0]}
	m.place(post)
	if len(e.gauged) == 0 {
		post.single(&m)
		return post
	}
	g := gauging(e, post)
	post.share, post.rest = post.sd/g.rowSD, g.first.bias/g.rowSD
	if !g.narrow(post, &m) {
		post.unexplained, post.share, post.rest = true, 1, 0
		post.single(&m)
		return post
	}
	g.fill(post, &m)
	return post
}

// marginal is the density of the rate after the exact readings, the start
// integrated out: exp(-½ s b² + h b), times the prior of ln b.
type marginal struct {
	prior  *prior
	s, h   float64
	middle float64 // h / s: only where s is above 0, or the rate is linear

	mid, slope, sd float64 // of the start, see posterior
}

func (p *prior) marginal(e *evidence) marginal {
	q := p.plane(e)
	m := marginal{prior: p, s: q.pbb - q.pab*q.pab/q.paa, h: q.hb - q.pab*q.ha/q.paa,
		mid: q.ha / q.paa, slope: -q.pab / q.paa, sd: 1 / math.Sqrt(q.paa)}
	m.middle = m.h / m.s
	return m
}

// log is the logarithm of the density at a place of the axis.
func (m *marginal) log(t float64) float64 { return m.logAt(t, m.rate(t)) }

// rate is the rate at a place of the axis.
func (m *marginal) rate(t float64) float64 {
	if m.prior.linear {
		return t
	}
	return math.Exp(t)
}

// logAt is log where the rate at the place is known.
func (m *marginal) logAt(t, rate float64) float64 {
	d := rate - m.middle
	if m.prior.linear {
		return -m.s * d * d / 2
	}
	z := (t - m.prior.rate) / m.prior.rateSD
	if m.s > 0 {
		return -m.s*d*d/2 - z*z/2
	}
	return -z * z / 2
}

// place lays the axis about the mode as far as the density reaches: six
// standard deviations where it is normal.
func (m *marginal) place(p *posterior) {
	mode, reach := m.prior.rate, gridReach*m.prior.rateSD
	if m.prior.linear {
		mode, reach = m.middle, gridReach/math.Sqrt(m.s)
	}
	p.lo, p.step = mode-reach, 2*reach/(rateCells-1)
	if m.prior.linear {
		return
	}
	for range 6 {
		first, last := m.cells(p)
		if !p.narrow(first, last, rateCells) {
			return
		}
	}
}

// cells are the first and the last cell of the axis where the density has not fallen
// by gridDrop. It has one peak unless the readings' own rate is more than twice that
// of the prior, so these are found by halving.
func (m *marginal) cells(p *posterior) (first, last int) {
	if m.s > 0 && m.middle > 2*math.Exp(m.prior.rate) {
		return m.everyCell(p)
	}
	at := func(i int) float64 { return m.log(p.lo + float64(i)*p.step) }
	peak := sort.Search(rateCells-1, func(i int) bool { return at(i+1) <= at(i) })
	least := at(peak) - gridDrop
	first = sort.Search(peak, func(i int) bool { return at(i) >= least })
	return first, peak + sort.Search(rateCells-1-peak, func(i int) bool { return at(peak+1+i) < least })
}

// everyCell is cells by looking at all of them.
func (m *marginal) everyCell(p *posterior) (first, last int) {
	var logs [rateCells]float64
	for i := range logs {
		logs[i] = m.log(p.lo + float64(i)*p.step)
	}
	return standing(logs[:])
}

// zoom narrows the axis to where the density, given at even steps of it, has
// not fallen by gridDrop; it reports whether that was worth another look.
func (p *posterior) zoom(logs []float64) bool {
	first, last := standing(logs)
	return p.narrow(first, last, len(logs))
}

// standing are the first and the last of the logarithms of a density that have not
// fallen by gridDrop.
func standing(logs []float64) (first, last int) {
	top := math.Inf(-1)
	for _, l := range logs {
		top = max(top, l)
	}
	first, last = 0, len(logs)-1
	for first < last && logs[first] < top-gridDrop {
		first++
	}
	for last > first && logs[last] < top-gridDrop {
		last--
	}
	return first, last
}

// narrow cuts the axis down to one cell to either side of those from first to last
// of n.
func (p *posterior) narrow(first, last, n int) bool {
	first, last = max(0, first-1), min(n-1, last+1)
	step := p.step * (rateCells - 1) / float64(n-1)
	share := float64(last-first) / float64(n-1)
	p.lo += float64(first) * step
	p.step *= share
	return share < 0.8
}

// single fills the one row that stands for all where no gauge was read.
func (p *posterior) single(m *marginal) {
	if p.rows = p.rows[:0]; cap(p.rows) == 0 {
		p.rows = make([]gridRow, 1)
	}
	p.rows = p.rows[:1]
	r := &p.rows[0]
	m.fill(p, &r.density)
	r.integrate()
	total := r.integral[rateCells-1]
	for i := range r.density {
		r.density[i] /= total
		r.integral[i] /= total
	}
	r.weight = 1
	p.z, p.zVar, p.zRate = 0, 1, 0
	var s gridSums
	for i, d := range r.density {
		s.add(p, i, 0, d)
	}
	s.finish(p)
	p.zVar = 1
}

// fill gives the rates of the axis and their density, 1 at its highest.
func (m *marginal) fill(p *posterior, d *[rateCells]float64) {
	top := math.Inf(-1)
	for i := range d {
		t := p.lo + float64(i)*p.step
		p.rates[i] = m.rate(t)
		d[i] = m.logAt(t, p.rates[i])
		top = max(top, d[i])
	}
	for i := range d {
		d[i] = math.Exp(d[i] - top)
	}
}

// gridSums are sums over the grid, of figures taken from the axis' middle.
type gridSums struct{ n, b, bb, t, tt, z, zz, zb float64 }

func (s *gridSums) add(p *posterior, i int, z, w float64) {
	const mid = rateCells / 2
	b, t := p.rates[i]-p.rates[mid], float64(i-mid)
	s.n += w
	s.b += w * b
	s.bb += w * b * b
	s.t += w * t
	s.tt += w * t * t
	s.z += w * z
	s.zz += w * z * z
	s.zb += w * z * b
}

// finish turns the sums into means and variances.
func (s *gridSums) finish(p *posterior) {
	const mid = rateCells / 2
	b, t, z := s.b/s.n, s.t/s.n, s.z/s.n
	p.rate, p.rateVar = p.rates[mid]+b, s.bb/s.n-b*b
	p.axis, p.axisVar = p.lo+p.step*(float64(mid)+t), p.step*p.step*(s.tt/s.n-t*t)
	p.z, p.zVar, p.zRate = z, s.zz/s.n-z*z, s.zb/s.n-z*b
}
