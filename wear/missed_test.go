package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A first check is missed once 5 h were ridden after the ride that made it
// due, whatever the lengths of the rides: not by their mean.
func TestAMissedFirstCheckIsToldRideByRide(t *testing.T) {
	for name, c := range map[string]struct {
		kind  string
		rides []float64 // hours
		want  Verdict
	}{
		"short, then long":            {"axles", []float64{0.5, 9}, Stop},
		"long, then short":            {"axles", []float64{9.5, 1}, Due},
		"one long":                    {"axles", []float64{10}, Due},
		"5 h after the first":         {"axles", []float64{1, 2, 3}, Stop},
		"just less":                   {"axles", []float64{1, 2, 2.9}, Due},
		"bolts: short rides count no": {"guide-bolts", []float64{0.5, 0.5, 2, 4.9}, Due},
		"bolts: 5 h after a long one": {"guide-bolts", []float64{0.5, 0.5, 2, 5}, Stop},
		"bolts: at the latest 5 h":    {"guide-bolts", []float64{0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9}, Stop},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, 100)
			p := w.fit(c.kind, days(10))
			for i, h := range c.rides {
				w.ride(11+float64(i), Dry, hours(h))
			}
			w.look(p, 30, Good) // cuts the span; a look is not the check
			fs := Assess(w.build(), Default())
			for _, f := range fs {
				if f.Job == "check" {
					assert.Equal(t, c.want, f.Verdict, f.Reasons)
				}
			}
			p.Stays[0].Came = true
			for _, f := range Assess(w.build(), Default()) {
				assert.NotEqual(t, Stop, f.Verdict, "what came with the bike was not worked on")
			}
		})
	}
}
