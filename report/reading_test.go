package report

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func TestReadingText(t *testing.T) {
	for want, r := range map[string]wear.Reading{
		"0.62 % elongation, by caliper": {Of: wear.Elongation, Value: 0.62, Tool: "caliper"},
		"0.52 % elongation, 306.39 mm over 24 pitches, by ruler (the long one) – cold": {Of: wear.Elongation, Value: 0.5208, Length: 306.3875, Pitches: 24, Tool: "ruler", Which: "the long one", Note: "cold"},
		"0.55 % elongation (mean of 0.5, 0.6), 127.7 mm over 10 pitches, by caliper":   {Of: wear.Elongation, Value: 0.55, Places: []float64{0.5, 0.6}, Length: 127.6985, Pitches: 10, Tool: "caliper"},
		"0.5 % dropped in, 0.75 % stayed out, by gauge (3 points)":                     {Of: wear.Elongation, Value: 0.625, Tool: "gauge", Gauge: &wear.Gauge{In: 0.5, Out: 0.75, Points: 3}},
		"0.75 % dropped in, by gauge (shop, 2 points)":                                 {Of: wear.Elongation, Value: 0.75, Tool: "gauge", Which: "shop", Gauge: &wear.Gauge{In: 0.75, Points: 2}},
		"0.5 % stayed out, by gauge":                                                   {Of: wear.Elongation, Value: 0.25, Tool: "gauge", Gauge: &wear.Gauge{Out: 0.5}},
		"1.7 mm lining (mean of 1.8, 1.6), a plate of 2 mm taken off, by caliper":      {Of: wear.Lining, Value: 1.7, Places: []float64{1.8, 1.6}, Plate: 2, Tool: "caliper"},
		"2.5 mm knob, by ruler, doubtful: not counted":                                 {Of: wear.Knob, Value: 2.5, Tool: "ruler", Doubtful: true},
		`0.1 % elongation, by ruler (a \x1b[31m)`:                                      {Of: wear.Elongation, Value: 0.1, Tool: "ruler", Which: "a \x1b[31m"},
		"1.71 mm thickness": {Of: wear.Thickness, Value: 1.71},
	} {
		assert.Equal(t, want, readingText(r))
		assert.Equal(t, want, Style{}.Reading(r))
	}
}

func TestReadingJSON(t *testing.T) {
	encode := func(r wear.Reading) map[string]any {
		data, err := json.Marshal(Style{}.readingJSON(r))
		require.NoError(t, err)
		var out map[string]any
		require.NoError(t, json.Unmarshal(data, &out))
		return out
	}
	plain := encode(wear.Reading{Of: wear.Elongation, Value: 0.62, Tool: "ruler"})
	assert.Nil(t, plain["gauge"])
	assert.Equal(t, []any{}, plain["places"])
	assert.Equal(t, false, plain["doubtful"])
	full := encode(wear.Reading{
		Of: wear.Elongation, Value: 0.75, Tool: "gauge", Which: "shop", Gauge: &wear.Gauge{In: 0.75, Points: 2}, Doubtful: true,
	})
	assert.Equal(t, map[string]any{"drops_in": 0.75, "stays_out": nil, "points": 2.0}, full["gauge"])
	assert.Equal(t, "shop", full["which"])
	assert.Equal(t, true, full["doubtful"])
	pads := encode(wear.Reading{Of: wear.Lining, Value: 1.7, Places: []float64{1.8, 1.6}, Plate: 2})
	assert.Equal(t, []any{1.8, 1.6}, pads["places"])
	assert.Equal(t, 2.0, pads["plate"])
}
