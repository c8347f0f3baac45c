package wear

import "slices"

// The kinds whose costs hang on the limit at which chains are changed.
const (
	policyChain = iota
	policyCassette
	policyRing
	nPolicyKinds
)

var policyKinds = [nPolicyKinds]string{"chain", "cassette", "ring"}

// PolicyFacts are what bikes say of the limit at which chains are to be changed.
type PolicyFacts struct {
	chains   []earlier // what the readings of a chain say of ln rate, in % per weighted turn
	ended    int       // of chains, those that have ended
	prior    float64   // sum of ln rate as the schedule has it, of all chains
	priors   int
	unmarked float64 // weighted turns of chains on unmarked ground
	use      [nPolicyKinds]policyUse
	lives    [nPolicyKinds]teethLives
	halved   [nPolicyKinds]float64 // how much sooner the schedule looks once a chain is past 0.5 %; 0 = not said
}

// policyUse is what parts of a kind did, and what is known of changing them.
type policyUse struct {
	load    float64 // weighted turns of chains; of others in what such a part lasts by the schedule
	way     int64   // cm
	silent  int     // parts with rides that do not tell the load: left out
	minutes float64 // to change one, summed over all parts
	parts   int
	paid    int64 // hundredths, entered at changes
	payers  int   // changes with a cost
	models  map[ShelfKey]int
}

// PolicyOf is what one bike says. It sees parts whose last bike it was.
func PolicyOf(c Case, s *Schedule) PolicyFacts {
	var f PolicyFacts
	runs := chainRuns(&c)
	for _, list := range [][]PartCase{c.Past, c.Parts} {
		for i := range list {
			pc := &list[i]
			k := slices.Index(policyKinds[:], pc.Part.Kind)
			if n := len(pc.Stays); k < 0 || n == 0 || pc.Stays[n-1].Host != c.Bike.ID {
				continue
			}
			a := placed(c, *pc, s)
			f.part(a, k)
			if k == policyChain {
				f.chain(a)
			} else {
				f.teeth(a, k, runs)
			}
		}
	}
	return f
}

// placed is the case with a part in the place of the one of its kind that is on
// the bike now: the assessor's first view.
func placed(c Case, pc PartCase, s *Schedule) *assessor {
	others := []PartCase{pc}
	for i := range c.Parts {
		if c.Parts[i].Part.Kind != pc.Part.Kind {
			others = append(others, c.Parts[i])
		}
	}
	c.Parts = others
	return newAssessor(&c, s)
}

// part takes what is known of changing a part.
func (f *PolicyFacts) part(a *assessor, kind int) {
	p, u := a.views[0], &f.use[kind]
	for i := range p.kind.Jobs {
		if j := &p.kind.Jobs[i]; j.Act == ActChange {
			u.minutes += float64(p.at(j).minutes)
			u.parts++
		}
	}
	for _, o := range p.signoffs {
		if o.Fitted != 0 && o.Cost > 0 {
			u.paid += o.Cost
			u.payers++
		}
	}
	if u.models == nil {
		u.models = map[ShelfKey]int{}
	}
	if p.pc.Part.End == nil && p.stay.Holds(a.c.Today) {
		u.models[KeyOf(p.kind.Name, p.pc.Part.Model)]++
	}
}

// whole is all the time that a part was on bikes.
var whole = window{from: Ever, to: Never}

// ridden adds what a part did in a count, in so many of its units, and how far
// it went; parts with rides that do not tell the count are left out.
func (u *policyUse) ridden(a *assessor, of CountOf, per float64) usage {
	p := a.views[0]
	load, way := a.usage(p, of, whole), a.usage(p, CountKm, whole)
	if load.lacking > 0 {
		u.silent++
		return load
	}
	u.load += load.used / per
	for _, m := range way.amount {
		u.way += Distance.Stored(m)
	}
	return load
}

// chain takes a chain's turns and what its readings say of its rate.
func (f *PolicyFacts) chain(a *assessor) {
	p := a.views[0]
	s, ok := p.sortOf()
	if !ok || s.by.Of != CountTurns {
		return
	}
	done := f.use[policyChain].ridden(a, CountTurns, 1)
	if done.lacking == 0 {
		f.unmarked += a.weights(p.kind, p.stay.Host)[Unmarked] * done.amount[Unmarked]
	}
	f.prior += s.prior(0).rate
	f.priors++
	if len(p.readings) == 0 {
		return
	}
	if e, ok := a.fitted(p); ok {
		f.chains = append(f.chains, e)
		f.ended += boolInt(p.pc.Part.End != nil)
	}
}

// teeth takes a cassette's or ring's load and life.
func (f *PolicyFacts) teeth(a *assessor, kind int, chains []chainRun) {
	p := a.views[0]
	iv, ok := p.changing()
	if !ok || len(iv.Expect) == 0 || iv.Expect[0].Of == CountDays {
		return
	}
	of, per := iv.Expect[0].Of, iv.Expect[0].Limit
	if f.use[kind].ridden(a, of, per).lacking > 0 {
		return
	}
	f.halved[kind] = max(f.halved[kind], p.sooner())
	done := func(at Instant) float64 { return a.usage(p, of, window{from: Ever, to: at, opening: true}).used / per }
	u := a.unit(p, of)
	u.Load, u.Good, u.Entry = u.Load/per, u.Good/per, u.Entry/per
	f.lives[kind].take(u, p.exposed(chains, a.c.Bike.ID, done))
}

// sooner is how much sooner the schedule looks at the teeth once a chain is past
// 0.5 %; 0 where it does not say.
func (p *partView) sooner() float64 {
	for i := range p.kind.Jobs {
		j := &p.kind.Jobs[i]
		if iv := p.at(j); j.Act == ActLook && len(iv.Then) > 0 && len(iv.Soon) > 0 && iv.Then[0].Of == iv.Soon[0].Of {
			return iv.Then[0].Limit / iv.Soon[0].Limit
		}
	}
	return 0
}

// Add puts the facts of another bike to these. Lists keep the order of adding:
// add bikes in one order for the same figures to the last bit.
func (f *PolicyFacts) Add(o PolicyFacts) {
	f.chains = append(f.chains, o.chains...)
	f.ended += o.ended
	f.prior += o.prior
	f.priors += o.priors
	f.unmarked += o.unmarked
	for k := range f.use {
		f.use[k].add(o.use[k])
		f.lives[k].add(o.lives[k])
		f.halved[k] = max(f.halved[k], o.halved[k])
	}
}

func (u *policyUse) add(o policyUse) {
	u.load += o.load
	u.way += o.way
	u.silent += o.silent
	u.minutes += o.minutes
	u.parts += o.parts
	u.paid += o.paid
	u.payers += o.payers
	if u.models == nil {
		u.models = map[ShelfKey]int{}
	}
	for k, n := range o.models {
		u.models[k] += n
	}
}
