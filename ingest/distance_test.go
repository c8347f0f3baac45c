package ingest

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"pawl/wear"
)

func distanceOf(t *Track) float64 { return Reduce(t, Model{}).Recorded.SI(wear.Distance) }

func TestDistanceFromTheOdometer(t *testing.T) {
	steady := func(i int, s *Sample) { s.Dist = 1000 + 5*float64(i) }
	cases := map[string]struct {
		track *Track
		want  float64
	}{
		"last less first": {trackOf(601, steady), 3000},
		"silent for a minute": {trackOf(601, func(i int, s *Sample) {
			if steady(i, s); i > 100 && i < 160 {
				s.Dist = nan
			}
		}), 3000},
		"trembling": {trackOf(601, func(i int, s *Sample) {
			steady(i, s)
			s.Dist -= 8 * float64(i%2)
		}), 3000},
		"reset half-way, positions bridge it": {trackOf(601, func(i int, s *Sample) {
			eastward(s, 5*float64(i))
			s.Dist = 5 * float64(i%301)
		}), 3000},
		"a leap": {trackOf(601, func(i int, s *Sample) {
			eastward(s, 5*float64(i))
			if s.Dist = 5 * float64(i); i >= 300 {
				s.Dist += 90_000
			}
		}), 3000},
		"stood still while positions moved": {trackOf(601, func(i int, s *Sample) {
			eastward(s, 5*float64(i))
			s.Dist = 12
		}), 3000},
		"not a number": {trackOf(601, func(i int, s *Sample) {
			if steady(i, s); i%7 == 3 {
				s.Dist = math.Inf(1 - i%2*2)
			}
		}), 3000},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) { assert.InDelta(t, c.want, distanceOf(c.track), 9) })
	}
}

func TestDistanceFromPositions(t *testing.T) {
	along := func(at func(i int) float64) *Track {
		return trackOf(601, func(i int, s *Sample) { eastward(s, at(i)) })
	}
	thin := func(every int, at func(i int) float64) *Track {
		tr := along(at)
		for i := range tr.Samples {
			if i%every != 0 {
				tr.Samples[i].Lat = nan
			}
		}
		return tr
	}
	cases := map[string]struct {
		track *Track
		want  float64
	}{
		"steady":              {along(func(i int) float64 { return 5 * float64(i) }), 3000},
		"one wild position":   {along(func(i int) float64 { return 5*float64(i) + 20_000*isAt(i, 300) }), 3000},
		"a jump to elsewhere": {along(func(i int) float64 { return 5*float64(i) + 20_000*from(i, 300) }), 2995},
		"null island first": {trackOf(601, func(i int, s *Sample) {
			if eastward(s, 5*float64(i)); i < 100 {
				s.Lat, s.Lon = 0, 0
			}
		}), 2500},
		"a gap at riding speed":     {thin(60, func(i int) float64 { return 5 * float64(i) }), 3000},
		"a gap at a crawl":          {thin(60, func(i int) float64 { return 0.3 * float64(i) }), 0},
		"a gap of over 300 s":       {thin(600, func(i int) float64 { return 5 * float64(i) }), 0},
		"crawling, one a second":    {along(func(i int) float64 { return 0.8 * float64(i) }), 480},
		"half of the ride standing": {along(func(i int) float64 { return 5 * float64(min(i, 300)) }), 1500},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) { assert.InDelta(t, c.want, distanceOf(c.track), 1) })
	}
}

func isAt(i, at int) float64 { return truth(i == at) }
func from(i, at int) float64 { return truth(i >= at) }

// A receiver that trembles by half a metre would make kilometres in an hour.
func TestStandingJitterIsRemoved(t *testing.T) {
	chance := rand.New(rand.NewPCG(1, 2))
	tr := trackOf(3601, func(i int, s *Sample) { eastward(s, 0.7*chance.NormFloat64()) })
	var raw float64
	for i := 1; i < len(tr.Samples); i++ {
		a, b := tr.Samples[i-1], tr.Samples[i]
		e, n := geodesic(a.Lat, a.Lon, b.Lat, b.Lon)
		raw += math.Hypot(e, n)
	}
	assert.Greater(t, raw, 2000.0)
	assert.Less(t, distanceOf(tr), 20.0)
}

func TestDistanceFromSpeedAlone(t *testing.T) {
	tr := trackOf(601, func(i int, s *Sample) { s.Speed = 5 + 95*isAt(i, 300) })
	out := Reduce(tr, Model{})
	assert.InDelta(t, 3000, out.Recorded.SI(wear.Distance), 6)
	assert.Contains(t, out.Notes, "1 absurd value left out")
}

func TestDistanceTotalStandsInWherePlausible(t *testing.T) {
	tr := trackOf(601, func(i int, s *Sample) { s.Cadence = 80 })
	assert.True(t, Reduce(tr, Model{}).Lacking.Has(wear.Distance))
	tr.Totals.Distance = 3210
	assert.Equal(t, 3210.0, distanceOf(tr))
	tr.Totals.Distance = 321_000
	out := Reduce(tr, Model{})
	assert.True(t, out.Lacking.Has(wear.Distance))
	assert.Zero(t, out.Recorded[wear.Distance])
	tr.Totals.Distance = 3210
	assert.True(t, Reduce(tr, Model{IgnoreTotals: true}).Lacking.Has(wear.Distance))
}

func TestSegmentsAreNotJoined(t *testing.T) {
	tr := trackOf(601, func(i int, s *Sample) { eastward(s, 5*float64(i)+500*from(i, 300)) })
	tr.Breaks = []int{300}
	out := Reduce(tr, Model{})
	assert.InDelta(t, 2995, out.Recorded.SI(wear.Distance), 1)
	assert.Equal(t, 599.0, out.Recorded.SI(wear.Moving))
}
