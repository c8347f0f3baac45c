package wear

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Published: CRAN package PoissonBinomial, vignette "Exact Procedures": 62 values
// of 61 trials, printed to seven figures.
func TestPoissonBinomialAgainstThePublishedExample(t *testing.T) {
	probs := []float64{.2655086631, .3721238996, .5728533634, .9082077900, .2016819310, .8983896850, .9446752686, .6607977925, .6291140439, .0617862705}
	var p []float64
	for i, times := range []int{3, 1, 5, 5, 10, 6, 10, 7, 9, 5} {
		p = append(p, slices.Repeat(probs[i:i+1], times)...)
	}
	d := PoissonBinomial(p)
	list := rows(t, "poisson_binomial.csv")
	require.Len(t, list, 62)
	for _, row := range list {
		k := int(figure(t, row["k"]))
		assert.InEpsilon(t, figure(t, row["pmf_published"]), d.Chance(k), 5e-7, "k = %d", k)
	}
	assert.Zero(t, d.Chance(62))
}

// The example input of CRAN poibin, computed by exact convolution.
func TestPoissonBinomialAgainstTheSmallExample(t *testing.T) {
	d := PoissonBinomial([]float64{.1, .2, .3, .4, .5, .1, .2, .3, .4, .5})
	for _, row := range rows(t, "poisson_binomial_small.csv") {
		k := int(figure(t, row["k"]))
		assert.InDelta(t, figure(t, row["pmf"]), d.Chance(k), 1e-10)
		assert.InDelta(t, figure(t, row["cdf"]), d.AtMost(k), 1e-10)
	}
	assert.InDelta(t, 3, d.Mean(), 1e-12)
}

// rare is a demand of which the parts are so many and each so unlikely that it is
// Poisson's, within their probability.
func rare(mean float64) Demand {
	const parts = 200_000
	p := make([]float64, parts)
	for i := range p {
		p[i] = mean / parts
	}
	return PoissonBinomial(p)
}

// Published: Stevenson, Operations Management, 14th ed., p. 537 and table 12.3,
// and the other stock examples of the table.
func TestStockAgainstPublishedExamples(t *testing.T) {
	four, six := rare(4), rare(6)
	z := math.Erfc(-1.65/math.Sqrt2) / 2
	// 300 a lead time with a standard deviation of 5 √10: 1,800 parts of 1/6 each.
	tenDays := PoissonBinomial(slices.Repeat([]float64{1.0 / 6}, 1800))
	few := Demand{p: []float64{.2, .4, .3, .1}}
	cost := func(stock int) float64 {
		return 4200*few.Lacking(stock) + 800*(float64(stock)-few.Mean()+few.Lacking(stock))
	}
	got := map[string]float64{
		"critical ratio 3/(3+2)":                                   3.0 / 5,
		"stock level mean 4":                                       float64(four.Hold(3.0 / 5)),
		"reorder point d=30 L=10 sd=5 z=1.65":                      float64(tenDays.Hold(z)),
		"order-up-to S=8, Poisson 1.5/day, lead 3: P(D>8), mean 6": 1 - rareOf(t, 1.5, 4).AtMost(8),
		"on-order at S=9: 3 days x 1.5":                            rareOf(t, 1.5, 3).Mean(),
		"smallest S with F(S;6)>=6/(6+.01)":                        float64(six.Hold(6 / 6.01)),
		"Poisson mean 4.25, 99.6% in stock":                        float64(rare(4.25).Hold(.996)),
	}
	for k := range 6 {
		got["Poisson cdf mean 4 k="+string(rune('0'+k))] = four.AtMost(k)
	}
	for k := range 4 {
		got["expected cost stock="+string(rune('0'+k))+" Cs=4200 Ce=800"] = cost(k)
	}
	ages := fleetOfAges(t)
	got["OWN fleet mean"] = ages.Mean()
	for k := range 7 {
		got["OWN fleet ages 0,100,250,400,500,700 next 100 h: P(N<="+string(rune('0'+k))+")"] = ages.AtMost(k)
	}
	for _, row := range rows(t, "stock.csv") {
		v, known := got[row["case"]]
		require.True(t, known, row["case"])
		near := 5e-5 // 200,000 rare parts are Poisson's within their probability
		switch {
		case strings.HasPrefix(row["case"], "OWN"):
			near = 1e-6
		case strings.HasPrefix(row["case"], "reorder"):
			near = 1 // whole parts
		}
		assert.InDelta(t, figure(t, row["computed"]), v, near, row["case"])
	}
	best := slices.MinFunc([]int{0, 1, 2, 3}, func(a, b int) int { return int(cost(a) - cost(b)) })
	assert.Equal(t, best, few.Hold(4200.0/(4200+800)), "the newsvendor's ratio is the cheapest level")
}

// rareOf is a demand of so many a day over days.
func rareOf(t *testing.T, daily, days float64) Demand {
	t.Helper()
	return rare(daily * days)
}

// fleetOfAges is the project's own example: six parts of a Weibull life (NIST
// 8.2.2.1) that have lasted 0 to 700 h, and the next 100.
func fleetOfAges(t *testing.T) Demand {
	t.Helper()
	life := LifeResult{Shape: 1.720797, Scale: 606.527558}
	var p []float64
	for _, age := range []float64{0, 100, 250, 400, 500, 700} {
		l := lifespan{median: life.Quantile(0.5), shape: life.Shape}
		w := way{now: age, first: l, next: lifespan{median: math.Inf(1)}, lived: true}
		c := w.after(100)
		assert.InDelta(t, life.FailsWithin(age, 100), c.once, 1e-12)
		p = append(p, c.once)
	}
	return PoissonBinomial(p)
}

// probability draws one, the ends included.
func probability(t *rapid.T) float64 {
	return rapid.OneOf(rapid.Float64Range(0, 1), rapid.SampledFrom([]float64{0, 1, 1e-12})).Draw(t, "p")
}

// Every outcome of up to 16 parts, added up one by one.
func TestPoissonBinomialAgainstEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := make([]float64, rapid.IntRange(0, 16).Draw(t, "n"))
		for i := range p {
			p[i] = probability(t)
		}
		want := make([]float64, len(p)+1)
		for set := range 1 << len(p) {
			v, n := 1.0, 0
			for i := range p {
				if set>>i&1 == 1 {
					v, n = v*p[i], n+1
				} else {
					v *= 1 - p[i]
				}
			}
			want[n] += v
		}
		d := PoissonBinomial(p)
		for k := range want {
			if math.Abs(d.Chance(k)-want[k]) > 1e-13 {
				t.Fatalf("%v: P(%d) = %g, want %g", p, k, d.Chance(k), want[k])
			}
		}
	})
}

// Every outcome of up to nine parts that may need none, one or two.
func TestTwoReplacementsAgainstEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := make([]chances, rapid.IntRange(0, 9).Draw(t, "n"))
		all := 1
		for i := range list {
			once := probability(t)
			list[i], all = chances{once, once * probability(t)}, 3*all
		}
		want := make([]float64, 2*len(list)+1)
		for set := range all {
			v, n := 1.0, 0
			for _, c := range list {
				v *= []float64{1 - c.once, c.once - c.twice, c.twice}[set%3]
				n, set = n+set%3, set/3
			}
			want[n] += v
		}
		d := demandOf(list)
		for k := range want {
			if math.Abs(d.Chance(k)-want[k]) > 1e-13 {
				t.Fatalf("%v: P(%d) = %g, want %g", list, k, d.Chance(k), want[k])
			}
		}
	})
}

// Long lists lose only what is next to impossible: sums, mean and quantiles are
// those of the plain recurrence.
func TestLongDemandsAreThePlainRecurrence(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(150, 900).Draw(t, "n")
		seed, top := rapid.Float64Range(0, 1).Draw(t, "seed"), rapid.Float64Range(0.001, 1).Draw(t, "top")
		list, plain := make([]chances, n), []float64{1}
		for i := range list {
			p := top * math.Mod(seed+float64(i)*math.Phi, 1)
			list[i] = chances{p, p * p / 2}
			plain = added(plain, list[i])
		}
		d := demandOf(list)
		var sum float64
		for k, v := range plain {
			sum += d.Chance(k)
			if math.Abs(d.Chance(k)-v) > 1e-13 {
				t.Fatalf("P(%d) = %g, want %g", k, d.Chance(k), v)
			}
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Fatalf("sums to %g", sum)
		}
	})
}

// More likely parts never need a smaller stock, nor does a higher service level.
func TestHoldGrowsWithChanceAndService(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := make([]float64, rapid.IntRange(1, 80).Draw(t, "n"))
		more := make([]float64, len(p))
		for i := range p {
			p[i] = probability(t)
			more[i] = p[i] + (1-p[i])*rapid.Float64Range(0, 1).Draw(t, "more")
		}
		low, high := rapid.Float64Range(0.01, 0.99).Draw(t, "low"), rapid.Float64Range(0.01, 0.999).Draw(t, "high")
		a, b := PoissonBinomial(p), PoissonBinomial(more)
		if a.Hold(low) > b.Hold(low) || a.Mean() > b.Mean()+1e-9 {
			t.Fatalf("%v needs %d, %v %d", p, a.Hold(low), more, b.Hold(low))
		}
		if low <= high && a.Hold(low) > a.Hold(high) {
			t.Fatalf("%g needs %d, %g %d", low, a.Hold(low), high, a.Hold(high))
		}
		if k := a.Hold(low); a.AtMost(k) < low-1e-9 || k > 0 && a.AtMost(k-1) >= low {
			t.Fatalf("%d is not the least that is enough", k)
		}
	})
}

func BenchmarkDemand10000(b *testing.B) {
	list := make([]chances, 10_000)
	for i := range list {
		p := math.Mod(float64(i)*math.Phi, 1)
		list[i] = chances{p, p * p / 10}
	}
	for b.Loop() {
		demandOf(list)
	}
}
