package wear

import (
	"cmp"
	"slices"
)

// assessor holds what all jobs of a case share.
type assessor struct {
	c     *Case
	s     *Schedule
	views []*partView

	chain, ring, cassette *partView // on the bike now; nil = none
	newChains             []Instant // dated fits of a chain that was not on the bike before
	wornChains            []Instant // ends of the bike's chains that were worn
	crashes               []Instant // ends of the bike's parts in a crash
	incidents             []Incident
	drops                 []Instant // of the chain
	runOut                bool      // policy: chain, ring and cassette are run out together
	runOutBy              *override // who says so
	detail                bool      // collect what Explain shows
	brief                 bool      // only what makes a job due or stops the bike, see AssessOnly
	only                  bool      // no forecast is wanted for itself, see AssessOnly
	idle                  *judge    // that nobody needs any more: the next one takes its place

	folded map[ID][]folded // see folds
	bends  float64         // see bendLately; 0 = not worked out

	calendar *calendar // see weeks
	paces    []*countPace
}

func newAssessor(c *Case, s *Schedule) *assessor { return assessorWith(c, s, nil) }

// assessorWith is an assessor that shares the folds of its bikes with others.
func assessorWith(c *Case, s *Schedule, folds map[ID][]folded) *assessor {
	a := &assessor{c: c, s: s, views: make([]*partView, len(c.Parts)), folded: folds}
	for i := range c.Parts {
		a.views[i] = a.view(&c.Parts[i])
	}
	a.override()
	a.chain, a.ring, a.cassette = a.first("chain"), a.first("ring"), a.first("cassette")
	for _, p := range a.views {
		p.setting = a.setting(p)
		p.busyTeeth, p.busyShare = p.busyCog(s.Assumed.BusyCog), s.Assumed.BusyShare
	}
	if a.cassette != nil {
		a.busiest(a.cassette)
	}
	a.chains()
	a.ends()
	a.happenings()
	return a
}

// first is the part of a kind on the bike; nil where there is none.
func (a *assessor) first(kind string) *partView {
	for _, p := range a.views {
		if p.pc.Part.Kind == kind {
			return p
		}
	}
	return nil
}

// chains finds when another chain came to the bike.
func (a *assessor) chains() {
	var stays []Stay
	for _, list := range [][]PartCase{a.c.Past, a.c.Parts} {
		for i := range list {
			if list[i].Part.Kind != "chain" {
				continue
			}
			for _, st := range list[i].Stays {
				if st.Host == a.c.Bike.ID {
					stays = append(stays, st)
				}
			}
		}
	}
	slices.SortFunc(stays, func(x, y Stay) int { return cmp.Compare(x.From, y.From) })
	for i, st := range stays {
		// A chain that comes back in rotation is not a new one.
		known := slices.ContainsFunc(stays[:i], func(o Stay) bool { return o.Part == st.Part })
		if st.From != Ever && st.From <= a.c.Today && !known {
			a.newChains = append(a.newChains, st.From)
		}
	}
}

// ends collects worn chains and crashes of the bike.
func (a *assessor) ends() {
	for i := range a.c.Past {
		pc := &a.c.Past[i]
		end := pc.Part.End
		if end == nil || end.At > a.c.Today || !slices.ContainsFunc(pc.Stays, func(s Stay) bool {
			return s.Host == a.c.Bike.ID && s.From <= end.At && end.At <= s.To
		}) {
			continue
		}
		if end.Cause == Crash {
			a.crashes = append(a.crashes, end.At)
		}
		if end.Cause == Worn && pc.Part.Kind == "chain" {
			a.wornChains = append(a.wornChains, end.At)
		}
	}
	slices.Sort(a.crashes)
	slices.Sort(a.wornChains)
}

// setting gathers what the schedule's conditions ask about.
func (a *assessor) setting(p *partView) setting {
	s := setting{position: p.kind.Position, part: p.pc.Part, motor: a.c.Bike.Motor, runOut: a.runOut, speeds: p.pc.Part.Speeds}
	if a.ring != nil {
		s.narrow = a.ring.pc.Part.Narrow
	}
	if p.pc.Part.Kind == "ring" {
		s.narrow = p.pc.Part.Narrow
	}
	if s.speeds == 0 {
		s.speeds = a.c.Bike.Speeds
	}
	if s.speeds == 0 && a.cassette != nil {
		s.speeds = len(a.cassette.pc.Part.Cogs)
	}
	return s
}

// chainReading is the newest reading of the chain on the bike.
func (a *assessor) chainReading() (Reading, bool) {
	if a.chain == nil {
		return Reading{}, false
	}
	return a.chain.lastReading()
}

// after returns the first of the instants that is later than at.
func after(list []Instant, at Instant) (Instant, bool) {
	for _, i := range list {
		if i > at {
			return i, true
		}
	}
	return 0, false
}
