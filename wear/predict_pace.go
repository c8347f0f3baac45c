package wear

import "math"

// How recent use becomes a pace (common practice, no published source).
const (
	paceWeeks   = 12
	paceHalves  = 4.0  // weeks in which the weight of a week halves
	paceSpread  = 0.3  // of ln pace: what no past week tells
	paceUnknown = 0.35 // of ln pace where only a sum is known
	paceMost    = 0.8
)

// pace is how fast a count grows.
type pace struct {
	perDay float64 // 0 = it stands
	spread float64 // of its logarithm, however long the way
	weekly float64 // variation from week to week, as a share: it evens out
	exact  bool    // days pass at one a day
}

// over is the spread of the logarithm of the pace over a number of days.
func (p pace) over(days float64) float64 {
	if p.exact {
		return 0
	}
	w := p.weekly * p.weekly * 7 / max(days, 7)
	return min(paceMost, math.Sqrt(p.spread*p.spread+w))
}

// paceOf weighs the last weeks, oldest first; season are the weeks that
// followed the same day a year ago, nil without a year of rides: they count as
// much as the last weeks do.
func paceOf(weeks, season []float64) pace {
	var n, nn, sum float64
	for i, v := range weeks {
		w := math.Exp2(-float64(len(weeks)-1-i) / paceHalves)
		n, nn, sum = n+w, nn+w*w, sum+w*v
	}
	if sum <= 0 {
		return pace{}
	}
	mean := sum / n
	var dev float64
	for i, v := range weeks {
		w := math.Exp2(-float64(len(weeks)-1-i) / paceHalves)
		dev += w * (v - mean) * (v - mean)
	}
	cv := math.Sqrt(dev/n) / mean
	p := pace{perDay: mean / 7, weekly: cv, spread: math.Hypot(paceSpread, cv*math.Sqrt(nn)/n)}
	if m := meanOf(season); m > 0 {
		p.perDay = (p.perDay + m/7) / 2
	}
	return p
}

func meanOf(list []float64) float64 {
	if len(list) == 0 {
		return 0
	}
	var sum float64
	for _, v := range list {
		sum += v
	}
	return sum / float64(len(list))
}

// within is the probability that the limit is reached within some days.
func (p pace) within(c *curve, now, days float64) float64 {
	if p.exact {
		return c.at(now + p.perDay*days)
	}
	s := p.over(days)
	var sum float64
	for k, z := range nodes5 {
		sum += weights5[k] * c.at(now+p.perDay*days*math.Exp(s*z))
	}
	return sum
}

// days is the time until the limit is reached with probability q; +Inf past farDays.
func (p pace) days(c *curve, now, q float64) float64 {
	lo, hi := 0.0, 1.0
	for p.within(c, now, hi) < q {
		lo, hi = hi, 2*hi
		if lo > farDays {
			return math.Inf(1)
		}
	}
	for range 30 {
		mid := (lo + hi) / 2
		if p.within(c, now, mid) < q {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
