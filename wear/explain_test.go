package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestExplainCounts(t *testing.T) {
	w := newWorld(t, 84)
	ring := w.fit("ring", days(0))
	ring.Part.Teeth = 32
	idler := w.fit("idler", days(0))
	idler.Part.Teeth = 16
	idler.Stays[0].Opening = turns(5000)
	w.ride(1, Dry, turns(1000)).ride(2, Mud, turns(500))
	w.look(idler, 3, Good)
	w.ride(4, Dry, turns(1000)).ride(5, Wet, turns(700)).ride(6, Wet, turns(300))

	e, err := Explain(w.build(), Default(), idler.Part.ID, "look")
	require.NoError(t, err)
	assert.Equal(t, "every 500,000 turns of the idler", e.Rule)
	assert.Equal(t, Anchor{At: days(3), Why: "the last look (good)"}, e.Anchor)
	require.Len(t, e.Counts, 1)
	line := e.Counts[0]
	assert.Equal(t, "turns × 32 / 16", line.Formula)
	assert.True(t, line.Decides)
	assert.Equal(t, []GroundUse{
		{Ground: Dry, Rides: 1, Amount: 2000, Factor: 1, Used: 2000},
		{Ground: Wet, Rides: 2, Amount: 2000, Factor: 2, Used: 4000},
	}, line.Grounds)
	assert.InDelta(t, 6000, e.Finding.Used, 1e-9)
	assert.Equal(t, "common practice, no published source", e.Finding.Source)

	require.Len(t, e.Stays, 1)
	assert.Equal(t, int64(5), e.Stays[0].Sum.Rides)
	assert.True(t, e.Stays[0].Opening)
	assert.InDelta(t, 3500+5000, e.Life.SI(Turns), 1e-9)
	assert.Len(t, e.Looks, 1)

	assert.Equal(t, methodPace, e.Method)
	assert.Nil(t, e.Forecast)
	assert.InDelta(t, 2*(2000+3*500+2*1000), e.Recent.Used, 1e-9)
	assert.InDelta(t, e.Recent.Used/84, e.Recent.PerDay, 1e-9)
	assert.Contains(t, e.How[len(e.How)-1], "a day, newer weeks weigh more, × ÷ 1.57: about")
	assert.Contains(t, e.Changes, "a look, or a sign-off of look")
}

func TestExplainReadings(t *testing.T) {
	w := newWorld(t, 84)
	chain := w.fit("chain", days(0))
	w.ride(1, Dry, turns(100_000))
	w.read(chain, 50, 0.25)
	w.ride(60, Dry, turns(20_000))
	e, err := Explain(w.build(), Default(), chain.Part.ID, "change")
	require.NoError(t, err)
	require.Len(t, e.Readings, 1)
	assert.Equal(t, "%", e.Finding.Unit)
	assert.InDelta(t, 0.5, e.Finding.Share, 1e-9)
	require.Len(t, e.Counts, 1)
	assert.InDelta(t, 20_000, e.Counts[0].Used, 1e-9)
	assert.InDelta(t, 20_000+*e.Finding.LoadLeft.P50, e.Counts[0].Limit, 1e-6)
	assert.Equal(t, methodForecast, e.Method)
	assert.Equal(t, "before it was measured: 0.06 % as it came, 0.5 % after about 320,000 turns of the crank, × ÷ 1.8", e.How[0])
	assert.Contains(t, e.How[1], "measured 0.25 % by caliper at 100,000 turns of the crank: ")
	assert.Contains(t, e.How[2], "the line: 0.07")
	assert.Contains(t, e.How[3], "0.5 % at about ")
	assert.Contains(t, e.Changes, "a new reading of its elongation")
}

func TestExplainTakesTheMostUrgentJob(t *testing.T) {
	w := newWorld(t, 84)
	chain := w.fit("chain", days(0))
	w.read(chain, 1, 0.6)
	e, err := Explain(w.build(), Default(), chain.Part.ID, "")
	require.NoError(t, err)
	assert.Equal(t, "change", e.Finding.Job)
}

func TestExplainAgreesWithAssess(t *testing.T) {
	w := fullBike(t)
	c := w.build()
	for _, f := range Assess(c, Default()) {
		e, err := Explain(c, Default(), f.PartID, f.Job)
		require.NoError(t, err)
		assert.Equal(t, f, e.Finding)
		for _, l := range e.Counts {
			var sum float64
			for _, g := range l.Grounds {
				sum += g.Used
			}
			if l.Unit != "days" && f.Act != ActChange {
				assert.InDelta(t, l.Used, sum, 1e-6*max(1, sum), "%s %s: the grounds add up", f.Part, f.Job)
			}
		}
	}
}

func TestExplainErrors(t *testing.T) {
	w := newWorld(t, 84)
	chain := w.fit("chain", days(0))
	_, err := Explain(w.build(), Default(), 7, "")
	assert.ErrorContains(t, err, `part 7: not on bike "enduro"`)
	_, err = Explain(w.build(), Default(), chain.Part.ID, "polish")
	assert.ErrorContains(t, err, `job "polish": no such job of chain-1`)
}
