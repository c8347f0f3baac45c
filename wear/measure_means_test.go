package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestNamesAReadingOfTheDay(t *testing.T) {
	ruler := Reading{Of: Elongation, Value: 0.5208333, Length: 306.3875, Pitches: 24, Tool: "ruler", Which: "long"}
	gauge := Reading{Of: Elongation, Value: 0.625, Tool: "gauge", Gauge: &Gauge{In: 0.5, Out: 0.75}}
	pad := Reading{Of: Lining, Value: 1.7, Plate: 2, Tool: "caliper", Places: []float64{1.8, 1.6}}
	for _, c := range []struct {
		s    Sitting
		r    Reading
		want bool
	}{
		{Sitting{}, ruler, true},
		{Sitting{Tool: "Ruler"}, ruler, true}, {Sitting{Tool: "caliper"}, ruler, false}, {Sitting{Tool: "gauge"}, gauge, true},
		{Sitting{Which: "long"}, ruler, true}, {Sitting{Which: "short"}, ruler, false},
		{one("", "0.52%", "", 0), ruler, true}, {one("", "0.53%", "", 0), ruler, false}, {one("", "0.52", "", 0), ruler, true},
		{one("", "306.39mm/24", "", 0), ruler, true}, {one("", "306.4mm", "", 0), ruler, false}, {one("", "12 1/16in", "", 0), ruler, true},
		{one("", "0.625%", "", 0), gauge, false},
		{ends("0.5", "", 0), gauge, true}, {ends("0.5%", "0.75", 0), gauge, true}, {ends("", "0.5", 0), gauge, false}, {ends("0.5", "", 0), ruler, false},
		{one("", "1.7mm", "", 0), pad, true}, {one("", "3.7mm", "", 0), pad, true}, {one("", "1.8mm 1.6mm", "", 0), pad, true}, {one("", "1.8mm", "", 0), pad, false},
	} {
		got, err := c.s.Means(c.r)
		require.NoError(t, err)
		assert.Equal(t, c.want, got, "%+v", c.s)
	}
	_, err := one("", "worn", "", 0).Means(ruler)
	assert.ErrorContains(t, err, `reading "worn": not a reading`)
}
