package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// chainsWorn is a bike of which several chains, one after the other, were measured
// as they wore, each at a rate of its own; the last one is still on.
func chainsWorn(t *testing.T, r *rapid.T) *world {
	w := newWorld(t, 400)
	every := rapid.Float64Range(1, 20).Draw(r, "every")
	for day := 0.0; day < 400; day += every {
		w.ride(day, Ground(rapid.IntRange(0, int(Mud)).Draw(r, "ground")), hours(rapid.Float64Range(0.5, 5).Draw(r, "hours")))
	}
	from := Instant(Ever)
	n := rapid.IntRange(0, 4).Draw(r, "earlier")
	for i := range n + 1 {
		begin, end := float64(i)*400/float64(n+1), float64(i+1)*400/float64(n+1)
		p := w.fit("chain", from)
		rate := rapid.Float64Range(0.0001, 0.02).Draw(r, "rate")
		for range rapid.IntRange(0, 4).Draw(r, "readings") {
			day := rapid.Float64Range(begin+0.1, end).Draw(r, "day")
			w.read(p, day, 0.06+rate*(day-begin)+rapid.Float64Range(-0.05, 0.05).Draw(r, "off"))
		}
		if i < n {
			w.off(p, days(end), Worn)
			from = days(end)
		}
	}
	return w
}

// The bound that spares a fit never says of a chain that has as likely as not come
// to its limit that it has not, and the earlier chains never move the prior further
// than is said.
func TestRoughlyShortIsNeverWrong(t *testing.T) {
	short, pushed := 0, 0
	rapid.Check(t, func(r *rapid.T) {
		c := chainsWorn(t, r).build()
		a := newAssessor(&c, Default())
		p := a.chain
		prior := a.drafted(p).list[0].prior
		push, ok := a.mostLearnt(p, &prior)
		said := a.roughlyShort(p)
		f := a.forecast(p)
		if learned := prior; ok {
			learned.learnt(f.known)
			assert.LessOrEqual(t, learned.rate, prior.rate+push+1e-9)
			pushed += boolInt(learned.rate > prior.rate)
		}
		if said {
			short++
			assert.Less(t, f.curve.at(f.now), 0.5)
		}
	})
	assert.Positive(t, short)
	assert.Positive(t, pushed)
}

// Halving finds the same cells as looking at all of them does, on the axis that the
// prior lays and on each one narrower.
func TestCellsAreFoundByHalving(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		e := &evidence{tools: []toolBias{{sd: 0.03}, {mean: 0.2, sd: 0.1}}}
		for range rapid.IntRange(0, 8).Draw(r, "exact") {
			e.exact = append(e.exact, exactReading{
				load: rapid.Float64Range(0, 2e6).Draw(r, "load"), wear: rapid.Float64Range(-0.1, 1.5).Draw(r, "wear"),
				sd: rapid.Float64Range(0.001, 0.2).Draw(r, "sd"), tool: rapid.IntRange(0, 1).Draw(r, "tool")})
		}
		pr := chainPrior()
		pr.rate += rapid.Float64Range(-3, 3).Draw(r, "faster")
		pr.rateSD = rapid.Float64Range(0.27, 0.9).Draw(r, "spread")
		m := pr.marginal(e)
		p := &posterior{lo: pr.rate - gridReach*pr.rateSD, step: 2 * gridReach * pr.rateSD / (rateCells - 1)}
		for range 6 {
			first, last := m.cells(p)
			wantFirst, wantLast := m.everyCell(p)
			assert.Equal(t, [2]int{wantFirst, wantLast}, [2]int{first, last})
			if !p.narrow(first, last, rateCells) {
				break
			}
		}
	})
}
