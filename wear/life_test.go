package wear

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// lifeSet reads a data set of part life.
func lifeSet(t *testing.T, name string) []Unit {
	var units []Unit
	for i, row := range rows(t, "weibull_censored.csv") {
		if row["dataset"] != name {
			continue
		}
		u := Unit{Name: fmt.Sprintf("chain-%d", i), Load: figure(t, row["time"])}
		if row["status"] == "1" {
			u.Cause = Worn
		}
		units = append(units, u)
	}
	require.NotEmpty(t, units, name)
	return units
}

// Published: NIST/SEMATECH e-Handbook 8.2.2.1 and 8.4.1.3 (shape 1.7208, scale
// 606.5280, log-likelihood −75.135, mean 540.737); shock absorbers, Meeker &
// Escobar p. 630 (from memory: mu 10.23 ± 0.1099, sigma 0.3164 ± 0.0732); Pike's
// rats, Lawless p. 193 (from memory: 6.083, 234.32); the library manual's
// example g07be (shape 2.7870 ± 0.4273). The other columns were computed apart.
func TestPartLifeAgainstPublishedSets(t *testing.T) {
	for _, row := range rows(t, "weibull_expected.csv") {
		r, err := PartLife(lifeSet(t, row["dataset"]))
		require.NoError(t, err)
		assert.Equal(t, int(figure(t, row["failures"])), r.Failures)
		assert.Equal(t, int(figure(t, row["n"])), r.Failures+r.Censored)
		for _, c := range []struct {
			column string
			got    float64
		}{
			{"shape", r.Shape}, {"scale", r.Scale}, {"loglik", r.LogLik}, {"se_shape", r.ShapeErr}, {"se_scale", r.ScaleErr},
			{"mu", math.Log(r.Scale)}, {"sigma", 1 / r.Shape}, {"mean", r.Mean()}, {"b10", r.B10.At},
		} {
			want := figure(t, row[c.column])
			assert.InDelta(t, want, c.got, max(0.6e-4, 1e-6*math.Abs(want)), "%s %s", row["dataset"], c.column)
		}
	}
	r, err := PartLife(lifeSet(t, "nist_8_2_2_1"))
	require.NoError(t, err)
	assert.InDelta(t, 1.7208, r.Shape, 1e-3)
	assert.InDelta(t, 606.5280, r.Scale, 1e-3)
	assert.InDelta(t, -75.135, r.LogLik, 1e-3)
	assert.InDelta(t, 540.737, r.Mean(), 1e-3)
	assert.InDelta(t, 154.27, 2*2-2*r.LogLik, 1e-2, "AIC")
}

// Computed apart from the fit's parameters.
func TestFailsWithin(t *testing.T) {
	r := LifeResult{Shape: 1.720797, Scale: 606.527558}
	for _, row := range rows(t, "weibull_conditional.csv") {
		assert.InDelta(t, figure(t, row["p"]), r.FailsWithin(figure(t, row["t"]), figure(t, row["d"])), 1e-8, "from %s", row["t"])
	}
	assert.Zero(t, r.FailsWithin(100, 0))
	assert.InDelta(t, 1-r.Survives(700), r.FailsWithin(0, 700), 1e-15)
	assert.InDelta(t, 0.3, 1-r.Survives(r.Quantile(0.3)), 1e-12)
}

// Published: Meeker & Escobar, example 7.1: the exponential distribution, which
// is the Weibull of shape 1, fitted to wear found at inspections.
func TestWearFoundAtInspections(t *testing.T) {
	var units []Unit
	for _, row := range rows(t, "weibull_inspected.csv") {
		for range int(figure(t, row["count"])) {
			units = append(units, Unit{Load: figure(t, row["found"]), Good: figure(t, row["good"]), Found: true, Cause: Worn})
		}
	}
	require.Len(t, units, 200)
	f := &lifeFit{obs: observe(units)}
	f.m, f.shape = f.scale(1), 1
	assert.InDelta(t, 572.3, math.Exp(f.m), 0.05)
	const step = 1e-5
	info := -(f.at(f.m+step, 1).dm - f.at(f.m-step, 1).dm) / (2 * step)
	assert.InDelta(t, 41.72, math.Exp(f.m)/math.Sqrt(info), 0.01)
	for _, end := range []float64{498, 662} {
		fall := 2 * (f.at(f.m, 1).logLik - f.at(math.Log(end), 1).logLik)
		assert.InDelta(t, 3.841, fall, 0.06, "the interval's end is printed without decimals")
	}
	r, err := PartLife(units)
	require.NoError(t, err)
	assert.InDelta(t, 1, r.Shape, 2*r.ShapeErr, "exponential data")
	assert.False(t, r.Rough)
}

// Four failures are refused, five give a median, ten a B10, twenty are firm.
func TestPartLifeRefusesWhatTheDataCannotCarry(t *testing.T) {
	units := lifeSet(t, "nag_g07be")
	for n, want := range map[int]struct{ ok, b10, rough bool }{
		0: {}, 4: {}, 5: {true, false, true}, 9: {true, false, true}, 10: {true, true, true}, 19: {true, true, true}, 20: {true, true, false},
	} {
		r, err := PartLife(units[:n])
		if !want.ok {
			var e *LifeError
			require.ErrorAs(t, err, &e, n)
			assert.Equal(t, fmt.Sprintf("part life: %d of %d parts wore out or broke: 5 are needed to say how long such parts last", n, n), err.Error())
			assert.NotEmpty(t, e.Hint())
			continue
		}
		require.NoError(t, err, n)
		assert.Equal(t, want.b10, r.B10 != nil, n)
		assert.Equal(t, want.rough, r.Rough, n)
	}
}

func TestOnlyWornAndBrokeAreFailures(t *testing.T) {
	units := lifeSet(t, "nag_g07be")
	for i, c := range []Cause{Broke, Crash, Early, Lost, Sold, ""} {
		units[i].Cause = c
	}
	r, err := PartLife(units)
	require.NoError(t, err)
	assert.Equal(t, 15, r.Failures)
	assert.Equal(t, []Ending{{Worn, 14}, {Broke, 1}, {Crash, 1}, {Early, 1}, {Lost, 1}, {Sold, 1}, {"", 1}}, r.Endings)
}

func TestPartLifeOfWhatCannotTell(t *testing.T) {
	same := slices.Repeat([]Unit{{Load: 100, Cause: Worn}}, 8)
	first := slices.Repeat([]Unit{{Load: 100, Found: true, Cause: Worn}}, 8)
	one := slices.Repeat([]Unit{{Load: 200, Good: 100, Found: true, Cause: Worn}}, 8)
	for name, c := range map[string]struct {
		units []Unit
		want  string
	}{
		"all at one load":        {same, "any spread of life fits"},
		"all at the first look":  {first, "first look"},
		"all between two looks":  {one, "any spread of life fits"},
		"a load below nothing":   {[]Unit{{Name: "chain-3", Load: -1}}, `part "chain-3": load -1 is no load`},
		"a load that is none":    {[]Unit{{Name: "chain-3", Load: math.NaN()}}, "load NaN is no load"},
		"an endless load":        {[]Unit{{Name: "chain-3", Load: math.Inf(1)}}, "load +Inf is no load"},
		"a cause that is none":   {[]Unit{{Name: "chain-3", Load: 1, Cause: "tired"}}, `cause "tired": not one of`},
		"good after it was worn": {[]Unit{{Name: "chain-3", Load: 1, Good: 2, Found: true}}, "found good at 2, after"},
	} {
		_, err := PartLife(c.units)
		assert.ErrorContains(t, err, c.want, name)
	}
	r, err := PartLife(append(lifeSet(t, "nag_g07be"), Unit{Name: "chain-9"}))
	require.NoError(t, err)
	assert.Equal(t, []string{"left out: 1 part that did nothing that the book knows of"}, r.Notes)
}

// A part that came used proves nothing of the life it had before.
func TestEntryIsNotLife(t *testing.T) {
	units := lifeSet(t, "nist_8_2_2_1")
	fresh, err := PartLife(units)
	require.NoError(t, err)
	var used []Unit
	for i, u := range units {
		if i%2 == 0 && u.Load > 200 {
			u.Entry = 150
		}
		used = append(used, u)
	}
	r, err := PartLife(used)
	require.NoError(t, err)
	assert.Less(t, r.Median.At, fresh.Median.At)
}
