package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var wideCassette = []int{10, 12, 14, 16, 18, 21, 24, 28, 33, 39, 45, 51}

func enduroQuery() RingQuery {
	offset := 3.0
	return RingQuery{Bike: "enduro", Ring: 32, Cogs: wideCassette, Wheel: 2.326, Speeds: 12, Line: 52, Drive: Drive{
		Spacing: 148, Chainstay: 440, RingMount: "direct", Offset: &offset, GuideLeast: 28, GuideMost: 36, FrameMost: 34, Pitches: 118}}
}

func TestRings(t *testing.T) {
	r := Rings(enduroQuery())
	var teeth []int
	for _, c := range r.Choices {
		teeth = append(teeth, c.Teeth)
		assert.Equal(t, c.Teeth == 32, c.Same)
	}
	assert.Equal(t, []int{28, 30, 32, 34}, teeth)
	assert.Equal(t, []RingRefusal{{Teeth: 36, Why: "the frame clears 34 teeth at most"}}, r.Refused)
	assert.Equal(t, []Question{{"speeds", "is the ring listed for a chain of 12 speeds?"}}, r.Questions)
	assert.Empty(t, r.First)
	assert.Equal(t, []LineRange{{52, 52}, {55, 55}}, r.Lines)

	small := r.Choices[1]
	assert.InDelta(t, -6.25, small.Percent, 1e-12, "every gear")
	require.Len(t, small.Gears, 12)
	for _, g := range small.Gears {
		assert.InDelta(t, small.Percent, 100*(g.Now/g.Was-1), 1e-9, "cog %d", g.Cog)
	}
	assert.InDelta(t, 2.326*30/51, small.Speed, 1e-12, "m/s at one turn a second")
	assert.InDelta(t, 60.7490, small.Radius, 0.5e-4)
	assert.InDelta(t, 60.7490-64.7846, small.Move, 1e-4, "inwards")
	assert.Equal(t, 52.0, small.Line)
}

// Computed table: development of a 32-tooth ring with a wheel of 2.326 m.
func TestDevelopment(t *testing.T) {
	for _, row := range rows(t, "development_32t.csv") {
		cog := int(figure(t, row["cog"]))
		assert.InDelta(t, figure(t, row["dev_m"]), Development(32, cog, 2.326), 0.5e-5, "cog %d", cog)
	}
}

// Computed table of pitch radii (ISO 606 annex A).
func TestGuideMove(t *testing.T) {
	list := rows(t, "chain_kinematics.csv")
	for _, was := range list {
		for _, now := range list {
			want := figure(t, now["pitch_radius_mm"]) - figure(t, was["pitch_radius_mm"])
			assert.InDelta(t, want, GuideMove(int(figure(t, was["ring"])), int(figure(t, now["ring"]))), 1.1e-4)
		}
	}
}

// The formula for roller chain against the belt round both pitch circles, drawn
// tight: two tangents and two arcs.
func TestChainPitchesAgainstGeometry(t *testing.T) {
	for _, z1 := range []int{26, 30, 32, 36} {
		for _, z2 := range []int{10, 28, 51} {
			for _, c := range []float64{415, 440, 470} {
				r1, r2 := Pitch*float64(z1)/(2*math.Pi), Pitch*float64(z2)/(2*math.Pi)
				a := math.Asin((r2 - r1) / c)
				belt := 2*c*math.Cos(a) + math.Pi*(r1+r2) + 2*a*(r2-r1)
				assert.InDelta(t, belt/Pitch, ChainPitches(z1, z2, c), 0.01, "%d and %d teeth at %g mm", z1, z2, c)
			}
		}
	}
}

func TestChainIsChangedByPairs(t *testing.T) {
	q := enduroQuery()
	q.Drive.FrameMost = 0
	for _, c := range []struct{ now, then, pairs int }{{32, 30, 0}, {32, 34, 2}, {32, 36, 2}, {36, 32, -2}, {34, 28, -2}, {32, 32, 0}} {
		q.Ring, q.Offers = c.now, []RingOffer{{Teeth: c.then}}
		r := Rings(q)
		require.Len(t, r.Choices, 1)
		require.NotNil(t, r.Choices[0].Chain)
		assert.Equal(t, c.pairs, r.Choices[0].Chain.Pitches, "%d to %d: %.2f", c.now, c.then, r.Choices[0].Chain.Exact)
	}
	q.Ring, q.Drive.Pitches, q.Offers = 32, 108, []RingOffer{{Teeth: 32}}
	short := Rings(q).Choices[0]
	assert.Equal(t, 6, short.Chain.Pitches, "111.1 pitches at rest and a pair more")
	assert.Contains(t, short.Notes[0], "short as it is")
}

// Pairs are even, never leave a chain shorter than a quarter pitch below what
// it needs, and never a whole pair too long.
func TestPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		need := rapid.Float64Range(-12, 12).Draw(t, "need")
		n := pairs(need)
		require.Zero(t, n%2)
		require.GreaterOrEqual(t, float64(n), need-pairSlack)
		require.Less(t, float64(n), need+2)
	})
}

func TestRingsRefused(t *testing.T) {
	six := 6.0
	for name, c := range map[string]struct {
		offer RingOffer
		mount string
		why   string
	}{
		"odd":           {RingOffer{Teeth: 31}, "direct", "odd: a narrow-wide ring has an even number of teeth"},
		"guide":         {RingOffer{Teeth: 26}, "direct", "the guide takes 28 to 36 teeth"},
		"no ring":       {RingOffer{Teeth: 3}, "direct", "no ring of a bike has so many teeth"},
		"bolts":         {RingOffer{Teeth: 30}, "104/4", "bolts on a circle of 104 mm leave the chain room from 32 teeth on"},
		"other mount":   {RingOffer{Teeth: 32, Mount: "104/4"}, "direct", "mount 104/4, the crank has direct"},
		"other bolts":   {RingOffer{Teeth: 34, Mount: "110/4"}, "110/5", "mount 110/4, the crank has 110/5"},
		"speeds":        {RingOffer{Teeth: 32, Speeds: []int{9, 10, 11}}, "direct", "listed for 9, 10, 11 speeds, the chain is for 12"},
		"mount is none": {RingOffer{Teeth: 32, Mount: "round"}, "direct", `ring mount "round": write direct`},
		"fits":          {RingOffer{Teeth: 32, Mount: "104", Speeds: []int{12}, Offset: &six}, "104/4", ""},
	} {
		q := enduroQuery()
		q.Drive.RingMount, q.Offers = c.mount, []RingOffer{c.offer}
		r := Rings(q)
		if c.why == "" {
			assert.Len(t, r.Choices, 1, name)
			continue
		}
		require.Len(t, r.Refused, 1, name)
		assert.Contains(t, r.Refused[0].Why, c.why, name)
		assert.Empty(t, r.Choices, name)
	}
}

// A ring of another offset moves the chain line, and is remarked where that
// takes it off.
func TestRingOffsetMovesTheChainLine(t *testing.T) {
	q := enduroQuery()
	zero, six := 0.0, 6.0
	q.Offers = []RingOffer{{Model: "flat", Teeth: 30, Offset: &zero}, {Model: "deep", Teeth: 32, Offset: &six}}
	r := Rings(q)
	require.Len(t, r.Choices, 2)
	assert.Equal(t, 55.0, r.Choices[0].Line)
	assert.Empty(t, r.Choices[0].Notes, "some bikes of 148 mm have 55")
	assert.Equal(t, 49.0, r.Choices[1].Line)
	assert.Contains(t, r.Choices[1].Notes, "chain line 49 mm: 3 mm too far in, against the usual 52 or 55 mm of 148 mm rear spacing")
}

func TestRingsAskWhatTheyCannotKnow(t *testing.T) {
	about := func(q RingQuery) (list []string) {
		for _, x := range Rings(q).Questions {
			list = append(list, x.About)
		}
		return list
	}
	assert.Equal(t, []string{"ring", "cassette", "wheel", "guide range", "ring mount", "chainstay", "chain line", "rear spacing", "speeds"}, about(RingQuery{}))
	assert.Empty(t, Rings(RingQuery{}).Choices)
	assert.Equal(t, []string{"cassette", "wheel", "guide range", "ring mount", "chainstay", "chain line", "rear spacing", "frame clearance", "speeds"}, about(RingQuery{Ring: 32}))
	q := enduroQuery()
	q.Offers = []RingOffer{{Teeth: 32, Speeds: []int{12}}}
	assert.Empty(t, about(q))
	q.Drive.GuideLeast, q.Drive.GuideMost, q.Drive.FrameMost, q.Ring, q.Offers = 0, 0, 0, 33, nil
	var teeth []int
	for _, c := range Rings(q).Choices {
		teeth = append(teeth, c.Teeth)
	}
	assert.Equal(t, []int{30, 32, 34, 36}, teeth, "the even ones around an odd ring")
}

// A worn chain and a worn cassette are named first, and all that is past its
// limit makes one job.
func TestWornPartsComeFirst(t *testing.T) {
	w := newWorld(t, 100)
	w.bike.Wheel = 2.326
	chain, cassette, ring := w.fit("chain", days(0)), w.fit("cassette", days(0)), w.fit("ring", days(0))
	cassette.Part.Cogs, ring.Part.Teeth, ring.Part.Narrow = wideCassette, 32, true
	w.ride(1, Dry, hours(10))
	w.read(chain, 50, 0.3)
	rings := func() RingAdvice {
		c := w.build()
		return Rings(RingsOf(c, enduroSetup(), Assess(c, Default())))
	}
	r := rings()
	assert.Empty(t, r.First)
	require.Len(t, r.Choices, 4)
	assert.InDelta(t, -12.5, r.Choices[0].Percent, 1e-12)

	w.read(chain, 60, 0.8)
	r = rings()
	require.Len(t, r.First, 1)
	assert.Regexp(t, `^chain-1 is past its limit \(.*0\.8 .*\): it would wear the new ring to its own pitch: change it first, or with the ring$`, r.First[0])
	assert.Empty(t, r.Together)

	w.look(ring, 61, Replace)
	w.look(cassette, 61, Replace)
	r = rings()
	require.Len(t, r.First, 2)
	assert.Contains(t, r.First[1], "cassette-1 is past its limit")
	assert.Equal(t, []string{"chain-1", "cassette-1", "ring-1"}, r.Together)
}

// Published: chords of bolt circles (sheldonbrown.com/numbers.html), whose rows
// 94/5 and 58/5 are off by up to 0.21 mm.
func TestBoltChords(t *testing.T) {
	for _, row := range rows(t, "mounts.csv") {
		m, err := ParseRingMount(row["bcd_mm"] + "/" + row["bolts"])
		require.NoError(t, err)
		assert.InDelta(t, figure(t, row["computed_chord_mm"]), m.Chord(), 0.5e-3)
		tolerance := 0.1
		if m == (RingMount{94, 5}) || m == (RingMount{58, 5}) {
			tolerance = 0.21
		}
		assert.InDelta(t, figure(t, row["published_chord_mm"]), m.Chord(), tolerance, m)
	}
}

// The smallest rings that are sold for a circle of bolts (from memory).
func TestLeastRingOfABoltCircle(t *testing.T) {
	for circle, want := range map[float64]int{58: 20, 64: 22, 74: 24, 94: 29, 104: 32, 110: 33, 130: 38} {
		assert.Equal(t, want, RingMount{Circle: circle}.Least(), "%g mm", circle)
	}
	assert.Zero(t, RingMount{}.Least())
}

func TestParseRingMount(t *testing.T) {
	for text, want := range map[string]string{"direct": "direct", " Direct ": "direct", "104": "104", "104/4": "104/4", "BCD 104 mm": "104", "94x5": "94/5"} {
		m, err := ParseRingMount(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, m.String(), text)
	}
	for _, text := range []string{"", "1040", "104/9", "mount", "20/4", "NaN"} {
		_, err := ParseRingMount(text)
		assert.ErrorContains(t, err, "ring mount", text)
	}
}

// Whatever is known, each ring that fits is even, in range and a figure.
func TestRingsAlwaysFit(t *testing.T) {
	some := func(t *rapid.T, name string, values ...float64) float64 {
		return rapid.SampledFrom(values).Draw(t, name)
	}
	rapid.Check(t, func(t *rapid.T) {
		q := RingQuery{Ring: rapid.IntRange(0, 60).Draw(t, "ring"), Speeds: rapid.IntRange(0, 13).Draw(t, "speeds"),
			Wheel: some(t, "wheel", 0, 2.1, 2.326), Line: some(t, "line", 0, 49, 60)}
		q.Drive = Drive{Spacing: some(t, "spacing", 0, 130, 148), Chainstay: some(t, "stay", 0, 435), RingMount: rapid.SampledFrom([]string{"", "direct", "104/4", "?"}).Draw(t, "mount"),
			GuideLeast: rapid.IntRange(20, 40).Draw(t, "least"), GuideMost: rapid.IntRange(0, 60).Draw(t, "most"), Pitches: 2 * rapid.IntRange(0, 60).Draw(t, "pairs")}
		if rapid.Bool().Draw(t, "cassette") {
			q.Cogs = wideCassette
		}
		for _, c := range Rings(q).Choices {
			require.Zero(t, c.Teeth%2)
			require.True(t, q.Drive.GuideMost == 0 || c.Teeth >= q.Drive.GuideLeast && c.Teeth <= q.Drive.GuideMost)
			for _, v := range []float64{c.Percent, c.Speed, c.Radius, c.Move, c.Line} {
				require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			}
			ring := q.Ring >= leastRing
			require.Equal(t, c.Chain != nil, ring && q.Cogs != nil && q.Drive.Chainstay != 0)
			require.True(t, c.Chain == nil || c.Chain.Pitches%2 == 0)
			require.Equal(t, ring && c.Teeth > q.Ring, c.Move > 0)
		}
	})
}
