package wear

import (
	"cmp"
	"slices"
)

// partView is a part with its facts in order and only those that count.
type partView struct {
	pc                         *PartCase
	kind                       *Kind
	setting                    setting
	stays                      []Stay    // by From
	stay                       Stay      // the current one
	readings                   []Reading // neither void nor doubtful, by At then ID, of what the kind's limit measures
	looks                      []Look
	signoffs                   []SignOff   // neither void nor declined
	over                       []*override // that hold for the part, the narrowest last
	remarks                    []string    // on overrides, for every finding of the part
	busyTeeth, busyShare, told float64     // of a cassette: the cog that wears first; turns that rests on, 0 = assumed
	declines                   []SignOff   // by which somebody chose not to have a job done

	bounded  bool   // bound is worked out
	bound    *Limit // see limit
	outlined bool   // outline is worked out
	outline  *draft // see drafted; used up once ahead is worked out
	traced   bool   // before is looked up
	before   []*partView
	foreseen bool      // ahead is worked out
	ahead    *forecast // nil = nothing of it can be measured
	paces    [nCounts]*pace
	lives    []life // see lived
}

func (a *assessor) view(pc *PartCase) *partView {
	p := &partView{pc: pc, kind: a.s.kind(pc.Part.Kind)}
	if p.kind == nil {
		k := unknownKind(pc.Part.Kind)
		p.kind = &k
	}
	p.stays = ordered(pc.Stays, func(x, y Stay) int { return cmp.Or(cmp.Compare(x.From, y.From), cmp.Compare(x.Host, y.Host)) }, nil)
	of := p.kind.Measurable()
	p.readings = ordered(pc.Readings, func(x, y Reading) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
		func(r Reading) bool { return r.Void || r.Doubtful || r.Of != of })
	p.looks = ordered(pc.Looks, func(x, y Look) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
		func(l Look) bool { return l.Void })
	p.signoffs = ordered(pc.SignOffs, func(x, y SignOff) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
		func(s SignOff) bool { return s.Void || s.Declined })
	if len(p.signoffs) < len(pc.SignOffs) {
		p.declines = ordered(pc.SignOffs, func(x, y SignOff) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
			func(s SignOff) bool { return s.Void || !s.Declined })
	}
	p.stay = p.current(a.c)
	return p
}

// current is the stay on the case's bike today, else the last one.
func (p *partView) current(c *Case) Stay {
	for _, s := range p.stays {
		if s.Host == c.Bike.ID && s.Holds(c.Today) {
			return s
		}
	}
	if len(p.stays) > 0 {
		return p.stays[len(p.stays)-1]
	}
	return Stay{Part: p.pc.Part.ID, Host: c.Bike.ID, From: Ever, To: Never}
}

// ordered returns the list sorted and without what drop names, sharing the
// original where it is so already.
func ordered[T any](list []T, by func(x, y T) int, drop func(T) bool) []T {
	if drop != nil && slices.ContainsFunc(list, drop) {
		list = slices.DeleteFunc(slices.Clone(list), drop)
	}
	if slices.IsSortedFunc(list, by) {
		return list
	}
	list = slices.Clone(list)
	slices.SortFunc(list, by)
	return list
}

// unknownKind has no jobs: such a part is only looked at.
func unknownKind(name string) Kind {
	k := Kind{Name: name, Family: name, Title: name, MidMotor: 1}
	for g := range k.Factors {
		k.Factors[g] = 1
	}
	return k
}

// begin is when the part's life with pawl began.
func (p *partView) begin() Instant {
	if len(p.stays) > 0 {
		return p.stays[0].From
	}
	return Ever
}

// lastLook is the newest look; ok is false where there is none.
func (p *partView) lastLook() (l Look, ok bool) {
	if len(p.looks) == 0 {
		return l, false
	}
	return p.looks[len(p.looks)-1], true
}

// lastReading is the newest reading; ok is false where there is none.
func (p *partView) lastReading() (r Reading, ok bool) {
	if len(p.readings) == 0 {
		return r, false
	}
	return p.readings[len(p.readings)-1], true
}

// unsafeLook returns the look that keeps the part off the trail: the newest one
// that said unsafe, unless a later one said good or watch.
func (p *partView) unsafeLook() (l Look, ok bool) {
	for _, l := range slices.Backward(p.looks) {
		switch l.Word {
		case Unsafe:
			return l, true
		case Good, Watch:
			return Look{}, false
		}
	}
	return Look{}, false
}
