package wear

// LongRide is the moving time, in ms, from which a ride counts as one that has
// let bolts settle: one hour (common practice, no published source).
const LongRide = 3_600_000

// Sum is what a number of rides amount to, recorded and estimated apart.
type Sum struct {
	Rides     int64              // rides counted; 0 = nothing was ridden: all is 0
	Long      int64              // rides of at least LongRide
	Recorded  Load               // what devices recorded
	Estimated Load               // what pawl estimated where they did not
	Lacking   [NQuantities]int64 // rides for which a quantity could not even be estimated
}

// Total is what was recorded and estimated together.
func (s Sum) Total() Load { return s.Recorded.Add(s.Estimated) }

// Add returns the sum of both.
func (s Sum) Add(o Sum) Sum {
	s.Rides += o.Rides
	s.Long += o.Long
	s.Recorded = s.Recorded.Add(o.Recorded)
	s.Estimated = s.Estimated.Add(o.Estimated)
	for q := range s.Lacking {
		s.Lacking[q] += o.Lacking[q]
	}
	return s
}

// Sub returns s less o.
func (s Sum) Sub(o Sum) Sum {
	s.Rides -= o.Rides
	s.Long -= o.Long
	s.Recorded = s.Recorded.Sub(o.Recorded)
	s.Estimated = s.Estimated.Sub(o.Estimated)
	for q := range s.Lacking {
		s.Lacking[q] -= o.Lacking[q]
	}
	return s
}

// Sums is a sum for each ground.
type Sums [NGrounds]Sum

// total is what was recorded and estimated of a quantity over the grounds.
func (s *Sums) total(q Quantity) (n int64) {
	for g := range s {
		n += s[g].Recorded[q] + s[g].Estimated[q]
	}
	return n
}

// Add returns the sum of both, ground by ground.
func (s Sums) Add(o Sums) Sums {
	for g := range s {
		s[g] = s[g].Add(o[g])
	}
	return s
}

// Take adds o to s where it lies: they are large, and few grounds have rides.
func (s *Sums) Take(o *Sums) {
	for g := range o {
		if o[g].Rides != 0 {
			s[g] = s[g].Add(o[g])
		}
	}
}

// Sub returns s less o, ground by ground.
func (s Sums) Sub(o Sums) Sums {
	for g := range s {
		s[g] = s[g].Sub(o[g])
	}
	return s
}

// All is the sum over the grounds.
func (s Sums) All() Sum {
	var all Sum
	for g := range s {
		all = all.Add(s[g])
	}
	return all
}
