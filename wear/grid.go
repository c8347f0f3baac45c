package wear

import "math"

// The grid: rate × start. The rate has the fine axis, because what is asked of
// the posterior are quantiles of a crossing, and those cut along it.
const (
	rateCells  = 161
	startCells = 41
	gridReach  = 6.0                       // standard deviations to either side of the mode
	gridDrop   = gridReach * gridReach / 2 // by which the logarithm of the density has fallen there
)

// prior is what is known of wear = start + rate × load before any reading.
type prior struct {
	linear  bool    // the rate itself is normal, not its logarithm
	rate    float64 // mean of ln rate, or of rate where linear
	rateSD  float64 // +Inf = nothing is known (only where linear)
	start   float64 // mean wear of the part as fitted
	startSD float64 // +Inf = nothing is known
}

// exactReading is a figure that a tool gave at a load.
type exactReading struct {
	load, wear, sd float64
	tool           int // index into evidence.tools
}

// gaugeReading says that the wear lies between two ends of a gauge.
type gaugeReading struct {
	load, in, out, sd float64 // in = -Inf, out = +Inf where no end told
	tool              int
}

// toolBias is what a tool is off by in all its readings alike.
type toolBias struct{ mean, sd float64 }

// evidence is all that was read of a part on one bike.
type evidence struct {
	tools  []toolBias
	exact  []exactReading
	gauged []gaugeReading
}

// plane is the exact evidence and the prior of the start as the exponent
// -½(pbb b² + 2 pab ab + paa a²) + hb b + ha a of rate b and start a.
type plane struct{ pbb, pab, paa, hb, ha float64 }

// add takes the readings of one tool, its bias integrated out: the inverse of
// D + τ²11ᵀ is D⁻¹ - τ²/(1+τ²ΣD⁻¹) D⁻¹11ᵀD⁻¹ (Woodbury).
func (q *plane) add(list []exactReading, tool int, bias toolBias) {
	var n, u, uu, y, uy float64
	for _, r := range list {
		if r.tool != tool {
			continue
		}
		w, v := 1/(r.sd*r.sd), r.wear-bias.mean
		n, u, uu, y, uy = n+w, u+w*r.load, uu+w*r.load*r.load, y+w*v, uy+w*r.load*v
	}
	f := bias.sd * bias.sd / (1 + bias.sd*bias.sd*n)
	q.paa += n - f*n*n
	q.pab += u - f*n*u
	q.pbb += uu - f*u*u
	q.ha += y - f*n*y
	q.hb += uy - f*u*y
}

// plane sums up the prior of the start, the prior of a linear rate and all
// exact readings.
func (p *prior) plane(e *evidence) plane {
	var q plane
	if w := 1 / (p.startSD * p.startSD); w > 0 {
		q.paa, q.ha = w, w*p.start
	}
	for i, bias := range e.tools {
		q.add(e.exact, i, bias)
	}
	if w := 1 / (p.rateSD * p.rateSD); p.linear && w > 0 {
		q.pbb += w
		q.hb += w * p.rate
	}
	return q
}

// posterior is the belief about rate and start after the readings. The start is
// its mean given the rate, mid + slope × rate, and sd × (share × a row's place
// z + rest × a standard normal): so the axes of the grid are not correlated by
// the exact readings. Without a gauge share is 1 and rest 0, and every row is
// the same but for its weight: one is kept.
type posterior struct {
	linear         bool
	lo, step       float64 // of the rate's axis: ln rate, or rate where linear
	rates          [rateCells]float64
	mid, slope, sd float64
	share, rest    float64
	rows           []gridRow
	// Means, variances and covariance of the rate and of the row's place z.
	rate, rateVar, axis, axisVar float64
	z, zVar, zRate               float64
	unexplained                  bool // gauge readings that fit nothing else were left out
}

// gridRow is the density along the rate at one place of the start, and its
// running integral; weight is what the whole row holds.
type gridRow struct {
	weight   float64
	density  [rateCells]float64
	integral [rateCells]float64
}

// rowAt is the place of a row, in standard deviations.
func rowAt(j int) float64 { return gridReach * (2*float64(j)/(startCells-1) - 1) }

// rowWeights are the normal weights of the rows, adding up to 1.
var rowWeights = func() (w [startCells]float64) {
	var sum float64
	for j := range w {
		z := rowAt(j)
		w[j] = math.Exp(-z * z / 2)
		sum += w[j]
	}
	for j := range w {
		w[j] /= sum
	}
	return w
}()

// wear is the mean and standard deviation of start + rate × load.
func (p *posterior) wear(load float64) (mean, sd float64) {
	k := p.slope + load
	sd = p.sd * p.share
	mean = p.mid + k*p.rate + sd*p.z
	v := k*k*p.rateVar + 2*k*sd*p.zRate + sd*sd*p.zVar + p.sd*p.sd*p.rest*p.rest
	return mean, math.Sqrt(max(0, v))
}

// below is the share of the row's density up to a place on the rate's axis.
func (r *gridRow) below(cell float64) float64 {
	switch {
	case !(cell > 0):
		return 0
	case cell >= rateCells-1:
		return r.integral[rateCells-1]
	}
	i := int(cell)
	f := cell - float64(i)
	d := r.density[i]
	return r.integral[i] + f*(d+f*(r.density[i+1]-d)/2)
}

// integrate fills in the running integral by the trapezoid rule.
func (r *gridRow) integrate() {
	r.integral[0] = 0
	for i := 1; i < rateCells; i++ {
		r.integral[i] = r.integral[i-1] + (r.density[i-1]+r.density[i])/2
	}
}

// row is the row to read and its weight: the only one there is, or the j-th.
func (p *posterior) row(j int) (*gridRow, float64) {
	if len(p.rows) == 1 {
		return &p.rows[0], rowWeights[j]
	}
	return &p.rows[j], 1
}
