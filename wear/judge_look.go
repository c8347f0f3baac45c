package wear

import (
	"fmt"
	"math"
)

// look applies what an eye said: unsafe stops the bike on the job that looks,
// replace makes the change due.
func (j *judge) look() {
	if j.job.Act == ActLook {
		if l, ok := j.p.unsafeLook(); ok {
			j.stop(ByLook, lookWords("unsafe", l), "put it right and record a look of good or watch, or fit a new one")
		}
	}
	if j.job.Act != ActChange {
		return
	}
	l, ok := j.p.lastLook()
	switch {
	case ok && l.Word == Replace && l.At > j.known:
		j.raise(Due, ByLook, lookWords("replace", l))
	case ok && l.Word == Watch && j.f.Verdict == Fine && j.f.Chance >= likely:
		j.raise(Order, ByLook, lookWords("watch", l)+", and it is near what such a part lasts")
	}
}

func lookWords(word string, l Look) string {
	s := "a look said " + word
	if l.Note != "" {
		s += ": " + l.Note
	}
	return s
}

// stop keeps the bike off the trail and says what clears it.
func (j *judge) stop(by Basis, why, clears string) {
	if j.f.Verdict != Stop {
		j.f.Clears = clears
	}
	j.f.Seen = j.f.Seen || by != ByCount
	j.raise(Stop, by, why)
}

// missed stops the bike where a first check after safety work was not done for
// hours of riding after it fell due. What came with the bike was not worked on.
func (j *judge) missed() {
	if !j.anchor.First || !j.job.Safety || len(j.iv.First) == 0 || j.p.stay.Came || j.anchor.At == Ever {
		return
	}
	ridden, point := 0.0, math.Inf(1)
	for _, span := range j.a.c.Lines[j.p.stay.Host].within(j.anchor.At, j.a.c.Today+1) {
		hours := outdoors(&span.Sums)
		for _, c := range j.iv.First {
			point = min(point, reached(c, span, ridden, hours))
		}
		ridden += hours
	}
	if over := ridden - point; over >= j.a.s.MissedHours {
		j.stop(ByCount, fmt.Sprintf("first check missed by %.1f h of riding since %s", over, j.anchor.Why),
			j.job.Title+" and sign it off")
	}
}

// reached is after how many hours since the anchor a first count is reached
// within a span that begins after so many hours and holds so many; infinite
// where it is not.
func reached(c Count, span Span, before, hours float64) float64 {
	const ms = 3_600_000
	switch {
	case c.Of == CountRides && c.Limit == 1 && span.First > 0:
		return before + float64(span.First)/ms
	case c.Of == CountLong && c.Limit == 1 && span.ToLong > 0:
		return before + float64(span.ToLong)/ms
	case c.Of == CountHours && before+hours >= c.Limit/3600:
		return max(before, c.Limit/3600)
	}
	return math.Inf(1)
}

// outdoors is the moving time of outdoor rides in h.
func outdoors(s *Sums) (hours float64) {
	for g := range s {
		if !Ground(g).Indoor() {
			hours += Moving.SI(s[g].Total()[Moving]) / 3600
		}
	}
	return hours
}

// fleet stops a hired bike at twice the interval of a safety inspection.
func (j *judge) fleet() {
	if !j.a.c.Bike.Fleet || !j.job.Safety || !j.job.Act.Inspects() {
		return
	}
	counted := j.group == figThen && len(j.lines) == len(j.iv.Then) // over the same window
	for i, c := range j.iv.Then {
		var l CountLine
		if counted {
			l = j.lines[i]
		} else {
			l = j.line(c, window{from: j.anchor.At, to: Never})
		}
		if l.Share >= j.a.s.FleetTimes {
			j.stop(ByCount, fmt.Sprintf("%s since %s: %.1f times the interval of a safety inspection of a hired bike",
				about(c.Of, l.Used), j.anchor.Why, l.Share), j.job.Title+" and sign it off")
		}
	}
}

// implied is the job that a look asks for where the kind has none of its own:
// every part can be looked at, and every part can be changed.
func (a *assessor) implied(p *partView) []*Job {
	var jobs []*Job
	if _, unsafe := p.unsafeLook(); !p.kind.has(ActLook) && (unsafe || a.open(p)) {
		jobs = append(jobs, &Job{Name: "look", Act: ActLook, Title: "look at the " + p.kind.Title, Safety: true,
			Advice: "put right what made it unsafe, then look again", Caution: StopCaution, Source: "the look"})
	}
	if l, ok := p.lastLook(); ok && l.Word == Replace && !p.kind.has(ActChange) {
		jobs = append(jobs, &Job{Name: "change", Act: ActChange, Title: "change the " + p.kind.Title,
			Advice: "change the " + p.kind.Title, Source: "the look"})
	}
	return jobs
}
