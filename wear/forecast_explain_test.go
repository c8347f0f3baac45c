package wear

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func explained(t *testing.T, w *world, p *PartCase) Explanation {
	t.Helper()
	e, err := Explain(w.build(), Default(), p.Part.ID, "change")
	require.NoError(t, err)
	require.NotNil(t, e.Forecast)
	return e
}

func TestExplainForecast(t *testing.T) {
	w, chain := ridden(t, 150, 0.2, 50, 100, 149)
	e := explained(t, w, chain)
	f := e.Forecast
	assert.InDelta(t, chainStart, f.Prior.Start, 1e-9)
	assert.InEpsilon(t, 0.44/320_000, f.Prior.Rate, 1e-3)
	assert.InEpsilon(t, rateSpread, f.Prior.RateSpread, 1e-3)
	assert.InEpsilon(t, 2e-6, f.Line.Rate, 0.15)
	assert.Less(t, f.Line.RateSpread, f.Prior.RateSpread)
	require.Len(t, f.Weights, 3)
	sum := 0.0
	for i, r := range f.Weights {
		assert.Equal(t, e.Readings[i], r.Reading)
		assert.Positive(t, r.Share)
		assert.Less(t, math.Abs(r.Off), 1.0, "all are on the line")
		sum += r.Share
	}
	assert.Less(t, sum, 1.0, "the prior has the rest")
	assert.Greater(t, f.Weights[2].Share, f.Weights[0].Share, "a late reading tells more of the rate")
	assert.InDelta(t, 149_000, f.Weights[2].Load, 1)
	rising(t, f.Now)
	rising(t, f.Crossing)
	rising(t, f.Days)
	assert.InDelta(t, f.Load+*f.Left.P50, *f.Crossing.P50, 1e-6)
	assert.Equal(t, f.Chance, e.Finding.Chance)
	assert.Len(t, e.How, 1+3+1+1+3)
}

func TestExplainBandHoldsLineAndLimit(t *testing.T) {
	w, chain := ridden(t, 150, 0.2, 50, 100, 149)
	f := explained(t, w, chain).Forecast
	require.Len(t, f.Band, bandPoints)
	for i, b := range f.Band {
		assert.LessOrEqual(t, b.P10, b.P50)
		assert.LessOrEqual(t, b.P50, b.P90)
		if i > 0 {
			assert.Greater(t, b.Load, f.Band[i-1].Load)
			assert.Greater(t, b.P50, f.Band[i-1].P50)
		}
		if b.Load > *f.Crossing.P90 {
			assert.Greater(t, b.P10, 0.97*f.Limit)
		}
	}
}

func TestAReadingOffTheLineIsSaid(t *testing.T) {
	w, chain := ridden(t, 150, 0.1, 40, 60, 80, 100, 120, 140)
	w.read(chain, 145, 0.45)
	e := explained(t, w, chain)
	assert.Greater(t, e.Forecast.Weights[6].Off, oddOff)
	assert.Contains(t, e.How[7], "far above the line")
}

var orderFrom = regexp.MustCompile(`today of ([0-9.]+) % or more would ask for the part to be ordered, 0.5 % or more would make it due`)

// The sentence on what would change the verdict is true.
func TestWhatWouldChangeTheVerdictDoes(t *testing.T) {
	w, chain := ridden(t, 150, 0.23, 50, 100, 149)
	e := explained(t, w, chain)
	assert.Equal(t, Fine, e.Finding.Verdict)
	assert.Equal(t, e.Forecast.Turn, e.Changes[0])
	m := orderFrom.FindStringSubmatch(e.Forecast.Turn)
	require.NotNil(t, m, e.Forecast.Turn)
	at, err := strconv.ParseFloat(m[1], 64)
	require.NoError(t, err)
	readings := chain.Readings
	for _, c := range []struct {
		value float64
		want  Verdict
	}{{at - 0.008, Fine}, {at + 0.008, Order}, {0.5, Due}} {
		chain.Readings = readings
		w.read(chain, 149.99, c.value)
		assert.Equal(t, c.want, w.judged("chain", "change").Verdict, "%g %%", c.value)
	}
	assert.Contains(t, explained(t, w, chain).Forecast.Turn, "a new part, or the deciding reading voided")
}

func TestExplainForecastOfAPartNotMeasuredYet(t *testing.T) {
	w, chain := ridden(t, 20, 0)
	e := explained(t, w, chain)
	assert.Equal(t, methodUnread, e.Method)
	assert.Empty(t, e.Forecast.Weights)
	assert.Equal(t, e.Forecast.Prior, e.Forecast.Line)
	assert.Contains(t, e.How[0], "before it was measured: 0.06 % as it came, 0.5 % after about 320,000 turns")
}

func TestExplainOfAChainThatMoved(t *testing.T) {
	const other ID = 2
	w, chain := ridden(t, 150, 0.2, 50, 100, 149)
	chain.Stays = []Stay{{Part: chain.Part.ID, Host: other, From: days(0), To: days(80)}, {Part: chain.Part.ID, Host: bikeID, From: days(80), To: Never}}
	c := w.build()
	c.Lines[other] = w.timeline()
	e, err := Explain(c, Default(), chain.Part.ID, "change")
	require.NoError(t, err)
	ws := e.Forecast.Weights
	require.Len(t, ws, 3)
	assert.Less(t, ws[0].Load, 0.0)
	assert.Contains(t, e.How[1], "on an earlier bike")
	assert.InDelta(t, 20_000, ws[1].Load, 1)
	assert.InDelta(t, 0.06+0.2*0.8, e.Forecast.Prior.Start, 0.06)
}
