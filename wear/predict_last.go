package wear

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// TripLine says of one job of a part whether it will last a trip.
type TripLine struct {
	Finding Finding // as it is today
	Lasts   bool    // neither due now nor likely to be before the end
	Chance  float64 // that it falls due before the end, 0 to 1; 1 where it is due already
	Adds    float64 // by the trip, in Unit
	Unit    string  // of Adds: the count's, or the load of a part that is measured
	After   float64 // share of the way to the limit at the end, as likely as not
	Day     float64 // of the trip on which it falls due, as likely as not; 0 = not on it
	Text    string  // the same in words
}

// WillItLast holds a planned trip against every job of a bike: what does not
// last comes first, the likeliest to fall due before. Jobs that only events
// bring about (a wet ride, a new chain) are not among them, unless due now.
func WillItLast(c Case, s *Schedule, trip Trip) []TripLine {
	if c.retired() {
		return nil
	}
	a := newAssessor(&c, s)
	t := &tripping{a: a, trip: trip, sums: trip.sums(&c)}
	var list []TripLine
	for _, f := range a.frameless() {
		if f.Verdict >= Due {
			list = append(list, dueNow(f))
		}
	}
	for _, p := range a.views {
		for _, j := range a.part(p) {
			if l, ok := t.line(p, j.f); ok {
				list = append(list, l)
			}
		}
	}
	slices.SortFunc(list, func(x, y TripLine) int {
		return cmp.Or(boolInt(x.Lasts)-boolInt(y.Lasts), cmp.Compare(y.Chance, x.Chance), urgency(&x.Finding, &y.Finding))
	})
	return list
}

// tripping is a trip that a bike is to last.
type tripping struct {
	a    *assessor
	trip Trip
	sums Sums
}

// adds is what the trip adds to a count of the part.
func (t *tripping) adds(p *partView, of CountOf) float64 {
	if of == CountDays {
		return t.trip.Days
	}
	c := t.a.counting(p, of)
	return c.amount(&t.sums)
}

// dueNow is a job that needs no trip to be due.
func dueNow(f Finding) TripLine {
	return TripLine{Finding: f, Chance: 1, After: f.Share, Text: "due before the trip"}
}

// line is one job; ok is false where no count and no reading tells.
func (t *tripping) line(p *partView, f Finding) (TripLine, bool) {
	job := t.a.jobOf(p, f.Job)
	if job == nil {
		return dueNow(f), f.Verdict >= Due
	}
	l := TripLine{Finding: f}
	j := t.a.judge(p, job)
	if f.Verdict >= Due {
		if l = dueNow(f); j.best >= 0 {
			l.Adds, l.Unit = t.adds(p, countOf(&j.lines[j.best])), j.lines[j.best].Unit
		}
		return l, true
	}
	if ahead := t.a.forecast(p); ahead != nil && job.Act == ActChange {
		t.measured(&l, p, ahead)
	} else if !t.counted(&l, p, j) {
		return l, false
	}
	l.Lasts = l.Chance < likely
	return l, true
}

// counted is a job by the count that is likeliest to be reached.
func (t *tripping) counted(l *TripLine, p *partView, j *judge) bool {
	found := false
	for i := range j.lines {
		c := &j.lines[i]
		of := countOf(c)
		adds := t.adds(p, of)
		chance := t.chance(of, c.Limit-c.Used, adds)
		if found && chance <= l.Chance {
			continue
		}
		found = true
		l.Chance, l.Adds, l.Unit, l.After, l.Day = chance, adds, c.Unit, (c.Used+adds)/c.Limit, t.day(c.Limit-c.Used, adds)
		l.Text = fmt.Sprintf("%s now, about %s at the end, limit %s%s", about(of, c.Used), about(of, c.Used+adds), about(of, c.Limit), t.sayDay(l.Day))
	}
	return found
}

// chance is the probability that what is left is used up.
func (t *tripping) chance(of CountOf, left, adds float64) float64 {
	switch {
	case left <= 0:
		return 1
	case adds <= 0:
		return 0
	case of == CountDays || of == CountRides || of == CountLong:
		return float64(boolInt(adds >= left))
	}
	return phi(math.Log(adds/left) / tripSpread)
}

// measured is the change of a part by its forecast.
func (t *tripping) measured(l *TripLine, p *partView, f *forecast) {
	of := f.sort.by.Of
	l.Adds, l.Unit = t.adds(p, of), of.Unit()
	trip := pace{perDay: l.Adds, spread: tripSpread}
	if l.Chance = f.curve.at(f.now); l.Adds > 0 {
		l.Chance = trip.within(f.curve, f.now, 1)
	}
	l.Day = t.day(f.left(0.5), l.Adds)
	limit := f.sort.limit
	if f.none {
		l.After = (f.now + l.Adds) / f.curve.quantile(0.5)
		l.Text = fmt.Sprintf("not measured yet: %.0f %% likely to come to %g %s, by what such parts last", 100*l.Chance, limit.Due, limit.Unit())
		return
	}
	now, _ := f.wear()
	then, _ := f.post.wear(f.now + l.Adds)
	l.After = f.share(then)
	l.Text = fmt.Sprintf("about %.2g %s now, %.2g %s at the end, limit %g %s: %.0f %% likely to be reached%s",
		f.gait.reading(now), limit.Unit(), f.gait.reading(then), limit.Unit(), limit.Due, limit.Unit(), 100*l.Chance, t.sayDay(l.Day))
}

// day is the day of the trip on which what is left is used up; 0 = not on it.
func (t *tripping) day(left, adds float64) float64 {
	if adds < left || adds <= 0 {
		return 0
	}
	return max(1, math.Ceil(t.trip.Days*max(0, left)/adds))
}

func (t *tripping) sayDay(day float64) string {
	if day == 0 || t.trip.Days <= 1 {
		return ""
	}
	return fmt.Sprintf(": due on about day %.0f", day)
}
