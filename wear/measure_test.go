package wear

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// one is a sitting with one word.
func one(kind, text, tool string, pitches int) Sitting {
	return Sitting{Kind: kind, Words: []string{text}, Tool: tool, Pitches: pitches}
}

// ends is a sitting with a gauge.
func ends(in, out string, points int) Sitting {
	return Sitting{Kind: "chain", DropsIn: in, StaysOut: out, Points: points}
}

func TestReadsAFigure(t *testing.T) {
	for _, c := range []struct {
		kind, text, tool string
		pitches          int
		of               ReadingOf
		value            float64
		gotTool          string
	}{
		{"chain", "0.62%", "ruler", 0, Elongation, 0.62, "ruler"},
		{"chain", " 0,62 % ", "Caliper", 0, Elongation, 0.62, "caliper"},
		{"chain", ".62%", "caliper", 0, Elongation, 0.62, "caliper"},
		{"chain", "0,625%", "caliper", 0, Elongation, 0.625, "caliper"},
		{"chain", "0.5%", "caliper", 0, Elongation, 0.5, "caliper"},
		{"chain", "306.3875mm/24", "", 0, Elongation, 0.520833, "ruler"},
		{"chain", "306.3875mm", "ruler", 24, Elongation, 0.520833, "ruler"},
		{"chain", "127.9525 mm / 10", "", 0, Elongation, 0.75, "caliper"},
		{"chain", "127.9525 mm / 10", "ruler", 10, Elongation, 0.75, "ruler"},
		{"chain", "-0.06%", "caliper", 0, Elongation, -0.06, "caliper"},
		{"chain", "-0.12%", "ruler", 0, Elongation, -0.12, "ruler"},
		{"chain", "1.5%", "ruler", 0, Elongation, 1.5, "ruler"},
		{"front-pads", "1.8mm", "", 0, Lining, 1.8, "caliper"},
		{"front-pads", "0mm", "", 0, Lining, 0, "caliper"},
		{"rear-rotor", "1.71 mm", "caliper", 0, Thickness, 1.71, "caliper"},
		{"rear-tyre", "2.5mm", "ruler", 0, Knob, 2.5, "ruler"},
	} {
		r, _, err := one(c.kind, c.text, c.tool, c.pitches).Read(Known{})
		require.NoError(t, err, c.text)
		assert.Equal(t, c.of, r.Of, c.text)
		assert.InDelta(t, c.value, r.Value, 1e-6, c.text)
		assert.Equal(t, c.gotTool, r.Tool, c.text)
		assert.Nil(t, r.Places, c.text)
	}
}

// The rows are from testdata/checks/elongation.csv: lengths over any number of
// pitches, in inches and millimetres, and what they are in per cent.
func TestReadsLengthsAsPublished(t *testing.T) {
	for _, c := range []struct {
		text    string
		pitches int // said; 0 = not
		over    int
		percent float64
		sure    bool
	}{
		{"12 1/16in", 0, 24, 0.520833, false},
		{"12 1/16 in", 24, 24, 0.520833, false},
		{"12-1/16in", 0, 24, 0.520833, false},
		{`12 1/16"`, 0, 24, 0.520833, false},
		{"12.0625inches", 0, 24, 0.520833, false},
		{"12,0625 in", 0, 24, 0.520833, false},
		{"12 1/8in", 0, 24, 1.041667, false},
		{"12 2/20in", 0, 24, 0.833333, false},
		{"11 1/8in", 0, 22, 1.136364, false},
		{"11 1/8in/22", 0, 22, 1.136364, false},
		{"193/16in", 0, 0, 0, false}, // no fraction of an inch is written so
		{"808.1mm/63", 0, 63, 0.999875, false},
		{"256mm/20", 0, 20, 0.787402, false},
		{"306.324mm/24", 0, 24, 0.5, false},
		{"307.086mm/24", 0, 24, 0.75, false},
		{"307.848mm/24", 0, 24, 1, false},
		{"24.75in", 48, 48, 3.125, true}, // 24 inches of new chain, whatever its pitch
	} {
		s := one("chain", c.text, "ruler", c.pitches)
		s.Sure = c.sure
		r, notes, err := s.Read(Known{})
		if c.over == 0 {
			require.Error(t, err, c.text)
			continue
		}
		require.NoError(t, err, c.text)
		assert.InDelta(t, c.percent, r.Value, 1e-6, c.text)
		assert.Equal(t, c.over, r.Pitches, c.text)
		assert.InDelta(t, float64(c.over)*Pitch*(1+c.percent/100), r.Length, 1e-4, c.text)
		assert.Equal(t, c.pitches == 0 && c.text[len(c.text)-3] != '/', len(notes) == 1, "%s: what is assumed is said: %v", c.text, notes)
	}
}

func TestReadsSeveralPlaces(t *testing.T) {
	for _, c := range []struct {
		kind   string
		words  []string
		tool   string
		value  float64
		worst  float64
		places []float64
	}{
		{"chain", []string{"0.6%", "0.5%", "0.7%"}, "caliper", 0.6, 0.7, []float64{0.6, 0.5, 0.7}},
		{"chain", []string{"0.6%,0.5%, 0.7%"}, "caliper", 0.6, 0.7, []float64{0.6, 0.5, 0.7}},
		{"chain", []string{"0.6,0.5,0.7%"}, "caliper", 0.6, 0.7, []float64{0.6, 0.5, 0.7}},
		{"chain", []string{"0,6%", "0,5%"}, "caliper", 0.55, 0.6, []float64{0.6, 0.5}},
		{"chain", []string{"0,6%;0,5%"}, "caliper", 0.55, 0.6, []float64{0.6, 0.5}},
		{"chain", []string{"306.324mm/24,307.086mm/24"}, "", 0.625, 0.75, []float64{0.5, 0.75}},
		{"chain", []string{"306.324", "307.086mm/24"}, "", 0.625, 0.75, []float64{0.5, 0.75}},
		{"chain", []string{"306.324mm/24", "307.086"}, "", 0.625, 0.75, []float64{0.5, 0.75}},
		{"chain", []string{"12", "1/16in", "12", "1/8", "in"}, "", 0.78125, 1.0416667, []float64{0.5208333, 1.0416667}},
		{"rear-pads", []string{"1.8mm", "1.6mm"}, "", 1.7, 1.6, []float64{1.8, 1.6}},
		{"rear-pads", []string{"1.8", "1.6mm"}, "", 1.7, 1.6, []float64{1.8, 1.6}},
		{"front-rotor", []string{"1.7mm", "1.62mm"}, "", 1.66, 1.62, []float64{1.7, 1.62}},
		{"rear-tyre", []string{"3mm 2mm"}, "", 2.5, 2, []float64{3, 2}},
	} {
		r, _, err := Sitting{Kind: c.kind, Words: c.words, Tool: c.tool}.Read(Known{})
		require.NoError(t, err, c.words)
		assert.InDelta(t, c.value, r.Value, 1e-6, c.words)
		assert.InDelta(t, c.worst, r.Worst(), 1e-6, c.words)
		assert.InDeltaSlice(t, c.places, r.Places, 1e-6, c.words)
	}
}

func TestReadsAGauge(t *testing.T) {
	for _, c := range []struct {
		in, out string
		points  int
		gauge   Gauge
		value   float64
		worst   float64
	}{
		{"0.5", "0.75", 0, Gauge{0.5, 0.75, 0}, 0.625, 0.5},
		{"0.5%", "0,75 %", 3, Gauge{0.5, 0.75, 3}, 0.625, 0.5},
		{"0.75", "", 2, Gauge{0.75, 0, 2}, 0.75, 0.75},
		{"", "0.5", 3, Gauge{0, 0.5, 3}, 0.25, 0},
		{"", "1.5", 0, Gauge{0, 1.5, 0}, 0.75, 0},
	} {
		r, notes, err := ends(c.in, c.out, c.points).Read(Known{})
		require.NoError(t, err)
		require.NotNil(t, r.Gauge)
		assert.Equal(t, c.gauge, *r.Gauge)
		assert.InDelta(t, c.value, r.Value, 1e-12)
		assert.InDelta(t, c.worst, r.Worst(), 1e-12)
		assert.Equal(t, "gauge", r.Tool)
		assert.Equal(t, c.points == 2, len(notes) == 1, "roller play is said")
	}
}

func TestTakesThePlateOff(t *testing.T) {
	for _, c := range []struct {
		words []string
		plate string
		known float64
		value float64
		off   float64
	}{
		{[]string{"3.8mm"}, "2.0mm", 0, 1.8, 2},
		{[]string{"3.8mm"}, "2mm", 1.7, 1.8, 2},
		{[]string{"3.8mm"}, "", 1.7, 2.1, 1.7},
		{[]string{"3.8mm", "3.4mm"}, "", 2, 1.6, 2},
		{[]string{"1.95mm"}, "2.0mm", 0, 0, 2},
	} {
		r, notes, err := Sitting{Kind: "front-pads", Words: c.words, Plate: c.plate, WithPlate: true, Tool: "caliper"}.Read(Known{Plate: c.known})
		require.NoError(t, err, c.words)
		assert.InDelta(t, c.value, r.Value, 1e-12, c.words)
		assert.InDelta(t, c.off, r.Plate, 1e-12, c.words)
		assert.Equal(t, c.plate == "", len(notes) == 1, "a plate that was remembered is said")
	}
	r, _, err := Sitting{Kind: "front-pads", Words: []string{"1.8mm"}}.Read(Known{Plate: 2})
	require.NoError(t, err)
	assert.InDelta(t, 1.8, r.Value, 1e-12, "without its plate")
	assert.Zero(t, r.Plate)
}

func TestRefusesWhatIsNoReading(t *testing.T) {
	sitting := func(s Sitting, kind string, words ...string) Sitting {
		s.Kind, s.Words = kind, words
		return s
	}
	for _, c := range []struct {
		s        Sitting
		why, tip string
	}{
		{one("chain", "0.5%", "", 0), "end of a gauge that dropped in", "--drops-in 0.5"},
		{one("chain", "0.75%", "", 0), "end of a gauge that dropped in", "--stays-out"},
		{one("chain", "1.0%", "", 0), "end of a gauge that dropped in", "--tool ruler"},
		{one("chain", "0.62%", "", 0), "with what", "--tool"},
		{one("chain", "0.62%", "eye", 0), "not one of ruler, caliper", "306.4mm/24"},
		{one("chain", "0.62%", "gauge", 0), "gives no figure", "--drops-in 0.5"},
		{one("chain", "0.62%", "ruler", 24), "needs no pitches", "306.4mm/24"},
		{one("chain", "0.62%/24", "ruler", 0), "needs no pitches", "306.4mm/24"},
		{one("chain", "306.4mm/24", "ruler", 23), "given twice", "306.4mm/24"},
		{one("chain", "306.4mm/24 306.2mm/22", "ruler", 0), "given twice", "306.4mm/24"},
		{one("chain", "51mm/4", "ruler", 0), "4 pitches", "306.4mm/24"},
		{one("chain", "51mm", "ruler", 4), "4 pitches", "306.4mm/24"},
		{one("chain", "51mm", "ruler", -4), "-4 pitches", "306.4mm/24"},
		{one("chain", "306.4mm/99999999999999999999", "ruler", 0), "not between 8 and 150", "306.4mm/24"},
		{one("chain", "306.4mm", "ruler", 0), "over how many pitches", "0.52 % over --pitches 24"},
		{one("chain", "290mm", "ruler", 0), "over how many pitches", "306.4mm/24"},
		{one("chain", "3in", "ruler", 0), "over how many pitches", "306.4mm/24"},
		{one("chain", "11.8in", "ruler", 0), "over how many pitches", "306.4mm/24"},
		{one("chain", "306.4", "ruler", 24), "no unit", "306.4mm"},
		{one("chain", "12 1/16", "ruler", 24), "a fraction that is not of inches", "12 1/16in"},
		{one("chain", "306,307mm/24", "ruler", 0), "one figure or two", "a space between places"},
		{one("chain", "306.4mm/24 0.5%", "ruler", 0), "different units", "all in mm"},
		{one("chain", "worn", "ruler", 0), "not a reading", "306.4mm/24"},
		{one("chain", "NaN%", "ruler", 0), "not a reading", "306.4mm/24"},
		{one("chain", "0.5%%", "ruler", 0), "not a reading", "306.4mm/24"},
		{one("chain", "0.5mmm", "ruler", 24), "not a reading", "306.4mm/24"},
		{one("chain", "12 1/0in", "ruler", 24), "a fraction that is not of inches", "306.4mm/24"},
		{sitting(Sitting{}, "chain"), "nothing was read", "306.4mm/24"},
		{sitting(Sitting{Points: 2}, "chain", "0.6%"), "said of a gauge", "--points 2"},
		{ends("0.75", "0.5", 0), "0.75 % end dropped in, so no end of 0.5 % stayed out", "other way round"},
		{ends("0.5", "0.5", 0), "so no end of 0.5 % stayed out", "other way round"},
		{ends("x", "", 0), `"x" is no end`, "--drops-in 0.5"},
		{ends("0", "", 0), `"0" is no end`, "--drops-in 0.5"},
		{ends("", "1.6", 0), `"1.6" is no end`, "--drops-in 0.5"},
		{ends("0.5", "", 4), "touches the chain at 2 or 3", "rollers"},
		{Sitting{Kind: "chain", DropsIn: "0.5", Tool: "ruler"}, "no ends that drop in", "leave --tool out"},
		{Sitting{Kind: "chain", DropsIn: "0.5", Pitches: 24}, "needs no pitches", "--drops-in"},
		{Sitting{Kind: "chain", DropsIn: "0.5", Words: []string{"0.6%"}}, "a figure and the ends", "by itself"},
		{Sitting{Kind: "front-pads", DropsIn: "0.5"}, "is for chains", "1.8mm"},
		{one("front-pads", "4.1mm", "", 0), "between 0 and 3.5 mm", "--with-plate --plate 2.0mm"},
		{one("front-pads", "-1mm", "", 0), "between 0 and 3.5 mm", "without its plate"},
		{one("front-pads", "40%", "", 0), "not millimetres", "1.8mm"},
		{one("front-pads", "1.8", "", 0), "not millimetres", "1.8mm"},
		{one("rear-rotor", "1.7mm/30", "", 0), "not millimetres", "1.8mm"},
		{one("rear-rotor", "0.4mm", "", 0), "between 0.5 and 3 mm", "1.8mm"},
		{one("rear-tyre", "1/8in", "", 0), "not millimetres", "1.8mm"},
		{sitting(Sitting{WithPlate: true}, "front-pads", "3.8mm"), "how thick is its plate", "--plate 2.0mm"},
		{sitting(Sitting{Plate: "9mm"}, "front-pads", "3.8mm"), `plate "9mm": not between 0.5 and 4 mm`, "--plate 2.0mm"},
		{sitting(Sitting{Plate: "2"}, "front-pads", "3.8mm"), `plate "2"`, "--plate 2.0mm"},
		{sitting(Sitting{Plate: "2mm"}, "front-pads", "1.8mm"), "thinner than its plate of 2 mm", "--plate"},
		{sitting(Sitting{Plate: "1mm"}, "front-pads", "5mm"), "4 mm of lining on a plate of 1 mm", "--plate"},
		{sitting(Sitting{Plate: "2mm"}, "rear-rotor", "1.8mm"), "brake lining only", "1.8mm"},
		{sitting(Sitting{Of: Lining}, "rear-rotor", "1.8mm"), "has no lining", "1.8mm"},
		{one("guide", "3mm", "", 0), "looked at, not measured", "pawl look"},
		{one("cushion", "3mm", "", 0), "looked at, not measured", "pawl look"},
	} {
		_, _, err := c.s.Read(Known{})
		require.Error(t, err, "%+v", c.s)
		var m *MeasureError
		require.True(t, errors.As(err, &m), "%+v: %v", c.s, err)
		assert.ErrorContains(t, err, c.why, "%+v", c.s)
		assert.Contains(t, m.Hint(), c.tip, "%+v", c.s)
	}
}

func TestRefusesWhatNoChainReads(t *testing.T) {
	for _, c := range []struct {
		text, tool     string
		why, tip       string
		sure, doubtful bool // whether it is taken with either
	}{
		{"-0.12%", "caliper", "-0.12 %: shorter than a new chain by more than a caliper errs", "measure again", false, true},
		{"-0.2%", "ruler", "shorter than a new chain", "measure again", false, true},
		{"304mm/24", "ruler", "-0.26 %: shorter than a new chain", "24 new pitches are 304.8 mm", false, true},
		{"1.51%", "ruler", "longer than a chain that still runs", "--sure", true, true},
		{"12 1/4in", "ruler", "2.08 %: longer than", "--sure", true, true},
		{"0.4% 1.6%", "ruler", "1.60 %: longer than", "--sure", true, true},
		{"5.01%", "ruler", "no chain is that long", "measure again", false, false},
		{"320.1mm/24", "ruler", "5.02 %: no chain is that long", "count them", false, false},
		{"-5.1%", "ruler", "no tool errs so far", "measure again", false, false},
	} {
		s := one("chain", c.text, c.tool, 0)
		_, _, err := s.Read(Known{})
		var m *MeasureError
		require.ErrorAs(t, err, &m, c.text)
		assert.ErrorContains(t, err, c.why)
		assert.Contains(t, m.Hint(), c.tip, c.text)
		s.Sure = true
		_, _, err = s.Read(Known{})
		assert.Equal(t, c.sure, err == nil, "%s --sure: %v", c.text, err)
		s.Sure, s.Doubtful = false, true
		r, _, err := s.Read(Known{})
		assert.Equal(t, c.doubtful, err == nil, "%s --doubtful: %v", c.text, err)
		assert.Equal(t, c.doubtful, r.Doubtful, c.text)
	}
}
