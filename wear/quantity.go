package wear

import "fmt"

// Quantity is one of the things that a ride puts through a bike.
type Quantity uint8

// The quantities of a load, with the integer unit in which each is stored.
const (
	Distance    Quantity = iota // cm travelled over the ground
	Climb                       // cm gained
	Descent                     // cm lost
	Moving                      // ms of moving time
	Turns                       // thousandths of a turn of the crank
	Work                        // J at the crank
	Braking                     // J taken out by the brakes
	NQuantities                 // how many there are
)

var quantityNames = [NQuantities]string{"distance", "climb", "descent", "moving", "turns", "work", "braking"}

// siPerUnit is the SI value of one stored unit: m, m, m, s, turns, J, J.
var siPerUnit = [NQuantities]float64{0.01, 0.01, 0.01, 0.001, 0.001, 1, 1}

// String names the quantity as the design, the JSON and the help text do.
func (q Quantity) String() string {
	if q < NQuantities {
		return quantityNames[q]
	}
	return fmt.Sprintf("quantity %d", uint8(q))
}

// ParseQuantity is the inverse of [Quantity.String].
func ParseQuantity(s string) (Quantity, error) {
	for q, name := range quantityNames {
		if name == s {
			return Quantity(q), nil
		}
	}
	return 0, fmt.Errorf("quantity %q: not one of %v", s, quantityNames)
}

// SI converts a stored amount of q to metres, seconds, turns or joules.
func (q Quantity) SI(stored int64) float64 { return float64(stored) * siPerUnit[q] }

// Stored converts metres, seconds, turns or joules to the stored integer,
// rounding half away from zero.
func (q Quantity) Stored(si float64) int64 {
	v := si / siPerUnit[q]
	if v < 0 {
		return -int64(-v + 0.5)
	}
	return int64(v + 0.5)
}

// Load is an amount of every quantity, in stored integer units.
type Load [NQuantities]int64

// Add returns the sum of two loads.
func (l Load) Add(m Load) Load {
	for q := range l {
		l[q] += m[q]
	}
	return l
}

// Sub returns l less m.
func (l Load) Sub(m Load) Load {
	for q := range l {
		l[q] -= m[q]
	}
	return l
}

// SI returns the amount of q in metres, seconds, turns or joules.
func (l Load) SI(q Quantity) float64 { return q.SI(l[q]) }

// Set is a set of quantities.
type Set uint8

// With returns the set with q in it.
func (s Set) With(q Quantity) Set { return s | 1<<q }

// Has reports whether q is in the set.
func (s Set) Has(q Quantity) bool { return s&(1<<q) != 0 }

// List returns the quantities of the set in their order.
func (s Set) List() []Quantity {
	var list []Quantity
	for q := range NQuantities {
		if s.Has(q) {
			list = append(list, q)
		}
	}
	return list
}
