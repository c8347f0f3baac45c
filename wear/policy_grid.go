package wear

import (
	"cmp"
	"math"
	"slices"
)

// node is a place of the grid, in standard deviations, and its weight.
type node struct{ z, w float64 }

// policyNodes are seven even places over 2.4 standard deviations to either side,
// with the normal density as weight (trapezoid rule).
var policyNodes = func() []node {
	list := make([]node, 7)
	var sum float64
	for i := range list {
		z := 0.8 * float64(i-3)
		list[i] = node{z, math.Exp(-z * z / 2)}
		sum += list[i].w
	}
	for i := range list {
		list[i].w /= sum
	}
	return list
}()

// policyModel is all that the costs of the two limits follow from.
type policyModel struct {
	facts  *PolicyFacts
	chains chainLife
	teeth  [nPolicyKinds]teethLife
	each   [nPolicyKinds]float64 // hundredths to change one
}

// straightAt is the wear before the knee at a reading, where past the knee the
// wear is so much faster.
func straightAt(reading, faster float64) float64 {
	if reading <= chainKnee {
		return reading
	}
	return chainKnee + (reading-chainKnee)/faster
}

// knee is how a chain wears past the knee at a place of the grid: the straight
// wear at both limits, and the share of the turns to 0.75 % that are past 0.5 %.
func knee(z float64) (straight [2]float64, past float64) {
	faster := chainFaster * math.Exp(speedSD*z)
	for i, limit := range PolicyLimits {
		straight[i] = straightAt(limit, faster)
	}
	return straight, (straight[1] - straight[0]) / (straight[1] - chainStart)
}

// used are the parts of a kind that 1,000 km take, at both limits.
func (m *policyModel) used(kind int, life [2]float64) (n [2]float64) {
	per := m.facts.use[kind].perWay()
	for i := range n {
		n[i] = per / life[i]
	}
	return n
}

// chainsUsed are the chains that 1,000 km take.
func (m *policyModel) chainsUsed(z float64, straight [2]float64) [2]float64 {
	rate := math.Exp(m.chains.rate + m.chains.sd*z)
	return m.used(policyChain, [2]float64{(straight[0] - chainStart) / rate, (straight[1] - chainStart) / rate})
}

// outcome is what both limits cost at one place of the grid.
type outcome struct {
	cost [2]float64
	w    float64
}

// outcomes goes through the grid.
func (m *policyModel) outcomes() []outcome {
	faster := policyNodes
	if !m.teeth[policyCassette].assumes() && !m.teeth[policyRing].assumes() {
		faster = []node{{0, 1}}
	}
	var list []outcome
	for i, kneeZ := range nodes5 {
		straight, past := knee(kneeZ)
		chains := m.chainCosts(straight)
		for _, k := range faster {
			teeth := crossed(m.teethCosts(policyCassette, k.z, past), m.teethCosts(policyRing, k.z, past))
			for _, o := range crossed(chains, teeth) {
				o.w *= weights5[i] * k.w
				list = append(list, o)
			}
		}
	}
	return list
}

func (m *policyModel) chainCosts(straight [2]float64) (list []outcome) {
	for _, z := range policyNodes {
		n := m.chainsUsed(z.z, straight)
		list = append(list, outcome{[2]float64{n[0] * m.each[policyChain], n[1] * m.each[policyChain]}, z.w})
	}
	return list
}

func (m *policyModel) teethCosts(kind int, faster, past float64) (list []outcome) {
	t := &m.teeth[kind]
	low, high := t.grids()
	for _, a := range low {
		for _, b := range high {
			n := m.used(kind, t.at([2]float64{a.z, b.z}, faster, past))
			list = append(list, outcome{[2]float64{n[0] * m.each[kind], n[1] * m.each[kind]}, a.w * b.w})
		}
	}
	return list
}

// crossed are the sums of what is independent.
func crossed(x, y []outcome) []outcome {
	list := make([]outcome, 0, len(x)*len(y))
	for _, a := range x {
		for _, b := range y {
			list = append(list, outcome{[2]float64{a.cost[0] + b.cost[0], a.cost[1] + b.cost[1]}, a.w * b.w})
		}
	}
	return list
}

// fill gives the figures: parts used in any case, costs where every price is
// known.
func (m *policyModel) fill(r *PolicyResult) {
	straight, past := knee(0)
	used := [nPolicyKinds][2]float64{policyChain: m.chainsUsed(0, straight)}
	for _, k := range []int{policyCassette, policyRing} {
		used[k] = m.used(k, m.teeth[k].at([2]float64{}, 0, past))
	}
	for i := range r.Limits {
		l := &r.Limits[i]
		l.Limit = PolicyLimits[i]
		for k := range used {
			l.Parts[k] = used[k][i]
			l.Each[k] = used[k][i] * m.each[k]
		}
	}
	if len(r.Lacking) > 0 {
		return
	}
	list := m.outcomes()
	for i := range r.Limits {
		r.Limits[i].Cost = spreadOf(list, func(o *outcome) float64 { return o.cost[i] })
	}
	r.Saves = spreadOf(list, func(o *outcome) float64 { return o.cost[1] - o.cost[0] })
	for i := range list {
		switch o := &list[i]; {
		case o.cost[0] < o.cost[1]:
			r.Chance += o.w
		case o.cost[0] == o.cost[1]:
			r.Chance += o.w / 2
		}
	}
	r.Chance = min(1, r.Chance)
}

// spreadOf are the tenth, half and nine tenths of a figure over the grid, along
// straight lines between the places.
func spreadOf(list []outcome, of func(*outcome) float64) Spread {
	type at struct{ v, w float64 }
	sorted := make([]at, len(list))
	for i := range list {
		sorted[i] = at{of(&list[i]), list[i].w}
	}
	slices.SortFunc(sorted, func(x, y at) int { return cmp.Or(cmp.Compare(x.v, y.v), cmp.Compare(x.w, y.w)) })
	quantile := func(q float64) float64 {
		before, sum := sorted[0].v, 0.0
		for _, s := range sorted {
			if mid := sum + s.w/2; mid >= q {
				f := 1.0
				if lag := mid - q; lag < s.w {
					f = 1 - lag/s.w
				}
				return before + f*(s.v-before)
			}
			before, sum = s.v, sum+s.w
		}
		return before
	}
	return Spread{quantile(0.1), quantile(0.5), quantile(0.9)}
}
