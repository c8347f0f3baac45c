package wear

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// happenings are the incidents of the bike that stand, oldest first.
func (a *assessor) happenings() {
	if len(a.c.Incidents) == 0 {
		return
	}
	a.incidents = ordered(a.c.Incidents,
		func(x, y Incident) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
		func(i Incident) bool { return i.Void || i.At > a.c.Today })
	for _, i := range a.incidents {
		if i.What == Dropped {
			a.drops = append(a.drops, i.At)
		}
	}
}

// incident is the newest incident of a sort, of one part or, where part is 0,
// of the bike as a whole, that came after an instant. Of the same instant, which
// a bare date often is, it counts unless the part was seen after it was entered.
func (a *assessor) incident(what Happening, part ID, since Instant, p *partView) (Incident, bool) {
	for _, i := range slices.Backward(a.incidents) {
		if i.What == what && i.Part == part && (i.At > since || i.At == since && !p.seenSince(i)) {
			return i, true
		}
	}
	return Incident{}, false
}

// seenSince reports whether a look, or a sign-off of one, of the incident's own
// instant was entered after it. Ids are given in the order of entry.
func (p *partView) seenSince(i Incident) bool {
	if p == nil {
		return false
	}
	for _, l := range p.looks {
		if l.At == i.At && l.ID > i.ID {
			return true
		}
	}
	for _, s := range p.signoffs {
		if s.At == i.At && s.ID > i.ID && s.Job == string(ActLook) {
			return true
		}
	}
	return false
}

var happeningWords = map[Happening]string{
	Crashed: "a crash on %s, and not looked at since", Recalled: "recalled on %s, and not looked at since",
	Struck: "a strike on %s", Dropped: "the chain dropped on %s",
}

func (a *assessor) sayIncident(i Incident) string {
	s := fmt.Sprintf(happeningWords[i.What], a.day(i.At))
	if i.Note != "" {
		s += ": " + i.Note
	}
	return s
}

// named makes a look due at the part that an incident names. A crash and a
// recall stop the bike until then.
func (j *judge) named() {
	if j.job.Act != ActLook {
		return
	}
	for _, what := range Happenings {
		i, ok := j.a.incident(what, j.p.pc.Part.ID, j.anchor.At, j.p)
		switch {
		case !ok:
		case what == Crashed || what == Recalled:
			j.stop(ByCount, j.a.sayIncident(i), j.job.Title+" and record what you saw")
			j.f.Seen = true
			j.caution(what)
		default:
			j.raise(Due, ByCount, j.a.sayIncident(i))
		}
	}
}

// The cautions of what stops a bike until it was looked at.
const (
	crashCaution  = "after a crash nothing rides until it was looked at; carbon goes to a specialist"
	recallCaution = "do what the maker's notice says; nothing rides until then"
)

func (j *judge) caution(what Happening) {
	said := crashCaution
	if what == Recalled {
		said = recallCaution
	}
	if j.f.Caution != said {
		j.f.Caution = join(j.f.Caution, "; ", said)
	}
}

// open reports whether an incident names the part that was not looked at since.
func (a *assessor) open(p *partView) bool {
	if len(a.incidents) == 0 {
		return false
	}
	at := a.anchor(p, &Job{Name: "look", Act: ActLook}).At
	return slices.ContainsFunc(a.incidents, func(i Incident) bool {
		return i.Part == p.pc.Part.ID && (i.At > at || i.At == at && !p.seenSince(i))
	})
}

// frameless is the stop of a bike that crashed or was recalled and has no
// frame in the book that could be looked at.
func (a *assessor) frameless() []Finding {
	if len(a.incidents) == 0 || a.first("frame") != nil {
		return nil
	}
	for _, what := range []Happening{Crashed, Recalled} {
		i, ok := a.incident(what, 0, Ever, nil)
		if !ok {
			continue
		}
		zero, today := 0.0, a.c.Today
		f := Finding{Bike: a.c.Bike.Name, BikeID: a.c.Bike.ID, Part: "frame", Kind: "frame", Job: "look", Act: ActLook,
			Title: "look at the frame for cracks", Safety: true, Verdict: Stop, Basis: ByCount, Data: DataRecorded, Share: 1, Since: i.At,
			Advice: "the bike has no frame in the book: fit one of kind frame, then record a look at it",
			Clears: "fit the frame in the book, look at it and record what you saw", Caution: crashCaution,
			Source: "common practice, no published source", Reasons: []Reason{{ByCount, a.sayIncident(i)}}}
		if what == Recalled {
			f.Caution = recallCaution
		}
		f.Left, f.Date, f.Chance = Range{&zero, &zero, &zero}, Dates{&today, &today, &today}, 1
		return []Finding{f}
	}
	return nil
}

// dropped is when the chain had last dropped n times within hours of riding.
func (a *assessor) dropped(n int, hours float64) (Instant, bool) {
	for last := len(a.drops) - 1; last >= n-1; last-- {
		if a.ridden(a.drops[last-n+1], a.drops[last]) <= hours*3600 {
			return a.drops[last], true
		}
	}
	return 0, false
}

// ridden is the riding between two instants, in seconds. A span that was not
// cut at them counts in proportion to its time.
func (a *assessor) ridden(from, to Instant) (s float64) {
	if a.c.First == Ever {
		return 0
	}
	tl := a.c.Lines[a.c.Bike.ID]
	for i := range tl {
		start, end := max(tl[i].From, a.c.First), a.c.Today+1
		if i+1 < len(tl) {
			end = tl[i+1].From
		}
		if share := min(end, to) - max(start, from); share > 0 {
			s += Moving.SI(tl[i].Sums.All().Total()[Moving]) * float64(share) / float64(end-start)
		}
	}
	return s
}

// day says an instant in the book's zone.
func (a *assessor) day(i Instant) string {
	if i == Ever || i == Never || a.c.Zone == nil {
		return day(i)
	}
	return i.Time().In(a.c.Zone).Format(time.DateOnly)
}
