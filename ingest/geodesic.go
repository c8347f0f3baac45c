package ingest

import "math"

// The WGS84 ellipsoid (NIMA TR8350.2).
const (
	wgs84A  = 6378137.0
	wgs84F  = 1 / 298.257223563
	wgs84E2 = wgs84F * (2 - wgs84F)
)

const radian = math.Pi / 180

// geodesic is the way from one point to another in metres east and north, from
// the radii of curvature at the middle latitude: M = a(1−e²)/w³ along the
// meridian and N = a/w across it, w² = 1−e²sin²φ. Its length is within 1e-6 of
// the geodesic up to 1 km; it is not meant for more.
func geodesic(lat1, lon1, lat2, lon2 float64) (east, north float64) {
	sin, cos := math.Sincos((lat1 + lat2) / 2 * radian)
	w2 := 1 - wgs84E2*sin*sin
	n := wgs84A / math.Sqrt(w2)
	m := n * (1 - wgs84E2) / w2
	return n * cos * turnOf(lon2-lon1) * radian, m * (lat2 - lat1) * radian
}

// far is the length of a way of so much east and north.
func far(east, north float64) float64 { return math.Sqrt(east*east + north*north) }

// turnOf brings a difference of longitudes into ±180°, so that a step over the
// date line is a short one.
func turnOf(degrees float64) float64 {
	if degrees > 180 {
		return degrees - 360
	}
	if degrees < -180 {
		return degrees + 360
	}
	return degrees
}

// located reports whether the sample says where it is. Zero, zero is what a
// receiver writes before it knows.
func (s *Sample) located() bool {
	return math.Abs(s.Lat) <= 90 && math.Abs(s.Lon) <= 180 && (s.Lat != 0 || s.Lon != 0)
}
