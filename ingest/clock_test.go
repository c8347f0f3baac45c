package ingest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"pawl/wear"
)

func TestMovingTime(t *testing.T) {
	plain := func(i int, s *Sample) { rolled(i, s, 5, 0) }
	at := func(i int64) int64 { return 1_700_000_000_000 + i*1000 }
	cases := map[string]struct {
		pauses []Pause
		shift  func(i int) int64 // ms added to the time of sample i
		want   float64
	}{
		"one a second":            {want: 600},
		"a pause":                 {pauses: []Pause{{at(100), at(160)}}, want: 540},
		"pauses that overlap":     {pauses: []Pause{{at(130), at(190)}, {at(100), at(160)}}, want: 510},
		"a pause within a step":   {pauses: []Pause{{at(100) + 200, at(100) + 700}}, want: 599.5},
		"a pause turned round":    {pauses: []Pause{{at(160), at(100)}}, want: 600},
		"a pause beyond the ride": {pauses: []Pause{{at(590), at(9000)}}, want: 590},
		"a gap of an hour":        {shift: func(i int) int64 { return int64(3_600_000 * from(i, 300)) }, want: 629},
		"a paused hour": {
			shift:  func(i int) int64 { return int64(3_600_000 * from(i, 300)) },
			pauses: []Pause{{at(299), at(300) + 3_600_000}}, want: 599,
		},
		"a gap paused but for 10 s": {
			shift:  func(i int) int64 { return int64(3_600_000 * from(i, 300)) },
			pauses: []Pause{{at(299) + 10_000, at(300) + 3_600_000}}, want: 609,
		},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			tr := trackOf(601, plain)
			tr.Pauses = c.pauses
			for i := range tr.Samples {
				if c.shift != nil {
					tr.Samples[i].T += c.shift(i)
				}
			}
			assert.InDelta(t, c.want, Reduce(tr, Model{}).Recorded.SI(wear.Moving), 0.001)
		})
	}
}

func TestTimerTotal(t *testing.T) {
	tr := trackOf(601, func(i int, s *Sample) { rolled(i, s, 5, 0) })
	tr.Totals.Moving = 580
	assert.Equal(t, 580.0, Reduce(tr, Model{}).Recorded.SI(wear.Moving))
	assert.Equal(t, 600.0, Reduce(tr, Model{IgnoreTotals: true}).Recorded.SI(wear.Moving))
	tr.Totals.Moving = 58_000
	out := Reduce(tr, Model{})
	assert.Equal(t, 600.0, out.Recorded.SI(wear.Moving))
	assert.Contains(t, out.Notes, "the device's total for timer time, 16:06 h, does not fit its samples, 0:10 h: samples used")
}

// Tidy pauses are in order, apart, and cover what the others covered.
func TestTidyPauses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pauses []Pause
		covered := map[int64]bool{}
		for range rapid.IntRange(0, 6).Draw(t, "n") {
			p := Pause{rapid.Int64Range(0, 40).Draw(t, "from"), rapid.Int64Range(0, 40).Draw(t, "to")}
			pauses = append(pauses, p)
			for k := p.From; k < p.To; k++ {
				covered[k] = true
			}
		}
		var sum int64
		last := int64(-1)
		for _, p := range tidyPauses(pauses) {
			assert.Greater(t, p.From, last)
			assert.Greater(t, p.To, p.From)
			sum, last = sum+p.To-p.From, p.To
		}
		assert.Equal(t, len(covered), int(sum))
	})
}
