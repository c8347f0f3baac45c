package wear

// PartLoad is one part as part life takes it, and in what its life is told.
type PartLoad struct {
	Unit
	Part   ID
	Kind   string
	Model  string
	By     CountOf // what counts as load: the first of what the kind's change job expects
	Expect float64 // what the schedule expects such a part to last; part life takes its place
}

// LifeUnits are the parts of a case whose life is told in a count, ended and
// running ones, but for those that went on to another bike: that bike's case
// has them. Parts of one kind and model make up one part life.
//
// The load is what the expectation counts, weighted by ground. Wear that came
// between two looks or readings is only known to lie there. A part that runs on
// past its limit, or was taken off for another cause, is known to have lasted
// to the last look or reading that found it good. What it came used with is its
// entry.
func LifeUnits(c Case, s *Schedule) []PartLoad {
	return LifeUnitsOf(c, s, func(string) bool { return true })
}

// LifeUnitsOf are those of some kinds.
func LifeUnitsOf(c Case, s *Schedule, of func(kind string) bool) []PartLoad {
	var list []PartLoad
	folds := map[ID][]folded{}
	for _, parts := range [][]PartCase{c.Past, c.Parts} {
		for i := range parts {
			stays := parts[i].Stays
			if !of(parts[i].Part.Kind) || len(stays) == 0 || stays[len(stays)-1].Host != c.Bike.ID {
				continue
			}
			if l, ok := lifeUnit(c.alone(&parts[i]), s, folds); ok {
				list = append(list, l)
			}
		}
	}
	return list
}

// alone is the case of one part, which goes before the one that is now in its
// place. Its life asks of ring and cassette what they are, and of nothing else.
func (c Case) alone(pc *PartCase) *Case {
	of := c.Parts
	c.Parts, c.Past = []PartCase{*pc}, nil
	for i := range of {
		if o := &of[i].Part; o.Kind != pc.Part.Kind && (o.Kind == "ring" || o.Kind == "cassette") {
			c.Parts = append(c.Parts, PartCase{Part: *o})
		}
	}
	return &c
}

// lifeUnit is the life of the first part of a case; ok is false where the schedule
// has no count for how long such a part lasts. The folds are those of the bikes of
// the case, as far as they are worked out.
func lifeUnit(c *Case, s *Schedule, folds map[ID][]folded) (PartLoad, bool) {
	a := assessorWith(c, s, folds)
	p := a.views[0]
	iv, ok := p.changing()
	if !ok || len(iv.Expect) == 0 || iv.Expect[0].Of == CountDays {
		return PartLoad{}, false
	}
	part := &p.pc.Part
	l := PartLoad{Part: part.ID, Kind: part.Kind, Model: part.Model, By: iv.Expect[0].Of, Expect: iv.Expect[0].Limit}
	l.Unit = a.unit(p, l.By)
	return l, true
}

// unit is the part's life in a count.
func (a *assessor) unit(p *partView, of CountOf) Unit {
	done := func(to Instant) float64 { return a.usage(p, of, window{from: Ever, to: to, opening: true}).used }
	u := Unit{Name: p.pc.Part.Name, Entry: a.usage(p, of, window{from: Ever, to: p.begin() + 1, opening: true}).opening}
	end := a.c.Today + 1
	if e := p.pc.Part.End; e != nil && e.At <= a.c.Today {
		u.Cause, end = e.Cause, e.At
	}
	good, bad, seen := p.inspections(end)
	u.Load = done(min(bad, end))
	switch {
	case u.Cause == Broke:
		u.Load = done(end)
	case u.Cause == Worn:
		u.Good, u.Found = done(good), seen
	case bad != Never:
		u.Load = done(good) // it was worn before its life ended otherwise
	}
	return u
}

// inspections are the last look or reading that found the part good, and the
// first after it that found it worn: Ever and Never where there was none.
func (p *partView) inspections(end Instant) (good, bad Instant, seen bool) {
	good, bad = Ever, Never
	marks := p.marks(end)
	for _, m := range marks {
		if m.good {
			good = max(good, m.at)
		}
	}
	for _, m := range marks {
		if !m.good && m.at >= good {
			bad = min(bad, m.at)
		}
	}
	return good, bad, len(marks) > 0
}

// mark is what one look or reading said.
type mark struct {
	at   Instant
	good bool
}

func (p *partView) marks(end Instant) []mark {
	var list []mark
	for _, l := range p.looks {
		if l.At <= end {
			list = append(list, mark{l.At, l.Word == Good || l.Word == Watch})
		}
	}
	limit := p.limit()
	if limit == nil {
		return list
	}
	for _, r := range p.readings {
		if r.At <= end && !r.Doubtful {
			if good, told := r.within(limit); told {
				list = append(list, mark{r.At, good})
			}
		}
	}
	return list
}

// within reports whether the reading was short of the limit; told is false
// where a gauge's ends lie on both sides of it.
func (r Reading) within(l *Limit) (good, told bool) {
	if g := r.Gauge; g != nil {
		switch {
		case g.Out != 0 && g.Out <= l.Due:
			return true, true
		case g.In != 0 && g.In >= l.Due:
			return false, true
		}
		return false, false
	}
	return !l.Reached(r.Value, l.Due), true
}
