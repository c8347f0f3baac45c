package wear

// Demand is how many parts may be needed: the probability of each number.
type Demand struct {
	from int       // the least number that has a probability
	p    []float64 // of from, from + 1, …
}

// chances are those that one part has to be replaced at least once, and at
// least twice, in a window.
type chances struct{ once, twice float64 }

// Sizes of the sums (chosen for speed; none of them changes a figure that is
// shown).
const (
	sumBlock  = 32    // parts that are added one by one before blocks are joined
	trimFrom  = 64    // numbers from which on the unlikeliest ends are left out
	trimMost  = 1e-15 // probability that each end loses at most at each join
	nilChance = 1e-9  // below which a part is left out
)

// PoissonBinomial is how many of independent parts are needed, each with a
// probability of its own. Up to 64 numbers it is exact by the recurrence
// f_k ← f_k (1 − p) + f_(k−1) p (Hong, Computational Statistics & Data Analysis 59,
// 2013); past that, ends of 1e-15 are left out where sums are joined. The order of
// the parts does not matter but for rounding.
func PoissonBinomial(p []float64) Demand {
	list := make([]chances, len(p))
	for i := range p {
		list[i].once = p[i]
	}
	return demandOf(list)
}

// demandOf is how many replacements the parts need together: each none, one or
// two. What is certain only moves the rest.
func demandOf(list []chances) Demand {
	certain := 0
	open := make([]chances, 0, len(list))
	for _, c := range list {
		if c.once >= 1 {
			certain++
			c = chances{once: c.twice}
		}
		if c.once > 0 {
			open = append(open, c)
		}
	}
	d := joined(open)
	d.from += certain
	return d
}

// joined halves the parts until they are few, adds those one by one, and folds
// the halves.
func joined(list []chances) Demand {
	if len(list) > sumBlock {
		half := len(list) / 2
		return fold(joined(list[:half]), joined(list[half:]))
	}
	p := make([]float64, 1, 2*len(list)+1)
	p[0] = 1
	for _, c := range list {
		p = added(p, c)
	}
	return Demand{p: p}
}

// added is the recurrence for one part, in place and from the top down.
func added(p []float64, c chances) []float64 {
	none, one, two := 1-c.once, c.once-c.twice, c.twice
	if p = append(p, 0); two > 0 {
		p = append(p, 0)
	}
	for k := len(p) - 1; k >= 0; k-- {
		v := p[k] * none
		if k >= 1 {
			v += p[k-1] * one
		}
		if k >= 2 {
			v += p[k-2] * two
		}
		p[k] = v
	}
	return p
}

// fold is the sum of two independent numbers.
func fold(x, y Demand) Demand {
	d := Demand{from: x.from + y.from, p: make([]float64, len(x.p)+len(y.p)-1)}
	for i, a := range x.p {
		row := d.p[i : i+len(y.p)]
		for j, b := range y.p {
			row[j] += a * b
		}
	}
	d.trim()
	return d
}

// trim leaves out the ends of a long list that are next to impossible.
func (d *Demand) trim() {
	if len(d.p) < trimFrom {
		return
	}
	lo, hi := 0, len(d.p)
	for sum := d.p[lo]; sum < trimMost; sum += d.p[lo] {
		lo++
	}
	for sum := d.p[hi-1]; sum < trimMost; sum += d.p[hi-1] {
		hi--
	}
	d.from, d.p = d.from+lo, d.p[lo:hi]
}

// mixed is a demand of which one of several holds, each with its weight.
func mixed(list []Demand, weights []float64) Demand {
	lo, hi := list[0].from, list[0].from
	for _, d := range list {
		lo, hi = min(lo, d.from), max(hi, d.from+len(d.p))
	}
	out := Demand{from: lo, p: make([]float64, hi-lo)}
	for i, d := range list {
		row := out.p[d.from-lo:]
		for k, v := range d.p {
			row[k] += weights[i] * v
		}
	}
	return out
}

// Chance is the probability that just so many are needed.
func (d Demand) Chance(n int) float64 {
	if n < d.from || n >= d.from+len(d.p) {
		return 0
	}
	return d.p[n-d.from]
}

// AtMost is the probability that a stock of so many is enough.
func (d Demand) AtMost(n int) float64 {
	var sum float64
	for k, v := range d.p {
		if d.from+k > n {
			break
		}
		sum += v
	}
	return min(1, sum)
}

// Mean is how many are needed on average.
func (d Demand) Mean() float64 {
	var sum float64
	for k, v := range d.p {
		sum += float64(d.from+k) * v
	}
	return sum
}

// Hold is the least stock that is enough with at least that probability: the
// service level. With the cost of a part that lacks (short) and of one too many
// (over) the cheapest level is short / (short + over) (the newsvendor's ratio,
// any textbook of operations management).
func (d Demand) Hold(service float64) int {
	var sum float64
	for k, v := range d.p {
		if sum += v; sum >= service-1e-12 {
			return d.from + k
		}
	}
	return d.from + len(d.p) - 1
}

// Lacking is how many are needed beyond a stock, on average.
func (d Demand) Lacking(stock int) float64 {
	var sum float64
	for k, v := range d.p {
		sum += float64(max(0, d.from+k-stock)) * v
	}
	return sum
}
