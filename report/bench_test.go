package report

import (
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// BenchmarkDueFleet writes the list of a fleet of 20,000 bikes.
func BenchmarkDueFleet(b *testing.B) {
	var d DueList
	for i := range 20_000 {
		for _, v := range []wear.Verdict{wear.Fine, wear.Due} {
			d.Findings = append(d.Findings, wear.Finding{
				BikeID: wear.ID(i), Bike: fmt.Sprintf("Hire %d", i), Part: fmt.Sprintf("chain-%d", i), Job: "clean",
				Title: "clean and lube the chain", Verdict: v, Used: 23_000, Limit: 25_000, Unit: "turns", Share: 0.92,
				Basis: wear.ByCount, Data: wear.DataEstimated, Advice: "clean and lube the chain",
			})
		}
	}
	for name, write := range map[string]func(io.Writer, DueList, Style) error{"text": Due, "json": DueJSON, "csv": DueCSV} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				require.NoError(b, write(io.Discard, d, Style{}))
			}
		})
	}
}

// BenchmarkRides writes a list of 10,000 rides.
func BenchmarkRides(b *testing.B) {
	lines := make([]RideLine, 10_000)
	for i := range lines {
		lines[i] = RideLine{Bike: "Kestrel 3", File: "a.fit", Ride: wear.Ride{Recorded: wear.Load{4_213_000, 90_500, 0, 11_160_000}}}
	}
	b.Run("text", func(b *testing.B) {
		for b.Loop() {
			require.NoError(b, Rides(io.Discard, each(lines), Style{}))
		}
	})
	b.Run("json", func(b *testing.B) {
		for b.Loop() {
			require.NoError(b, RidesJSON(io.Discard, each(lines), nil, Style{}))
		}
	})
}
