package desk

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A page of a list says what the whole list says of those rows.
func TestRowsOfAList(t *testing.T) {
	d := newFleetDesk(t)
	lines := []string{"name,sheet,odometer_km,odometer_on"}
	for i := range 9 {
		lines = append(lines, fmt.Sprintf("hire %d,small.toml,%d,2026-05-03", i, 100*i))
	}
	require.Empty(t, readFleet(t, d, lines...).Wrong)
	bikes, _, err := d.Bikes(t.Context(), "")
	require.NoError(t, err)
	parts, _, err := d.Parts(t.Context(), "", "")
	require.NoError(t, err)
	for _, r := range []Rows{{0, 3}, {3, 6}, {6, 12}, {40, 60}} {
		some, _, err := d.BikesOf(t.Context(), BikeFilter{Rows: r}, "")
		require.NoError(t, err)
		someParts, _, err := d.PartsOf(t.Context(), "", r, "")
		require.NoError(t, err)
		require.Len(t, some, len(bikes))
		require.Len(t, someParts, len(parts))
		for i := range bikes {
			if assert.Equal(t, bikes[i].Bike, some[i].Bike); r.asks(i) {
				assert.Equal(t, bikes[i], some[i])
			}
		}
		for i := range parts {
			if assert.Equal(t, parts[i].Part, someParts[i].Part); r.asks(i) {
				assert.Equal(t, parts[i], someParts[i])
			}
		}
	}
}
