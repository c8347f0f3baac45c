package wear

import "math"

// phiTable is the normal distribution function at steps of 1/phiSteps.
const (
	phiReach = 8
	phiSteps = 128
)

var phiTable = func() (t [2*phiReach*phiSteps + 2]float64) {
	for i := range t {
		t[i] = 0.5 * math.Erfc(-(float64(i)/phiSteps-phiReach)/math.Sqrt2)
	}
	return t
}()

// phi is the normal distribution function to 1e-6, by table.
func phi(z float64) float64 {
	x := (z + phiReach) * phiSteps
	if !(x > 0) {
		return 0
	}
	if x >= 2*phiReach*phiSteps {
		return 1
	}
	i := int(x)
	f := x - float64(i)
	return phiTable[i] + f*(phiTable[i+1]-phiTable[i])
}

// gaugeEdge is one reading of a gauge; ends are given where the tool's bias has
// its mean.
type gaugeEdge struct {
	load, in, out float64 // ends over softness; ∓Inf where none told
	soft          float64 // 1 / softness
}

// gauge is what one tool said. Where another gauge has the rows of the grid,
// its bias is integrated over even steps.
type gauge struct {
	edges []gaugeEdge
	bias  float64 // standard deviation
}

// gauges is the likelihood of all gauge readings. Only start + bias of the
// first tool enters in its readings, so that sum has the rows of the grid, and
// the start itself follows from it.
type gauges struct {
	first  gauge
	others []gauge
	rowSD  float64 // of start + bias given the rate
}

// gauging sorts the gauge readings by tool, the one with the largest bias first.
func gauging(e *evidence, p *posterior) gauges {
	var gs gauges
	for i, bias := range e.tools {
		g := gauge{bias: bias.sd}
		for _, r := range e.gauged {
			if r.tool == i {
				g.edges = append(g.edges, gaugeEdge{r.load, (r.in - bias.mean) / r.sd, (r.out - bias.mean) / r.sd, 1 / r.sd})
			}
		}
		switch {
		case g.edges == nil:
		case gs.first.edges == nil:
			gs.first = g
		case g.bias > gs.first.bias:
			gs.others, gs.first = append(gs.others, gs.first), g
		default:
			gs.others = append(gs.others, g)
		}
	}
	gs.rowSD = math.Hypot(p.sd, gs.first.bias)
	return gs
}

// likelihood of the readings of one gauge where it reads wear = v + rate × load.
func (g *gauge) likelihood(v, rate float64) float64 {
	l := 1.0
	for i := range g.edges {
		e := &g.edges[i]
		w := (v + rate*e.load) * e.soft
		l *= phi(w-e.in) * phi(e.out-w)
	}
	return l
}

// at is the likelihood of all gauges on a row of the grid.
func (gs *gauges) at(p *posterior, z, rate float64) float64 {
	mean := p.mid + p.slope*rate
	l := gs.first.likelihood(mean+gs.rowSD*z, rate)
	for i := range gs.others {
		l *= gs.others[i].blurred(mean+p.sd*p.share*z, rate, p.sd*p.rest)
	}
	return l
}

// blurred is the likelihood averaged over the tool's bias and what the row
// leaves open of the start.
func (g *gauge) blurred(start, rate, open float64) float64 {
	sd := math.Hypot(g.bias, open)
	var sum, n float64
	for z := -3.5; z <= 3.5; z += 0.5 {
		w := math.Exp(-z * z / 2)
		sum += w * g.likelihood(start+sd*z, rate)
		n += w
	}
	return sum / n
}

// Cells of the coarse look, and the weight below which a cell holds nothing.
const (
	coarseCells = 41
	gridNothing = 1e-10
)

// narrow lays the axis about the mode of exact and gauge readings together; it
// reports false where nothing on the grid explains the gauge's.
func (gs *gauges) narrow(p *posterior, m *marginal) bool {
	for range 3 {
		var logs [coarseCells]float64
		best := math.Inf(-1)
		for i := range logs {
			t := p.lo + float64(i)*p.step*(rateCells-1)/(coarseCells-1)
			logs[i] = m.log(t) + math.Log(gs.over(p, t))
			best = max(best, logs[i])
		}
		if math.IsInf(best, -1) {
			return false
		}
		if !p.zoom(logs[:]) {
			break
		}
	}
	return true
}

// over is the likelihood at a rate, averaged over every second row.
func (gs *gauges) over(p *posterior, t float64) float64 {
	b := t
	if !p.linear {
		b = math.Exp(t)
	}
	var l float64
	for j := 0; j < startCells; j += 2 {
		if rowWeights[j] > gridNothing {
			l += rowWeights[j] * gs.at(p, rowAt(j), b)
		}
	}
	return l
}

// fill gives every row its density.
func (gs *gauges) fill(p *posterior, m *marginal) {
	var d [rateCells]float64
	m.fill(p, &d)
	p.rows = make([]gridRow, startCells)
	var s gridSums
	for j := range p.rows {
		r := &p.rows[j]
		for i, w := range d {
			if w *= rowWeights[j]; w > gridNothing {
				b := p.rates[i]
				w *= gs.at(p, rowAt(j), b)
				r.density[i] = w
				s.add(p, i, rowAt(j), w)
			}
		}
		r.integrate()
	}
	s.finish(p)
	p.normalise()
}

// normalise makes the whole grid hold 1.
func (p *posterior) normalise() {
	var total float64
	for j := range p.rows {
		total += p.rows[j].integral[rateCells-1]
	}
	for j := range p.rows {
		r := &p.rows[j]
		for i := range r.density {
			r.density[i] /= total
			r.integral[i] /= total
		}
		r.weight = r.integral[rateCells-1]
	}
}
