package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWhatIsHeldAgainstTheLimit(t *testing.T) {
	for _, c := range []struct {
		kind    string
		r       Reading
		speeds  int
		fleet   bool
		verdict Verdict
		used    float64
		says    string
	}{
		{"chain", Reading{Value: 0.45, Tool: "caliper", Places: []float64{0.4, 0.45, 0.5}}, 12, false, Due, 0.5, "measured 0.5 % by caliper at the worst of 3 places, limit 0.5 %"},
		{"chain", Reading{Value: 0.45, Tool: "caliper", Places: []float64{0.41, 0.49}}, 12, false, Fine, 0.49, ""},
		{"rear-pads", Reading{Value: 1.2, Places: []float64{1.4, 1.0}}, 12, false, Due, 1.0, "measured 1 mm by hand at the worst of 2 places, limit 1 mm"},
		{"rear-pads", Reading{Value: 1.2, Places: []float64{1.9, 0.5}}, 12, false, Stop, 0.5, "measured 0.5 mm by hand at the worst of 2 places, limit 0.5 mm"},
		{"chain", Reading{Value: 0.625, Gauge: &Gauge{In: 0.5, Out: 0.75}}, 12, false, Due, 0.5, "the 0.5 % end of a gauge dropped in, 0.75 % stayed out, limit 0.5 %"},
		{"chain", Reading{Value: 0.625, Gauge: &Gauge{In: 0.5, Out: 0.75}}, 10, false, Fine, 0.5, ""},
		{"chain", Reading{Value: 0.75, Gauge: &Gauge{In: 0.75}}, 10, false, Due, 0.75, "the 0.75 % end of a gauge dropped in, limit 0.75 %"},
		{"chain", Reading{Value: 1, Gauge: &Gauge{In: 1}}, 10, true, Stop, 1, "the 1 % end of a gauge dropped in, limit 1 %"},
		{"chain", Reading{Value: 0.25, Gauge: &Gauge{Out: 0.5}}, 12, false, Fine, 0, "below 0.5 %: the 0.5 % end of a gauge stayed out, limit 0.5 %"},
	} {
		w := newWorld(t, 100)
		w.bike.Speeds, w.bike.Fleet = c.speeds, c.fleet
		p := w.fit(c.kind, days(0))
		c.r.ID, c.r.At, c.r.Of = 1, days(2), Default().kind(c.kind).Measurable()
		p.Readings = append(p.Readings, c.r)
		f := w.judged(c.kind, "change")
		assert.Equal(t, c.verdict, f.Verdict, "%+v", c.r)
		assert.InDelta(t, c.used, f.Used, 1e-12, "%+v", c.r)
		if c.says != "" {
			require.NotEmpty(t, f.Reasons)
			assert.Equal(t, c.says, f.Reasons[0].Text)
		}
	}
	assert.Equal(t, "the 0.5 % end of a gauge stayed out", Gauge{Out: 0.5}.String())
}

func TestADoubtfulReadingCountsForNothing(t *testing.T) {
	w := newWorld(t, 100)
	p := w.fit("chain", days(0))
	w.read(p, 2, 0.6)
	p.Readings[0].Doubtful = true
	assert.Equal(t, Fine, w.judged("chain", "change").Verdict)
	assert.Contains(t, w.judged("chain", "change").Notes, "not measured yet")
	p.Readings[0].Doubtful = false
	assert.Equal(t, Due, w.judged("chain", "change").Verdict)
	w.read(p, 3, 0.1)
	p.Readings[1].Doubtful = true
	assert.Equal(t, Due, w.judged("chain", "change").Verdict, "the one before it stands")
}

func TestAGaugeThatDoesNotTellTakesNothingBack(t *testing.T) {
	exact := func(v float64) Reading { return Reading{Value: v, Tool: "caliper"} }
	gauge := func(in, out float64) Reading {
		g := Gauge{In: in, Out: out}
		return Reading{Value: g.middle(), Gauge: &g, Tool: "gauge"}
	}
	for _, c := range []struct {
		list []Reading
		want Verdict
		used float64
	}{
		{[]Reading{exact(0.6), gauge(0, 0.75)}, Due, 0.6},
		{[]Reading{exact(0.6), gauge(0.25, 0.75)}, Due, 0.6},
		{[]Reading{exact(0.6), gauge(0.25, 0), gauge(0, 0.75)}, Due, 0.6},
		{[]Reading{gauge(0.5, 0), gauge(0, 1)}, Due, 0.5},
		{[]Reading{exact(0.6), gauge(0, 0.5)}, Fine, 0},
		{[]Reading{exact(0.6), exact(0.45), gauge(0, 0.75)}, Fine, 0.45},
		{[]Reading{exact(0.3), gauge(0, 0.75)}, Fine, 0.3},
		{[]Reading{gauge(0, 0.75)}, Fine, 0},
		{[]Reading{exact(0.8), gauge(0, 0.75)}, Due, 0.8}, // not so worn, but no word of 0.5
		{[]Reading{exact(1.1), gauge(0.5, 0)}, Stop, 1.1},
		{[]Reading{exact(1.1), gauge(0.5, 0), gauge(0, 1.25)}, Stop, 1.1},
		{[]Reading{gauge(1, 0), gauge(0.75, 0)}, Stop, 1},
		{[]Reading{exact(0.6), gauge(1, 0)}, Stop, 1},
		{[]Reading{exact(1.02), gauge(0.5, 1)}, Due, 1.02}, // short of the stop, as its end says
		{[]Reading{exact(1.02), exact(0.97)}, Due, 0.97},
	} {
		w := newWorld(t, 100)
		w.bike.Fleet = true
		p := w.fit("chain", days(0))
		for i, r := range c.list {
			r.ID, r.At, r.Of = uint64(i+1), days(float64(i+1)), Elongation
			p.Readings = append(p.Readings, r)
		}
		f := w.judged("chain", "change")
		assert.Equal(t, c.want, f.Verdict, "%+v", c.list)
		assert.InDelta(t, c.used, f.Used, 1e-12, "%+v", c.list)
	}
}

func TestAGaugeGivesNoFigure(t *testing.T) {
	for want, r := range map[string]Reading{
		"below 0.25 % by gauge":                                  {Of: Elongation, Value: 0.125, Tool: "gauge", Gauge: &Gauge{Out: 0.25}},
		"at least 0.5 % by gauge":                                {Of: Elongation, Value: 0.5, Tool: "gauge", Gauge: &Gauge{In: 0.5}},
		"the 0.5 % end of a gauge dropped in, 0.75 % stayed out": {Of: Elongation, Value: 0.625, Tool: "gauge", Gauge: &Gauge{In: 0.5, Out: 0.75}},
		"0.62 % by ruler":                                        {Of: Elongation, Value: 0.62, Tool: "ruler"},
	} {
		assert.Equal(t, want, r.Words())
	}
	w := newWorld(t, 100)
	p := w.fit("chain", days(0))
	p.Readings = []Reading{{ID: 1, At: days(2), Of: Elongation, Value: 0.125, Tool: "gauge", Gauge: &Gauge{Out: 0.25}}}
	f := w.judged("chain", "change")
	assert.Zero(t, f.Used)
	assert.Zero(t, f.Share)
	assert.Equal(t, []Reason{{ByReading, "below 0.25 %: the 0.25 % end of a gauge stayed out, limit 0.5 %"}}, f.Reasons)
}
