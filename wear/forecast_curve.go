package wear

import "math"

// curve is the distribution of the load at which a part reaches its limit: the
// probability at even steps of the logarithm of the load. Curves that differ
// only in their unit of load share their points.
type curve struct {
	lo, step float64
	p        *[curvePoints]float64
}

// curvePoints over nine standard deviations: a step is a tenth of one.
const curvePoints = 96

// Nodes and weights of Gauss and Hermite for a standard normal (Abramowitz and
// Stegun, table 25.10, scaled by √2 and 1/√π).
var (
	nodes5   = []float64{-2.8569700138728056, -1.3556261799742659, 0, 1.3556261799742659, 2.8569700138728056}
	weights5 = []float64{0.011257411327720691, 0.2220759220056126, 0.5333333333333333, 0.2220759220056126, 0.011257411327720691}
)

// drift is how far the rate may leave what the readings say of it: the wear up
// to a load is taken as read, past it the rate is off by a factor whose
// logarithm has the spread sd × the share of the load that lies beyond, and,
// of the wear to come, the share in which parts speed up has a spread of its own.
type drift struct {
	from  float64 // load of the last reading
	sd    float64
	speed float64
}

// spread is the standard deviation of ln rate over the way to a load.
func (d drift) spread(load float64) float64 {
	s := d.sd * (load - d.from) / load
	return math.Sqrt(s*s + d.speed*d.speed)
}

// crossing is the distribution of the load at which the wear comes to limit.
func (p *posterior) crossing(limit float64, d drift) *curve {
	c := p.steady(limit)
	if d.sd == 0 && d.speed == 0 {
		return c
	}
	out := &curve{lo: c.lo, step: c.step, p: &[curvePoints]float64{}}
	for i := range out.p {
		u := c.load(i)
		if u <= d.from {
			out.p[i] = c.p[i]
			continue
		}
		s := d.spread(u)
		for k, z := range nodes5 {
			off := 1.0
			if z != 0 {
				off = math.Exp(s * z)
			}
			out.p[i] += weights5[k] * c.at(d.from+off*(u-d.from))
		}
	}
	out.rise()
	return out
}

// rise lets the curve never fall nor leave 0 to 1, as no distribution does: the
// sums behind it are rounded.
func (c *curve) rise() {
	last := 0.0
	for i := range c.p {
		last = max(last, min(c.p[i], 1))
		c.p[i] = last
	}
}

// steady is the crossing where the rate stays what it was. A row's test is
// rate × (load + slope) ≥ limit - mid - sd × …, so logarithms are taken of each
// side once.
func (p *posterior) steady(limit float64) *curve {
	c := &curve{p: &[curvePoints]float64{}}
	p.span(c, limit)
	t := p.thresholds(limit)
	for i := range c.p {
		c.p[i] = p.reached(c.load(i)+p.slope, t)
	}
	c.rise()
	return c
}

// load is that of a point of the curve.
func (c *curve) load(i int) float64 { return math.Exp(c.lo + float64(i)*c.step) }

// span lays the curve's axis: four and a half standard deviations of the
// logarithm of the crossing, to either side of where the means put it.
func (p *posterior) span(c *curve, limit float64) {
	start, startSD := p.wear(0)
	rate := p.rate
	spread := p.axisVar
	if p.linear {
		spread = p.rateVar / (rate * rate)
	}
	way := max(limit-start, startSD/2)
	mid := math.Log(way / max(rate, 1e-300))
	_, sd := p.wear(math.Exp(mid))
	sd = max(sd/way, math.Sqrt(spread)/2, 1e-4)
	sd = min(sd, 2)
	c.lo, c.step = mid-4.5*sd, 9*sd/(curvePoints-1)
}

// threshold is one side of a row's test, its logarithm and its weight.
type threshold struct {
	row               *gridRow
	side, log, weight float64
}

// thresholds are those of every row, or of five places within each where the
// row leaves something open.
func (p *posterior) thresholds(limit float64) []threshold {
	nodes, weights := nodes5, weights5
	if p.rest == 0 {
		nodes, weights = []float64{0}, []float64{1}
	}
	list := make([]threshold, 0, startCells*len(nodes))
	for j := range startCells {
		r, w := p.row(j)
		if w*r.weight < gridNothing {
			continue
		}
		for k, x := range nodes {
			side := limit - p.mid - p.sd*(p.share*rowAt(j)+p.rest*x)
			list = append(list, threshold{r, side, math.Log(math.Abs(side)), w * weights[k]})
		}
	}
	return list
}

// reached is the probability that rate × reach is at least the side of its row.
func (p *posterior) reached(reach float64, list []threshold) float64 {
	var sum float64
	logReach := math.Log(math.Abs(reach))
	for i := range list {
		t := &list[i]
		sum += t.weight * p.beyond(t, reach, logReach)
	}
	return sum
}

func (p *posterior) beyond(t *threshold, reach, logReach float64) float64 {
	r := t.row
	if p.linear {
		cell := (t.side/reach - p.lo) / p.step
		if reach > 0 {
			return r.weight - r.below(cell)
		}
		return r.below(cell)
	}
	switch {
	case reach > 0 && t.side <= 0:
		return r.weight
	case reach <= 0 && t.side >= 0:
		return 0
	}
	below := r.below((t.log - logReach - p.lo) / p.step)
	if reach > 0 {
		return r.weight - below
	}
	return below
}

// at is the probability that the limit is reached by a load.
func (c *curve) at(load float64) float64 {
	if load <= 0 {
		return 0
	}
	x := (math.Log(load) - c.lo) / c.step
	switch {
	case !(x > 0):
		return c.p[0]
	case x >= curvePoints-1:
		return c.p[curvePoints-1]
	}
	i := int(x)
	return min(c.p[i]+(x-float64(i))*(c.p[i+1]-c.p[i]), c.p[i+1]) // rounding may carry it past
}

// quantile is the load by which the limit is reached with probability q; +Inf
// where the curve does not come so far.
func (c *curve) quantile(q float64) float64 {
	if c.p[curvePoints-1] < q {
		return math.Inf(1)
	}
	i := 0
	for c.p[i] < q {
		i++
	}
	if i == 0 {
		return 0 // past it before it was fitted
	}
	f := (q - c.p[i-1]) / (c.p[i] - c.p[i-1])
	return math.Exp(c.lo + (float64(i-1)+f)*c.step)
}
