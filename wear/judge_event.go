package wear

import "fmt"

// events makes the job due where one of its events happened since the anchor.
func (j *judge) events() {
	for _, list := range [][]Event{j.iv.After, j.job.Evidence} {
		for _, e := range list {
			if why, ok := j.happened(e, false); ok {
				j.event(e, why)
			}
		}
	}
}

// event makes the job due; a crash and a recall stop the bike until it was
// looked at.
func (j *judge) event(e Event, why string) {
	if !j.job.Safety || e.Kind != EventCrash && e.Kind != EventRecall {
		j.raise(Due, ByCount, why)
		return
	}
	j.stop(ByCount, why, j.job.Title+" and record what you saw")
	j.f.Seen = true
	if e.Kind == EventRecall {
		j.caution(Recalled)
	}
}

// happened reports whether the event calls for the job. What shortens an
// interval (soon) lasts until the reading changes; what makes it due is done
// with once the job was done after it.
func (j *judge) happened(e Event, soon bool) (why string, ok bool) {
	switch e.Kind {
	case EventFitted:
		_, has := j.p.lastReading()
		_, done := j.p.done(j.job)
		return "not measured since it was fitted", !has && !done && j.known == Ever
	case EventWet:
		return j.ridden(Wet, "in the wet")
	case EventMud:
		return j.ridden(Mud, "in mud")
	case EventSharePast:
		return j.pastShare(e)
	case EventChainPast:
		r, has := j.a.chainReading()
		if !has || r.Value <= e.Value || !soon && r.At <= j.anchor.At {
			return "", false
		}
		return fmt.Sprintf("the chain measured %.2f %%", r.Value), true
	}
	return j.dated(e)
}

// dated are the events that happen at an instant.
func (j *judge) dated(e Event) (why string, ok bool) {
	switch e.Kind {
	case EventNewChain:
		_, ok = after(j.a.newChains, j.anchor.At)
		return "a new chain was fitted", ok
	case EventCrash:
		if why, ok = j.incident(Crashed); ok {
			return why, ok
		}
		_, ok = after(j.a.crashes, j.anchor.At)
		return "a crash, and not looked at since", ok
	case EventRecall:
		return j.incident(Recalled)
	case EventStrike:
		return j.incident(Struck)
	case EventDrops:
		at, ok := j.a.dropped(int(e.Value), e.Within)
		if !ok || at <= j.anchor.At {
			return "", false
		}
		return fmt.Sprintf("the chain dropped at least %g times within %g h of riding, last on %s", e.Value, e.Within, j.a.day(at)), true
	case EventNthChain:
		n := int(e.Value)
		if list := j.wornSinceFit(); len(list) >= n {
			return fmt.Sprintf("%d chains were worn out on it", len(list)), list[n-1] > j.anchor.At
		}
	}
	return "", false
}

// incident is one of the bike as a whole since the anchor.
func (j *judge) incident(what Happening) (why string, ok bool) {
	i, ok := j.a.incident(what, 0, j.anchor.At, j.p)
	if !ok {
		return "", false
	}
	return j.a.sayIncident(i), true
}

func (j *judge) wornSinceFit() []Instant {
	list := j.a.wornChains
	for len(list) > 0 && list[0] <= j.p.stay.From {
		list = list[1:]
	}
	return list
}

// ridden reports whether a ride on the ground began since the anchor.
func (j *judge) ridden(g Ground, words string) (string, bool) {
	u := j.a.usage(j.p, CountRides, window{from: j.anchor.At, to: Never})
	if u.rides[g] == 0 {
		return "", false
	}
	return fmt.Sprintf("%s %s since %s", plural(u.rides[g], "ride"), words, j.anchor.Why), true
}

func (j *judge) pastShare(e Event) (string, bool) {
	l := j.p.limit()
	r, has := j.p.lastReading()
	if l == nil || !has {
		return "", false
	}
	return fmt.Sprintf("the last reading was past %g %% of the limit", e.Value*100), l.Share(r.Value) > e.Value
}

// limit is the limit of the part's reading; nil where it has none. It is worked
// out once.
func (p *partView) limit() *Limit {
	if !p.bounded {
		p.bounded, p.bound = true, p.limitNow()
	}
	return p.bound
}

func (p *partView) limitNow() *Limit {
	for i := range p.kind.Jobs {
		if p.kind.Jobs[i].Interval.Reading == nil {
			continue
		}
		if iv := p.at(&p.kind.Jobs[i]); iv.Reading != nil {
			return iv.Reading.stamped(p.pc.Part.Stamp)
		}
	}
	return nil
}

// changing is the job that changes the part, with what holds for this one.
func (p *partView) changing() (Interval, bool) {
	for i := range p.kind.Jobs {
		if p.kind.Jobs[i].Act == ActChange {
			return p.at(&p.kind.Jobs[i]).Interval, true
		}
	}
	return Interval{}, false
}

// lived is what a part has come to on all its stays and before. It is worked out once.
func (a *assessor) lived(p *partView, of CountOf) float64 {
	for _, l := range p.lives {
		if l.of == of {
			return l.used
		}
	}
	u := a.usage(p, of, window{from: Ever, to: Never, opening: true})
	p.lives = append(p.lives, life{of, u.used})
	return u.used
}

// life is what a part has come to by one count.
type life struct {
	of   CountOf
	used float64
}

// expected makes an inspection due when the part has come to what such parts
// last, and was not inspected since.
func (j *judge) expected() {
	iv, ok := j.p.changing()
	if !ok || j.job.Act != ActLook && j.job.Act != ActMeasure {
		return
	}
	for _, c := range iv.Expect {
		if j.a.lived(j.p, c.Of) < c.Limit {
			continue
		}
		then := usage{}
		if j.anchor.At != Ever && !j.anchor.First {
			then = j.a.usage(j.p, c.Of, window{from: Ever, to: j.anchor.At, opening: true})
		}
		if then.used < c.Limit {
			j.raise(Due, ByCount, fmt.Sprintf("it has come to %s, where such a part is expected to be worn", c))
		}
	}
}
