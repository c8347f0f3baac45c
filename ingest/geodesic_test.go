package ingest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// GeodTest.dat (Karney 2010, zenodo 32156) and GeodSolve 2.1.2: rows below 1 km.
func TestGeodesicMeetsPublishedRows(t *testing.T) {
	rows := 0
	for _, row := range checks(t, "geodesic.csv") {
		want := number(t, row, "geodsolve_m")
		if want > 1000 {
			continue
		}
		rows++
		e, n := geodesic(number(t, row, "lat1"), number(t, row, "lon1"), number(t, row, "lat2"), number(t, row, "lon2"))
		assert.InEpsilon(t, want, math.Hypot(e, n), 1e-6, row["source"])
	}
	assert.Equal(t, 4, rows)
}

// Radii of curvature relative to a sphere of 6,371,000 m, R/M−1 and R/N−1 in
// per cent (computed to 40 digits).
func TestGeodesicSwellsTowardsThePole(t *testing.T) {
	for _, c := range []struct{ lat, north, east float64 }{
		{0, 0.561, -0.112}, {30, 0.309, -0.195}, {45, 0.057, -0.279}, {60, -0.195, -0.363}, {70, -0.329, -0.408},
	} {
		const step = 0.001
		_, n := geodesic(c.lat-step/2, 7, c.lat+step/2, 7)
		e, _ := geodesic(c.lat, 7, c.lat, 7+step)
		arc := 6371000 * step * radian
		assert.InDelta(t, c.north, 100*(arc/n-1), 0.001, "north at %v", c.lat)
		assert.InDelta(t, c.east, 100*(arc*math.Cos(c.lat*radian)/e-1), 0.001, "east at %v", c.lat)
	}
}

func TestGeodesicCrossesTheDateLine(t *testing.T) {
	e, _ := geodesic(10, 179.999, 10, -179.999)
	assert.InDelta(t, 219.3, e, 0.1)
	back, _ := geodesic(10, -179.999, 10, 179.999)
	assert.InDelta(t, -e, back, 1e-9)
}
