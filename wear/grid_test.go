package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// norris are the readings of NIST StRD Norris, all of one tool without a bias.
func norris(t *testing.T, sd float64) *evidence {
	e := &evidence{tools: []toolBias{{}}}
	for _, row := range rows(t, "norris.csv") {
		e.exact = append(e.exact, exactReading{load: figure(t, row["x"]), wear: figure(t, row["y"]), sd: sd})
	}
	require.Len(t, e.exact, 36)
	return e
}

// named gives a column of figures by their names.
func named(t *testing.T, file, column string) map[string]float64 {
	m := map[string]float64{}
	for _, row := range rows(t, file) {
		m[row["name"]] = figure(t, row[column])
	}
	return m
}

// NIST StRD Norris, certified values: a flat prior gives the least squares.
func TestGridNorris(t *testing.T) {
	want := named(t, "norris_certified.csv", "certified")
	flat := prior{linear: true, rateSD: math.Inf(1), startSD: math.Inf(1)}
	p := flat.fit(norris(t, want["resid_sd"]))
	start, startSD := p.wear(0)
	assert.InEpsilon(t, want["b0"], start, 1e-6)
	assert.InEpsilon(t, want["b1"], p.rate, 1e-6)
	assert.InEpsilon(t, want["se_b0"], startSD, 1e-6)
	assert.InEpsilon(t, want["se_b1"], math.Sqrt(p.rateVar), 1e-6)
}

// A normal prior on Norris: the closed form, given the variance of a reading
// (bayes_norris_nig.csv, own 40-digit arithmetic).
func TestGridConjugate(t *testing.T) {
	want := named(t, "bayes_norris_nig.csv", "value")
	sd := math.Sqrt(want["E_sigma2"])
	p := (&prior{linear: true, rate: 1, rateSD: 0.1 * sd, start: 0, startSD: 10 * sd}).fit(norris(t, sd))
	start, startSD := p.wear(0)
	assert.InEpsilon(t, want["mu_b0"], start, 1e-6)
	assert.InEpsilon(t, want["mu_b1"], p.rate, 1e-6)
	assert.InEpsilon(t, sd*math.Sqrt(want["V00"]), startSD, 1e-6)
	assert.InEpsilon(t, sd*math.Sqrt(want["V11"]), math.Sqrt(p.rateVar), 1e-6)
	at500, _ := p.wear(500)
	assert.InEpsilon(t, want["pred_mean_x500"], at500, 1e-6)
}

// Hoff 2009, chapter 9: oxygen uptake over age in two groups under a g-prior,
// which is what readings of 0 at the same ages with g times the variance say.
func TestGridOxygen(t *testing.T) {
	want := map[string][2]float64{}
	for _, row := range rows(t, "bayes_expected.csv")[:4] {
		want[row["coef"]] = [2]float64{figure(t, row["post_mean_exact"]), figure(t, row["post_sd_exact"])}
	}
	const sigma2, g = 12.04561444, 12 // E[s2] of the last row
	for group, add := range []float64{0, 1} {
		e := &evidence{tools: []toolBias{{}}}
		for _, row := range rows(t, "bayes_oxygen.csv") {
			if figure(t, row["aerobic"]) == add {
				age := figure(t, row["age"])
				e.exact = append(e.exact, exactReading{load: age, wear: figure(t, row["uptake"]), sd: math.Sqrt(sigma2)},
					exactReading{load: age, wear: 0, sd: math.Sqrt(sigma2 * g)})
			}
		}
		require.Len(t, e.exact, 12)
		p := (&prior{linear: true, rateSD: math.Inf(1), startSD: math.Inf(1)}).fit(e)
		start, startSD := p.wear(0)
		assert.InEpsilon(t, want["intercept"][0]+add*want["aerobic"][0], start, 1e-6)
		assert.InEpsilon(t, want["age"][0]+add*want["aerobic_age"][0], p.rate, 1e-6)
		if group == 0 {
			assert.InEpsilon(t, want["intercept"][1], startSD, 1e-6)
			assert.InEpsilon(t, want["age"][1], math.Sqrt(p.rateVar), 1e-6)
		}
	}
}

// The crossing of a normal line: P(a + b u ≥ L) in closed form.
func TestGridCrossingOfANormalLine(t *testing.T) {
	sd := 0.9
	p := (&prior{linear: true, rate: 1, rateSD: 0.1, start: 0, startSD: 10}).fit(norris(t, sd))
	c := p.steady(500)
	for _, u := range []float64{497.5, 498, 498.6, 499, 499.3, 500} {
		mean, s := p.wear(u)
		assert.InDelta(t, 0.5*math.Erfc((500-mean)/s/math.Sqrt2), c.at(u), 1e-3, "at %g", u)
	}
}

// A gauge with ends far apart and a hard edge between them says nothing; one
// reading of it with a soft edge is the normal distribution function.
func TestGaugeThatSaysNothing(t *testing.T) {
	pr := chainPrior()
	none := pr.fit(&evidence{})
	wide := pr.fit(&evidence{tools: []toolBias{{sd: 0.02}}, gauged: []gaugeReading{{load: 1e5, in: -5, out: 50, sd: 0.04}}})
	assert.InDelta(t, none.axis, wide.axis, 1e-6)
	assert.InDelta(t, math.Sqrt(none.axisVar), math.Sqrt(wide.axisVar), 1e-6)
	a, b := none.steady(0.72), wide.steady(0.72)
	for _, q := range []float64{0.1, 0.5, 0.9} {
		assert.InEpsilon(t, a.quantile(q), b.quantile(q), 1e-4)
	}
}

func chainPrior() prior {
	return prior{rate: math.Log(0.66 / 480_000), rateSD: 0.45, start: 0.06, startSD: 0.05}
}

// brute integrates the same model over a grid of its own, by the plain formulas.
func brute(pr prior, e *evidence, limit, load float64) (crossed float64) {
	var sum float64
	const n = 240
	for i := range n {
		z := -6 + 12*(float64(i)+0.5)/n
		b := math.Exp(pr.rate + pr.rateSD*z)
		for k := range n {
			y := -6 + 12*(float64(k)+0.5)/n
			a := pr.start + pr.startSD*y
			w := math.Exp(-(z*z + y*y) / 2)
			for tool, bias := range e.tools {
				w *= bruteTool(e, tool, bias, a, b)
			}
			sum += w
			if a+b*load >= limit {
				crossed += w
			}
		}
	}
	return crossed / sum
}

// bruteTool averages over the bias of one tool by the midpoint rule.
func bruteTool(e *evidence, tool int, bias toolBias, a, b float64) float64 {
	const n = 17
	var sum float64
	for i := range n {
		z := -4 + 8*(float64(i)+0.5)/n
		w := math.Exp(-z * z / 2)
		off := bias.mean + bias.sd*z
		for _, r := range e.exact {
			if r.tool == tool {
				d := (r.wear - off - a - b*r.load) / r.sd
				w *= math.Exp(-d * d / 2)
			}
		}
		for _, r := range e.gauged {
			if r.tool == tool {
				v := a + b*r.load + off
				w *= 0.25 * math.Erfc((r.in-v)/r.sd/math.Sqrt2) * math.Erfc((v-r.out)/r.sd/math.Sqrt2)
			}
		}
		sum += w
	}
	return sum
}

// Exact readings, a gauge and both, against integration by the plain formulas.
func TestGridAgainstPlainIntegration(t *testing.T) {
	ruler := exactReading{load: 150_000, wear: 0.31, sd: 0.07}
	late := exactReading{load: 280_000, wear: 0.42, sd: 0.07}
	gauge := gaugeReading{load: 200_000, in: math.Inf(-1), out: 0.5, sd: 0.04, tool: 1}
	again := gaugeReading{load: 300_000, in: 0.5, out: 0.75, sd: 0.04, tool: 1}
	play := []toolBias{{sd: 0.035}, {mean: 0.2, sd: 0.1}}
	for name, e := range map[string]*evidence{
		"exact": {tools: play, exact: []exactReading{ruler, late}},
		"gauge": {tools: play, gauged: []gaugeReading{gauge, again}},
		"both":  {tools: play, exact: []exactReading{ruler, late}, gauged: []gaugeReading{gauge, again}},
	} {
		pr := chainPrior()
		c := pr.fit(e).steady(0.72)
		for _, u := range []float64{300_000, 420_000, 600_000} {
			want := brute(pr, e, 0.72, u)
			assert.InDelta(t, want, c.at(u), 2e-3, "%s at %g", name, u)
		}
	}
}

func TestGaugeThatNothingExplainsIsLeftOut(t *testing.T) {
	pr := chainPrior()
	p := pr.fit(&evidence{tools: []toolBias{{}}, gauged: []gaugeReading{{load: 0, in: 1.5, out: math.Inf(1), sd: 0.04}}})
	assert.True(t, p.unexplained)
	none := pr.fit(&evidence{})
	assert.Equal(t, none.axis, p.axis)
}

// Whatever was read: a distribution rises from 0 to 1 and its figures are figures.
func TestGridAlwaysGivesADistribution(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		e := &evidence{tools: []toolBias{{sd: 0.03}, {mean: 0.2, sd: 0.1}}}
		for range rapid.IntRange(0, 8).Draw(rt, "exact") {
			e.exact = append(e.exact, exactReading{
				load: rapid.Float64Range(0, 2e6).Draw(rt, "load"), wear: rapid.Float64Range(-0.1, 1.5).Draw(rt, "wear"),
				sd: rapid.Float64Range(0.01, 0.2).Draw(rt, "sd"), tool: rapid.IntRange(0, 1).Draw(rt, "tool")})
		}
		for range rapid.IntRange(0, 3).Draw(rt, "gauged") {
			in := rapid.SampledFrom([]float64{math.Inf(-1), 0.5, 0.75}).Draw(rt, "in")
			e.gauged = append(e.gauged, gaugeReading{load: rapid.Float64Range(0, 2e6).Draw(rt, "load"), in: in,
				out: max(in, 0.5) + 0.25, sd: 0.04, tool: rapid.IntRange(0, 1).Draw(rt, "tool")})
		}
		pr := chainPrior()
		p := pr.fit(e)
		mean, sd := p.wear(1e5)
		if math.IsNaN(mean) || !(sd >= 0) || !(p.axisVar >= 0) {
			rt.Fatalf("wear %v ± %v, axis %v", mean, sd, p.axisVar)
		}
		c := p.crossing(0.72, drift{from: 1e5, sd: 0.1, speed: 0.05})
		last := 0.0
		for u := 1e3; u < 1e8; u *= 1.1 {
			v := c.at(u)
			if !(v >= last && v <= 1) {
				rt.Fatalf("falls from %v to %v at %v", last, v, u)
			}
			last = v
		}
		if p10, p90 := c.quantile(0.1), c.quantile(0.9); !(p10 <= p90) {
			rt.Fatalf("p10 %v, p90 %v", p10, p90)
		}
	})
}

func threeReadings() *evidence {
	return &evidence{tools: []toolBias{{sd: 0.035}}, exact: []exactReading{
		{load: 120_000, wear: 0.2, sd: 0.07}, {load: 240_000, wear: 0.38, sd: 0.07}, {load: 360_000, wear: 0.52, sd: 0.07}}}
}

func threeGauged() *evidence {
	return &evidence{tools: []toolBias{{sd: 0.02}}, gauged: []gaugeReading{
		{load: 120_000, in: math.Inf(-1), out: 0.5, sd: 0.04}, {load: 240_000, in: math.Inf(-1), out: 0.5, sd: 0.04},
		{load: 360_000, in: 0.5, out: 0.75, sd: 0.04}}}
}
