package wear

import "math"

// Circumference is how far a wheel rolls in one turn, in m, from the bead seat
// diameter of its rim and the width of its tyre, both in mm as printed on the
// tyre (ISO 5775: 622-57). A tyre is taken to be as high as it is wide, which
// is within 3 % of published tables for computers; rolled out under the
// rider's weight it is about 1 % shorter. Measuring beats both.
func Circumference(bsd, width float64) float64 { return math.Pi * (bsd + 2*width) / 1000 }
