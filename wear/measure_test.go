package wear

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseMeasure(t *testing.T) {
	for _, c := range []struct {
		kind, text, tool string
		pitches          int
		of               ReadingOf
		value            float64
		gotTool          string
	}{
		{"chain", "0.62%", "ruler", 0, Elongation, 0.62, "ruler"},
		{"chain", " 0,62 % ", "Caliper", 0, Elongation, 0.62, "caliper"},
		{"chain", "0.5%", "caliper", 0, Elongation, 0.5, "caliper"},
		{"chain", "306.3875mm/24", "", 0, Elongation, 0.520833, "ruler"},
		{"chain", "306.3875mm", "ruler", 24, Elongation, 0.520833, "ruler"},
		{"chain", "127.9525 mm / 10", "caliper", 10, Elongation, 0.75, "caliper"},
		{"chain", "-0.15%", "caliper", 0, Elongation, -0.15, "caliper"},
		{"chain", "1.5%", "ruler", 0, Elongation, 1.5, "ruler"},
		{"front-pads", "1.8mm", "", 0, Lining, 1.8, "caliper"},
		{"rear-rotor", "1.71 mm", "caliper", 0, Thickness, 1.71, "caliper"},
		{"rear-tyre", "2.5mm", "ruler", 0, Knob, 2.5, "ruler"},
	} {
		r, err := ParseMeasure(c.kind, c.text, c.tool, c.pitches)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.of, r.Of, c.text)
		assert.InDelta(t, c.value, r.Value, 1e-6, c.text)
		assert.Equal(t, c.gotTool, r.Tool, c.text)
	}
}

func TestParseMeasureRefuses(t *testing.T) {
	for _, c := range []struct {
		kind, text, tool string
		pitches          int
		why, tip         string
	}{
		{"chain", "0.5%", "", 0, "end of a gauge that dropped in", "--tool ruler or caliper"},
		{"chain", "0.75%", "", 0, "end of a gauge that dropped in", "0.62%"},
		{"chain", "1.0%", "", 0, "end of a gauge that dropped in", "0.62%"},
		{"chain", "0.62%", "", 0, "with what", "--tool"},
		{"chain", "0.62%", "eye", 0, "not one of ruler, caliper", "306.4mm/24"},
		{"chain", "-0.16%", "caliper", 0, "shorter than a new chain", "measure again"},
		{"chain", "304mm/24", "ruler", 0, "shorter than a new chain", "24 new pitches are 304.8 mm"},
		{"chain", "1.51%", "ruler", 0, "longer than a chain that still runs", "pawl look"},
		{"chain", "5.1%", "ruler", 0, "no chain is that long", "measure again"},
		{"chain", "317.5mm/24", "ruler", 0, "longer than a chain that still runs", "count the pitches"},
		{"chain", "306.4mm", "ruler", 0, "over how many pitches", "306.4mm/24"},
		{"chain", "306.4mm/24", "ruler", 23, "given twice", "306.4mm/24"},
		{"chain", "51mm/4", "ruler", 0, "4 pitches", "306.4mm/24"},
		{"chain", "306.4", "ruler", 24, "no unit", "306.4mm"},
		{"chain", "0.62%/24", "ruler", 0, "needs no pitches", "306.4mm/24"},
		{"chain", "worn", "ruler", 0, "not a reading", "306.4mm/24"},
		{"chain", "NaN%", "ruler", 0, "not a reading", "306.4mm/24"},
		{"chain", "306.4mm/99999999999999999999", "ruler", 0, "given twice", "306.4mm/24"},
		{"front-pads", "4.1mm", "", 0, "between 0 and 3.5 mm", "without its plate"},
		{"front-pads", "-1mm", "", 0, "between 0 and 3.5 mm", "without its plate"},
		{"front-pads", "40%", "", 0, "not millimetres", "1.8mm"},
		{"rear-rotor", "1.7mm/3", "", 0, "not millimetres", "1.8mm"},
		{"guide", "3mm", "", 0, "looked at, not measured", "pawl look"},
		{"cushion", "3mm", "", 0, "looked at, not measured", "pawl look"},
	} {
		_, err := ParseMeasure(c.kind, c.text, c.tool, c.pitches)
		require.Error(t, err, c.text)
		var m *MeasureError
		require.True(t, errors.As(err, &m), c.text)
		assert.ErrorContains(t, err, c.why, c.text)
		assert.Contains(t, m.Hint(), c.tip, c.text)
	}
}
