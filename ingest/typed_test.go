package ingest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"pawl/wear"
)

// What is given is recorded as given; the rest is what a trail ride is like
// (common practice, no published source).
func TestTyped(t *testing.T) {
	cases := map[string]struct {
		km, climb, descent, hours float64
		recorded, estimated       []wear.Quantity
		lacking                   []wear.Quantity
	}{
		"all given": {42, 900, 850, 3.1,
			[]wear.Quantity{wear.Distance, wear.Climb, wear.Descent, wear.Moving},
			[]wear.Quantity{wear.Turns, wear.Work, wear.Braking}, nil},
		"km and climb": {42, 900, nan, nan,
			[]wear.Quantity{wear.Distance, wear.Climb},
			[]wear.Quantity{wear.Descent, wear.Moving, wear.Turns, wear.Work, wear.Braking}, nil},
		"km alone": {42, nan, nan, nan,
			[]wear.Quantity{wear.Distance}, []wear.Quantity{wear.Climb, wear.Descent, wear.Moving, wear.Turns, wear.Work, wear.Braking}, nil},
		"hours alone": {nan, nan, nan, 3,
			[]wear.Quantity{wear.Moving}, []wear.Quantity{wear.Distance, wear.Climb, wear.Descent, wear.Turns, wear.Work, wear.Braking}, nil},
		"nothing": {nan, nan, nan, nan, nil, nil,
			[]wear.Quantity{wear.Distance, wear.Climb, wear.Descent, wear.Moving, wear.Turns, wear.Work, wear.Braking}},
		"nonsense": {-3, math.Inf(1), -1, 0, nil, nil,
			[]wear.Quantity{wear.Distance, wear.Climb, wear.Descent, wear.Moving, wear.Turns, wear.Work, wear.Braking}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			out := Typed(Given{c.km, c.climb, c.descent, c.hours}, Model{}, wear.Usual{})
			var recorded, estimated []wear.Quantity
			for q := range wear.NQuantities {
				if out.Recorded[q] > 0 {
					recorded = append(recorded, q)
				}
				if out.Estimated[q] > 0 {
					estimated = append(estimated, q)
				}
			}
			assert.Equal(t, c.recorded, recorded)
			assert.Equal(t, c.estimated, estimated)
			assert.Equal(t, c.lacking, out.Lacking.List())
		})
	}
}

// The figures of an ordinary trail ride come out ordinary: 2.5–4.5 h, 150–250
// turns/km, 80–200 W on average (common practice).
func TestTypedIsOrdinary(t *testing.T) {
	for _, c := range [][2]float64{{42, 900}, {15, 500}, {60, 300}, {25, nan}} {
		out := Typed(Given{c[0], c[1], nan, nan}, Model{}, wear.Usual{})
		hours := out.Estimated.SI(wear.Moving) / 3600
		assert.InDelta(t, 13.5, c[0]/hours, 4.5, "km/h of %v", c)
		assert.InDelta(t, 195, out.Estimated.SI(wear.Turns)/c[0], 65, "turns/km of %v", c)
		assert.InDelta(t, 130, out.Estimated.SI(wear.Work)/hours/3600, 60, "W of %v", c)
	}
	out := Typed(Given{nan, nan, 1000, nan}, Model{RiderMass: 80, BikeMass: 15}, wear.Usual{})
	assert.InEpsilon(t, 500_000, out.Estimated.SI(wear.Braking), 0.02)
}

func TestTypedAbsurdPace(t *testing.T) {
	out := Typed(Given{500, nan, nan, 1}, Model{}, wear.Usual{})
	assert.Contains(t, out.Notes, "distance and hours do not fit: hours estimated")
	assert.Zero(t, out.Recorded[wear.Moving])
	assert.Positive(t, out.Estimated[wear.Moving])
}

// More way, climb or hours never make less of anything.
func TestTypedGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		km := rapid.Float64Range(0.1, 300).Draw(t, "km")
		climb := rapid.Float64Range(0, 5000).Draw(t, "climb")
		more := rapid.Float64Range(1, 3).Draw(t, "more")
		a, b := Typed(Given{km, climb, nan, nan}, Model{}, wear.Usual{}), Typed(Given{km * more, climb * more, nan, nan}, Model{}, wear.Usual{})
		for q := range wear.NQuantities {
			assert.GreaterOrEqual(t, b.Recorded[q]+b.Estimated[q], a.Recorded[q]+a.Estimated[q], q)
		}
	})
}

// A file with totals and no samples counts like a typed ride.
func TestTrackWithTotalsOnly(t *testing.T) {
	tr := &Track{Start: 1000, End: 7_201_000, Totals: totalless}
	tr.Totals.Distance, tr.Totals.Moving, tr.Totals.Turns = 30_000, 7000, 7100
	out := Reduce(tr, Model{})
	assert.Equal(t, 30_000.0, out.Recorded.SI(wear.Distance))
	assert.Equal(t, 7100.0, out.Recorded.SI(wear.Turns))
	assert.Positive(t, out.Estimated[wear.Work])
	assert.True(t, out.Lacking.Has(wear.Climb))
	assert.Equal(t, int64(7_200_000), out.Elapsed)
	assert.Equal(t, wear.Instant(1000), out.Start)
}
