package wear

import (
	"fmt"
	"math/rand/v2"
	"slices"
)

// hireBook is what pawl knows of a bike: what a book would keep of it, built up
// as the year goes.
type hireBook struct {
	b      *hireBike
	c      Case
	tl     Timeline
	at     Instant // of what is entered now
	next   uint64
	ridden int64 // ms in the last span
	ahead  Instant
	r      *rand.Rand // of the tools and eyes
}

// hireDay is an instant of a day of the year.
func hireDay(day int, hour float64) Instant { return days(float64(day) + hour/24) }

// newHireBook enters a bike as it stands in the new year: serviced, with a new
// chain and new pads, all bolts checked, the rest as the season before left it.
func newHireBook(b *hireBike, ahead float64) *hireBook {
	k := &hireBook{b: b, next: 1000, ahead: Instant(ahead * Day), at: hireDay(0, 0), r: b.y.draw(9, b.n, 0)}
	k.c = Case{Bike: Bike{ID: bikeID, Name: fmt.Sprintf("hire-%d", b.n), Speeds: 12, Guide: true, Fleet: true}, First: Ever, Today: k.at}
	k.tl = Timeline{{From: Ever, Ring: 32}}
	for _, kind := range append(append([]string{"guide"}, yearParts...), yearBolts...) {
		k.fit(kind)
		p := k.part(kind)
		if t := b.parts[kind]; t != nil && t.km > 0 {
			p.Stays[0].Came, p.Stays[0].Opening = true, hireRide{hours: t.km / hirePace, km: t.km}.ride(k.at).Total()
		}
		for _, j := range Default().kind(kind).Jobs {
			if j.Act == ActCheck || j.Act == ActLook {
				k.sign(p, j.Name)
			}
		}
	}
	k.at++
	k.cut()
	return k
}

// fit puts a part of a kind on.
func (k *hireBook) fit(kind string) {
	k.next++
	p := Part{ID: ID(k.next), Kind: kind, Name: fmt.Sprintf("%s-%d", kind, k.next)}
	switch kind {
	case "ring":
		p.Teeth, p.Narrow, p.Material = 32, true, "aluminium"
	case "cassette":
		p.Cogs, p.Material = []int{10, 12, 14, 16, 18, 21, 24, 28, 33, 39, 45, 51}, "steel"
	case "front-pads", "rear-pads":
		p.Material = "organic"
	}
	k.c.Parts = append(k.c.Parts, PartCase{Part: p, Stays: []Stay{{Part: p.ID, Host: bikeID, From: k.at, To: Never}}})
}

func (k *hireBook) part(kind string) *PartCase {
	i := slices.IndexFunc(k.c.Parts, func(p PartCase) bool { return p.Part.Kind == kind })
	return &k.c.Parts[i]
}

// cut begins a span at the instant at which facts are entered.
func (k *hireBook) cut() {
	if k.tl[len(k.tl)-1].From != k.at {
		k.tl, k.ridden = append(k.tl, Span{From: k.at, Ring: 32}), 0
	}
	k.c.Lines = map[ID]Timeline{bikeID: k.tl}
}

// ride enters a hire by the odometer.
func (k *hireBook) ride(h hireRide, day int) {
	start := hireDay(day, 10)
	ride := h.ride(start)
	span, moving := &k.tl[len(k.tl)-1], ride.Recorded[Moving]
	span.Sums[h.told] = span.Sums[h.told].Add(ride.Sum())
	if span.First == 0 {
		span.First = moving
	}
	if k.ridden += moving; span.ToLong == 0 && moving >= LongRide {
		span.ToLong = k.ridden
	}
	if k.c.First == Ever {
		k.c.First = start
	}
	k.c.Use.Last = start
	k.week(ride, day)
	k.at = hireDay(day, 19)
	k.c.Today = k.at
	k.cut()
}

// week keeps what each week with a ride came to, the running one last.
func (k *hireBook) week(ride Ride, day int) {
	from := hireDay(day-day%7, 0)
	if n := len(k.c.Use.Weeks); n == 0 || k.c.Use.Weeks[n-1].From != from {
		k.c.Use.Weeks = append(k.c.Use.Weeks, Week{From: from})
	}
	w := &k.c.Use.Weeks[len(k.c.Use.Weeks)-1]
	w.Sums[ride.Ground] = w.Sums[ride.Ground].Add(ride.Sum())
}

// work does what pawl says is due until it says nothing more.
func (k *hireBook) work() {
	for round := range 8 {
		all := Assess(k.c, Default())
		fs := due(all)
		if len(fs) == 0 {
			return
		}
		k.b.t.stops += boolFloat(fs[0].Verdict == Stop)
		if round == 0 && slices.ContainsFunc(fs, func(f Finding) bool { return f.Act != ActClean }) {
			fs = append(fs, k.soon(all)...)
		}
		change := slices.ContainsFunc(fs, func(f Finding) bool { return f.Act == ActChange })
		for i := range fs { // a new part comes first: it may be all that is asked for
			if change == (fs[i].Act == ActChange) {
				k.do(&fs[i])
			}
		}
	}
	k.b.t.stuck++
}

func due(fs []Finding) []Finding {
	return slices.DeleteFunc(slices.Clone(fs), func(f Finding) bool { return f.Verdict < Due })
}

// soon are the inspections that pawl would put into a visit some days ahead,
// since the bike is on the stand anyway.
func (k *hireBook) soon(all []Finding) []Finding {
	if k.ahead == 0 {
		return nil
	}
	plan := PlanVisit(Visit{Bike: bikeID, At: k.at + k.ahead}, all)
	return slices.DeleteFunc(plan.Findings, func(f Finding) bool { return f.Verdict >= Due || !f.Act.Inspects() })
}

// actWords are what the minutes of a job are put down to.
var actWords = map[Act]string{ActMeasure: "measuring", ActLook: "looking", ActCheck: "checking"}

// do does one job and enters it.
func (k *hireBook) do(f *Finding) {
	p := k.part(f.Kind)
	switch f.Act {
	case ActChange:
		k.b.change(f.Kind, Worn)
		return
	case ActClean:
		k.b.t.washes++
		k.sign(p, f.Job)
		return
	case ActMeasure:
		k.measure(p)
	case ActLook:
		k.look(p)
	case ActCheck:
		k.check(p, f.Job)
	}
	k.b.spend(actWords[f.Act], float64(f.Minutes))
}

// measure reads a part as a tool of the depot's does.
func (k *hireBook) measure(p *PartCase) {
	k.next++
	r := Reading{ID: k.next, Part: p.Part.ID, Bike: bikeID, At: k.at}
	truth := k.b.parts[p.Part.Kind]
	if p.Part.Kind == "chain" {
		r.Of, r.Tool, r.Pitches = Elongation, toolRuler, 24
		random, _ := errorOf(r.Tool).of(&r)
		for range 3 { // as the schedule advises
			r.Places = append(r.Places, truth.long()+k.b.d.ruler+random*k.r.NormFloat64())
			r.Value += r.Places[len(r.Places)-1] / 3
		}
	} else {
		r.Of, r.Tool = Lining, toolCaliper
		random, _ := errorOf(r.Tool).of(&r)
		r.Value = max(0, truth.lining()+k.b.d.calip+random*k.r.NormFloat64())
	}
	p.Readings = append(p.Readings, r)
}

// look is an eye's word, which errs by a tenth of a part's life.
func (k *hireBook) look(p *PartCase) {
	word := Good
	if truth := k.b.parts[p.Part.Kind]; truth != nil {
		switch seen := truth.wear + 0.1*k.r.NormFloat64(); {
		case seen >= 1:
			word = Replace
		case seen >= 0.7:
			word = Watch
		}
	}
	if p.Part.Kind == "guide" && k.b.bolts["guide-bolts"].loose {
		k.b.t.found++
		k.b.tighten("guide-bolts")
	}
	k.saw(p, word)
}

func (k *hireBook) saw(p *PartCase, word Word) {
	k.next++
	p.Looks = append(p.Looks, Look{ID: k.next, Part: p.Part.ID, Bike: bikeID, At: k.at, Word: word})
}

// check checks bolts, or tries whether the chain skips.
func (k *hireBook) check(p *PartCase, job string) {
	if p.Part.Kind != "cassette" {
		k.b.check(p.Part.Kind)
	} else if k.b.parts["cassette"].wear >= 1 {
		k.saw(p, Replace)
	}
	k.sign(p, job)
}

func (k *hireBook) sign(p *PartCase, job string) {
	k.next++
	p.SignOffs = append(p.SignOffs, SignOff{ID: k.next, Part: p.Part.ID, Bike: bikeID, At: k.at, Job: job})
}

// changed enters that a part of a kind was changed.
func (k *hireBook) changed(kind string, why Cause) {
	old := k.part(kind)
	old.Stays[0].To, old.Part.End = k.at, &End{k.at, why}
	k.sign(old, "change")
	past := *old
	k.c.Parts = slices.DeleteFunc(k.c.Parts, func(p PartCase) bool { return p.Part.ID == past.Part.ID })
	k.fit(kind)
	past.SignOffs[len(past.SignOffs)-1].Fitted = k.part(kind).Part.ID
	k.c.Past = append(k.c.Past, past)
}

// dropped enters that the chain dropped.
func (k *hireBook) dropped() {
	k.next++
	k.c.Incidents = append(k.c.Incidents, Incident{ID: k.next, Bike: bikeID, At: k.at, What: Dropped})
}
