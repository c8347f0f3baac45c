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
		{"chain", Reading{Value: 0.25, Gauge: &Gauge{Out: 0.5}}, 12, false, Fine, 0.25, ""},
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
		{[]Reading{exact(0.6), gauge(0, 0.5)}, Fine, 0.25},
		{[]Reading{exact(0.6), exact(0.45), gauge(0, 0.75)}, Fine, 0.375},
		{[]Reading{exact(0.3), gauge(0, 0.75)}, Fine, 0.375},
		{[]Reading{gauge(0, 0.75)}, Fine, 0.375},
	} {
		w := newWorld(t, 100)
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
