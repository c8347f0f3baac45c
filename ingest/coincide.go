package ingest

import "sort"

// Within these a sample of an export is that of its source: formats drop
// fractions of a second and keep five digits of a degree, about a metre. Two
// receivers side by side differ by more. *Common practice, no published source.*
const (
	sameMoment = 1000 // ms; less than that
	samePlace  = 2.0  // m
)

// Coincide is the share of the samples of the sparser track that are in the
// other one too, at the same time and place: of an export nearly all of them.
// Samples without a position are in no other; of two empty tracks the share is 0.
func Coincide(a, b *Track) float64 {
	if len(a.Samples) > len(b.Samples) {
		a, b = b, a
	}
	found := 0
	for i := range a.Samples {
		if s := &a.Samples[i]; s.located() && hasSample(b.Samples, s) {
			found++
		}
	}
	return float64(found) / float64(max(len(a.Samples), 1))
}

// hasSample reports whether one of the samples, which are in order of time, is
// where s is at that moment.
func hasSample(samples []Sample, s *Sample) bool {
	first := sort.Search(len(samples), func(i int) bool { return samples[i].T > s.T-sameMoment })
	for i := first; i < len(samples) && samples[i].T < s.T+sameMoment; i++ {
		o := &samples[i]
		if o.located() && far(geodesic(s.Lat, s.Lon, o.Lat, o.Lon)) <= samePlace {
			return true
		}
	}
	return false
}
