package wear

import (
	"fmt"
	"math"
)

// bandPoints is how many points of the line and its range are given.
const bandPoints = 41

// told is the forecast as Explain shows it; nil where nothing is measured.
func (j *judge) forecastTold() *Forecast {
	f := j.a.forecast(j.p)
	if f == nil || j.job.Act != ActChange {
		return nil
	}
	s := &f.sort
	out := &Forecast{
		Of: s.limit.Of, Unit: s.limit.Unit(), By: s.by.Of.String(), LoadUnit: s.by.Of.Unit(), New: s.limit.New, Limit: s.limit.Due,
		Earlier: len(f.known), Guessed: s.guessed, Load: f.now, Last: f.last, PerDay: f.pace.perDay, Lead: j.a.s.LeadDays,
		Chance: f.within(j.a.s.LeadDays), Left: j.f.LoadLeft,
	}
	post := f.post
	if post == nil {
		post = f.prior.fit(&evidence{})
	}
	out.Prior = f.line(f.prior.fit(&evidence{}))
	out.Line = f.line(post)
	mean, sd := f.wear()
	out.Now = f.around(mean, sd)
	out.Crossing = f.range3(func(q float64) float64 { return f.curve.quantile(q) })
	out.Days = f.range3(func(q float64) float64 {
		if d, ok := f.days(q); ok {
			return d
		}
		return math.Inf(1)
	})
	if out.Days.P50 != nil {
		out.Spread = f.pace.over(*out.Days.P50)
	}
	out.Weights = f.weights(j.p.readings)
	out.Band = f.band(post)
	out.Turn = j.turn(f)
	return out
}

// line is a posterior as readings have it.
func (f *forecast) line(p *posterior) Line {
	start, sd := p.wear(0)
	return Line{Start: f.gait.reading(start), StartSD: sd, Rate: f.gait.sign * math.Exp(p.axis), RateSpread: math.Sqrt(p.axisVar)}
}

// around are the readings to expect about straight wear, the smaller first.
func (f *forecast) around(mean, sd float64) Range {
	lo, mid, hi := f.gait.reading(mean-normal90*sd), f.gait.reading(mean), f.gait.reading(mean+normal90*sd)
	if lo > hi {
		lo, hi = hi, lo
	}
	return Range{&lo, &mid, &hi}
}

// range3 are the quantiles of something; nil where infinite.
func (f *forecast) range3(at func(q float64) float64) Range {
	one := func(q float64) *float64 {
		if v := at(q); !math.IsInf(v, 1) {
			return &v
		}
		return nil
	}
	return Range{one(0.1), one(0.5), one(0.9)}
}

// weights says what each reading adds to what is known of the rate: how much
// less would be known without it.
func (f *forecast) weights(readings []Reading) []Weight {
	early := len(readings) - len(f.taken)
	list := make([]Weight, 0, len(readings))
	for i := range early {
		list = append(list, Weight{Reading: readings[i], Load: -1})
	}
	if f.post == nil || early < 0 {
		return list
	}
	sum := 1 / (f.prior.rateSD * f.prior.rateSD)
	for i, t := range f.taken {
		w := Weight{Reading: readings[early+i], Load: t.load}
		e := f.evidence.without(t)
		w.Share = max(0, 1/f.post.axisVar-1/f.prior.fit(&e).axisVar)
		sum += w.Share
		if t.gauge < 0 {
			r := f.evidence.exact[t.exact]
			mean, sd := f.post.wear(r.load)
			w.Off = (r.wear - mean) / math.Hypot(sd, math.Hypot(r.sd, f.evidence.tools[r.tool].sd))
		}
		list = append(list, w)
	}
	for i := range list {
		list[i].Share /= sum
	}
	return list
}

// band is the line and its range from the fit to where the limit is all but
// sure, widened past the last reading.
func (f *forecast) band(p *posterior) []BandPoint {
	end := f.curve.quantile(0.9)
	if math.IsInf(end, 1) {
		end = 2 * f.curve.quantile(0.5)
	}
	if end = 1.05 * max(end, f.now); math.IsInf(end, 1) || end <= 0 {
		return nil
	}
	d := drift{}
	if f.read() {
		d = f.drift()
	}
	list := make([]BandPoint, bandPoints)
	for i := range list {
		u := end * float64(i) / (bandPoints - 1)
		mean, sd := p.wear(u)
		if u > d.from && f.read() {
			sd = math.Hypot(sd, p.rate*(u-d.from)*d.spread(u))
		}
		r := f.around(mean, sd)
		list[i] = BandPoint{u, *r.P10, *r.P50, *r.P90}
	}
	return list
}

// turn says in one sentence what would change the verdict.
func (j *judge) turn(f *forecast) string {
	l, tool := f.sort.limit, "caliper"
	if r, ok := j.p.lastReading(); ok && r.Gauge == nil && r.Tool != "" {
		tool = r.Tool
	}
	worse := "or more"
	if !l.Rises() {
		worse = "or less"
	}
	due := fmt.Sprintf("%.3g %s %s would make it due", l.Due, l.Unit(), worse)
	at, ok := f.orders(tool, j.a.s.LeadDays)
	said := fmt.Sprintf("%.2f %s", at, l.Unit())
	switch {
	case j.f.Verdict >= Due && j.f.Basis == ByReading:
		return "a new part, or the deciding reading voided or marked as doubtful"
	case j.f.Verdict >= Due:
		return "a new part, or a later look that says good or watch"
	case !ok && j.f.Verdict == Fine:
		return fmt.Sprintf("a reading today of %s", due)
	case !ok:
		return "a look that says replace, or a new part"
	case j.f.Verdict == Order && j.unlikely(at):
		return "less riding, or a new part; " + due
	case j.f.Verdict == Order:
		return fmt.Sprintf("a reading by %s today short of %s would make it fine again, %s", tool, said, due)
	}
	return fmt.Sprintf("a reading by %s today of %s %s would ask for the part to be ordered, %s", tool, said, worse, due)
}

// unlikely reports whether a reading is so much better than the last one, by a
// sixth of the way from new to due, that no tool would say it of a sound part.
func (j *judge) unlikely(reading float64) bool {
	l := j.p.limit()
	r, ok := j.p.lastReading()
	return ok && l.Share(r.Value)-l.Share(reading) > 1.0/6
}

// orders is the reading today from which the part is to be ordered; ok is false
// where the bike stands or no reading short of the limit does.
func (f *forecast) orders(tool string, lead float64) (reading float64, ok bool) {
	if f.pace.perDay <= 0 {
		return 0, false
	}
	order := func(share float64) bool {
		l := f.sort.limit
		r := Reading{Of: l.Of, Tool: tool, Value: l.New + share*(l.Due-l.New)}
		t := taker{gait: f.gait, e: f.evidence.without(reader{exact: -1, gauge: -1}), ids: append([]toolID(nil), f.ids...)}
		t.take(&r, f.now)
		c := f.course
		c.evidence, c.post = t.e, nil
		c.work()
		return f.pace.within(c.curve, f.now, lead) >= likely
	}
	lo, hi := 0.0, 1.0
	if order(lo) || !order(hi) {
		return 0, false
	}
	for range 8 {
		if mid := (lo + hi) / 2; order(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return f.sort.limit.New + hi*(f.sort.limit.Due-f.sort.limit.New), true
}

// without is a copy of the evidence less one reading.
func (e *evidence) without(t reader) evidence {
	out := evidence{tools: append([]toolBias(nil), e.tools...)}
	for i, r := range e.exact {
		if i != t.exact {
			out.exact = append(out.exact, r)
		}
	}
	for i, r := range e.gauged {
		if i != t.gauge {
			out.gauged = append(out.gauged, r)
		}
	}
	return out
}
