package ingest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// steps makes a track of samples at the given seconds, each rolled m metres on
// from the one before.
func stepsAt(metres float64, seconds ...int64) *Track {
	t := &Track{Totals: Totals{Moving: math.NaN()}}
	for i, s := range seconds {
		sample := blankSample()
		sample.T, sample.Dist = 1000*s, metres*float64(i)
		t.Samples = append(t.Samples, sample)
	}
	t.Start, t.End = 1000*seconds[0], 1000*seconds[len(seconds)-1]
	return t
}

func TestStandstillsShowAsGaps(t *testing.T) {
	for name, c := range map[string]struct {
		track *Track
		want  []Pause
	}{
		"ten seconds are no gap":       {stepsAt(0, 0, 10), nil},
		"eleven that got nowhere are":  {stepsAt(0, 0, 11), []Pause{{0, 11_000}}},
		"eleven at 0.5 m/s are ridden": {stepsAt(5.5, 0, 11), nil},
		"eleven just below are not":    {stepsAt(5.4, 0, 11), []Pause{{0, 11_000}}},
		"two":                          {stepsAt(8, 0, 2, 62, 64, 124), []Pause{{2_000, 62_000}, {64_000, 124_000}}},
	} {
		c.track.standstills()
		assert.Equal(t, c.want, c.track.Pauses, name)
	}
	unknown := stepsAt(0, 0, 60)
	unknown.Samples[1].Dist = math.NaN()
	unknown.standstills()
	assert.Empty(t, unknown.Pauses, "nothing tells where the bike was")
	broken := stepsAt(0, 0, 60, 120)
	broken.Breaks = []int{1}
	broken.standstills()
	assert.Equal(t, []Pause{{60_000, 120_000}}, broken.Pauses, "a break is no step")
}

func TestTimerThatOnlyTellsStartToEnd(t *testing.T) {
	for _, c := range []struct{ timer, want float64 }{{124, math.NaN()}, {122, math.NaN()}, {121, 121}, {60, 60}} {
		track := stepsAt(8, 0, 2, 62, 64, 124)
		track.Totals.Moving = c.timer
		track.fillIn()
		assert.True(t, c.want == track.Totals.Moving || math.IsNaN(c.want) && math.IsNaN(track.Totals.Moving), "%v", c.timer)
	}
	riding := stepsAt(8, 0, 2, 4, 6)
	riding.Totals.Moving = 6
	riding.fillIn()
	assert.InDelta(t, 6, riding.Totals.Moving, 0, "nothing shows that the bike stood")
}

// pedalled is a track of one sample a second with the cadence that c gives.
func pedalled(n int, c func(i int) float64) *Track {
	var seconds []int64
	for i := range n {
		seconds = append(seconds, int64(i))
	}
	t := stepsAt(5, seconds...)
	for i := range t.Samples {
		t.Samples[i].Lat, t.Samples[i].Lon, t.Samples[i].Cadence = 46+float64(i)/20_000, 7, c(i)
	}
	return t
}

// known is x where it is known, else absent.
func known(yes bool, x float64) float64 {
	if !yes {
		return math.NaN()
	}
	return x
}

func TestZerosThatAFileLeavesOut(t *testing.T) {
	coasts := func(i int) float64 { return known(i%60 < 45, 80) } // 15 s of every minute
	indoors := pedalled(600, coasts)
	for i := range indoors.Samples {
		indoors.Samples[i].Lat, indoors.Samples[i].Lon = math.NaN(), math.NaN()
	}
	for name, c := range map[string]struct {
		track *Track
		zeros int
	}{
		"coasting is left out":      {pedalled(600, coasts), 9 * 15}, // the last silence has no end
		"one zero is written":       {pedalled(600, func(i int) float64 { return coasts(i) * min(float64(i), 1) }), 1},
		"two silences":              {pedalled(170, coasts), 0},
		"few values":                {pedalled(600, func(i int) float64 { return known(i%12 == 0, 80) }), 0},
		"a sensor that dies":        {pedalled(1_000, func(i int) float64 { return known(i < 500, 80) }), 0},
		"silences too long":         {pedalled(4_000, func(i int) float64 { return known(i%400 < 60, 80) }), 0},
		"a few lost values of many": {pedalled(4_000, func(i int) float64 { return known(i%100 > 0, 80) }), 0},
		"dead for a while":          {pedalled(2_000, func(i int) float64 { return known(i < 900 || i > 1_300, coasts(i)) }), 14*15 + 12*15},
		"no sensor":                 {pedalled(600, func(int) float64 { return math.NaN() }), 0},
		"on a trainer":              {indoors, 0},
	} {
		c.track.fillIn()
		zeros := 0
		for _, s := range c.track.Samples {
			zeros += int(truth(s.Cadence == 0))
		}
		assert.Equal(t, c.zeros, zeros, name)
	}
}
