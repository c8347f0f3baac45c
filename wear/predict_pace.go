package wear

import "math"

// How recent use becomes a pace (common practice, no published source).
const (
	paceWeeks   = 12
	paceYear    = 52
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
	ahead  float64 // days of use, at most a week, by which the running week is before its share; behind it < 0
}

// ridden is how many days' use some days bring: what the running week lacks or
// has too much evens out within seven days.
func (p pace) ridden(days float64) float64 { return days - p.ahead*min(1, days/7) }

// until is the inverse of ridden.
func (p pace) until(use float64) float64 {
	if use >= 7-p.ahead {
		return use + p.ahead
	}
	return use * 7 / (7 - p.ahead)
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

// paceToday is the pace of whole weeks: the running one, last of the list, would
// count days before their rides have come. It counts where the whole ones come
// to no week together or to no use; else it says how far it is before its share.
func paceToday(weeks []weekly, season weekly) pace {
	whole, running := weeks[:len(weeks)-1], weeks[len(weeks)-1]
	var days float64
	for _, v := range whole {
		days += v.days
	}
	p := paceOf(whole, season)
	if days < 7 || p.perDay <= 0 {
		return paceOf(weeks, season)
	}
	p.ahead = min(7, running.used/p.perDay) - running.days
	return p
}

// paceWeights are what the running week and those before it weigh.
var paceWeights = func() (w [paceWeeks + 1]float64) {
	for ago := range w {
		w[ago] = math.Exp2(-float64(ago) / paceHalves)
	}
	return w
}()

func paceWeight(ago int) float64 {
	if ago < len(paceWeights) {
		return paceWeights[ago]
	}
	return math.Exp2(-float64(ago) / paceHalves)
}

// paceOf weighs the last weeks, oldest first; season is what the weeks came to
// that followed the same day a year ago, none without a year of rides: they
// count as much as the last weeks do.
func paceOf(weeks []weekly, season weekly) pace {
	var days, sum, n, nn float64
	for i, v := range weeks {
		w := paceWeight(len(weeks) - 1 - i)
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
			w := paceWeight(len(weeks)-1-i) * v.days / 7
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
	s, way := p.over(days), p.perDay*p.ridden(days)
	var sum, at float64
	if way == 0 {
		at = c.at(now)
	}
	for k, z := range nodes5 {
		switch {
		case way == 0: // from every node the same
		case z == 0:
			at = c.at(now + way)
		default:
			at = c.at(now + way*math.Exp(s*z))
		}
		sum += weights5[k] * at
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
