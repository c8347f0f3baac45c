package ingest

import "math"

// doubt drops recorded distances and speeds that do not fit the positions:
// some programs write the way since the last point, or km/h, where metres
// since the start and metres a second belong.
func (t *Track) doubt() {
	var odometer, speed saidSum
	last := -1
	for i := range t.Samples {
		b := &t.Samples[i]
		if i > 0 {
			a := &t.Samples[i-1]
			if span := float64(b.T-a.T) / 1000; span <= longestStep {
				speed.add(b.Speed*span, metresBetween(a, b))
			}
		}
		if math.IsNaN(b.Dist) {
			continue
		}
		if last >= 0 {
			odometer.add(max(b.Dist-t.Samples[last].Dist, 0), metresBetween(&t.Samples[last], b))
		}
		last = i
	}
	if odometer.unlike() {
		t.forget("distances", func(s *Sample) { s.Dist = math.NaN() })
	}
	if speed.unlike() {
		t.forget("speeds", func(s *Sample) { s.Speed = math.NaN() })
	}
}

// saidSum sets what a file says of its steps beside the way of the same steps.
type saidSum struct{ said, way float64 }

func (y *saidSum) add(said, way float64) {
	if !math.IsNaN(said) && !math.IsNaN(way) {
		y.said += said
		y.way += way
	}
}

// unlike reports whether what is said is so far from the way that its unit
// must be another one. Short ways prove nothing.
func (y *saidSum) unlike() bool {
	return y.way > 1_000 && y.said > 0 && (y.said < 0.6*y.way || y.said > 1.7*y.way)
}

func (t *Track) forget(what string, clear func(*Sample)) {
	for i := range t.Samples {
		clear(&t.Samples[i])
	}
	t.Warnings = append(t.Warnings, "the file's own "+what+" do not fit its positions: left out")
}
