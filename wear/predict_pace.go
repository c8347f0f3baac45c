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

// weekly is what one week added to a count, and how many days of it count.
type weekly struct{ used, days float64 }

// paceOf weighs the last weeks, oldest first; season is what the weeks came to
// that followed the same day a year ago, none without a year of rides: they
// count as much as the last weeks do.
func paceOf(weeks []weekly, season weekly) pace {
	var days, sum, n, nn float64
	for i, v := range weeks {
		w := math.Exp2(-float64(len(weeks)-1-i) / paceHalves)
		days, sum = days+w*v.days, sum+w*v.used
		w *= v.days / 7
		n, nn = n+w, nn+w*w
	}
	if sum <= 0 || days <= 0 {
		return pace{}
	}
	p := pace{perDay: sum / days}
	var dev float64
	for i, v := range weeks {
		if v.days > 0 {
			w := math.Exp2(-float64(len(weeks)-1-i)/paceHalves) * v.days / 7
			d := v.used/v.days/p.perDay - 1
			dev += w * d * d
		}
	}
	p.weekly = math.Sqrt(dev / n)
	p.spread = math.Hypot(paceSpread, p.weekly*math.Sqrt(nn)/n)
	if season.used > 0 && season.days > 0 {
		p.perDay = (p.perDay + season.used/season.days) / 2
	}
	return p
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

// days is the time until the limit is reached with probability q; +Inf past
// farDays. From where the middling pace puts it, it is bracketed and then found
// by false position (Illinois rule).
func (p pace) days(c *curve, now, q float64) float64 {
	miss := func(days float64) float64 { return p.within(c, now, days) - q }
	if miss(0) >= 0 {
		return 0
	}
	hi := min(farDays, max(1, (c.quantile(q)-now)/p.perDay))
	lo, low, high := 0.0, -q, miss(hi)
	for high < 0 {
		if hi > farDays {
			return math.Inf(1)
		}
		lo, low = hi, high
		hi *= 1.5
		high = miss(hi)
	}
	for range 40 {
		if hi-lo < 1e-4 || high == 0 {
			break
		}
		mid := (lo*high - hi*low) / (high - low)
		switch m := miss(mid); {
		case m < 0:
			lo, low, high = mid, m, high/2
		default:
			hi, high, low = mid, m, low/2
		}
	}
	return hi
}
