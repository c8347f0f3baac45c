package wear

import "sort"

// leastTold is the number of turns with a known cog from which the shares are
// believed: some hours of riding (common practice, no published source).
const leastTold = 10_000

// gearing is what the gears of a span fold with.
func (s *Span) gearing() Gearing { return Gearing{s.Ring, s.Cogs, s.Wheel} }

// geared reports whether the rides of a span tell their gears.
func (s *Span) geared() bool { return len(s.Gears.ByNumber)+len(s.Gears.ByDevelopment) > 0 }

// folded is a span with its turns on the cogs.
type folded struct {
	on   OnCogs
	bend float64 // weight of its turns in the wear of the chain
}

// folds are the spans of a bike, folded; nil where no ride tells its gears. They
// are worked out once.
func (a *assessor) folds(host ID) []folded {
	if list, known := a.folded[host]; known {
		return list
	}
	if a.folded == nil {
		a.folded = map[ID][]folded{}
	}
	list := foldLine(a.c.Lines[host])
	a.folded[host] = list
	return list
}

func foldLine(line Timeline) []folded {
	var list []folded
	var now Gearing
	var places []float64
	var room []int64 // for the sums of the spans to come
	for i := range line {
		s := &line[i]
		if !s.geared() {
			continue
		}
		if list == nil {
			list = make([]folded, len(line))
		}
		if g := s.gearing(); places == nil || !g.same(now) {
			now, places = g, g.places()
		}
		f, n := &list[i], len(now.Cogs)
		if len(room) < 2*n {
			room = make([]int64, 2*n*(len(line)-i))
		}
		f.on.Turns, f.on.Work, room = room[:n:n], room[n:2*n:2*n], room[2*n:]
		now.fold(&f.on, s.Gears, places)
		f.bend = now.bend(&f.on, s.Sums.total(Turns))
	}
	return list
}

// bendAt is the weight of the turns of a bike's span in the wear of a chain.
func bendAt(folds []folded, i int) float64 {
	if folds == nil || folds[i].bend == 0 {
		return 1
	}
	return folds[i].bend
}

// bent reports whether a part's count is weighted by how far links bend: the
// turns of a chain are.
func (p *partView) bent(of CountOf) bool { return of == CountTurns && p.kind.Name == "chain" }

// bendLately is the weight of the turns that the bike does today: as on all of
// its rides with today's ring and cassette that tell their gears.
func (a *assessor) bendLately() float64 {
	if a.bends == 0 {
		a.bends = a.bendOn(a.c.Bike.ID)
	}
	return a.bends
}

func (a *assessor) bendOn(host ID) float64 {
	line, folds := a.c.Lines[host], a.folds(host)
	if folds == nil {
		return 1
	}
	now := line[len(line)-1].gearing()
	var bent, all float64
	for i := range line {
		if !line[i].geared() || !line[i].gearing().same(now) {
			continue
		}
		turns := float64(line[i].Sums.total(Turns))
		bent, all = bent+turns*bendAt(folds, i), all+turns
	}
	if all <= 0 {
		return 1
	}
	return bent / all
}

// cogUse is what is known of where the turns of a cassette went.
type cogUse struct {
	on    OnCogs
	turns int64 // of all rides with it, thousandths
	work  int64 // J
}

// cogUse folds all the time that a cassette was on bikes.
func (a *assessor) cogUse(p *partView) cogUse {
	u := cogUse{on: a.onCogs(p)}
	for _, st := range p.stays {
		line := a.c.Lines[st.Host].within(st.From, st.To)
		for i := range line {
			u.turns += line[i].Sums.total(Turns)
			u.work += line[i].Sums.total(Work)
		}
	}
	return u
}

// onCogs is what of it is known cog by cog.
func (a *assessor) onCogs(p *partView) OnCogs {
	cogs := p.pc.Part.Cogs
	on := OnCogs{Turns: make([]int64, len(cogs)), Work: make([]int64, len(cogs))}
	for _, st := range p.stays {
		line, folds := a.c.Lines[st.Host], a.folds(st.Host)
		if folds == nil {
			continue
		}
		lo, hi := line.bounds(st.From, st.To)
		for i := lo; i < hi; i++ {
			if len(line[i].Cogs) == len(cogs) {
				on.merge(&folds[i].on)
			}
		}
	}
	return on
}

func (on *OnCogs) merge(o *OnCogs) {
	for i := range o.Turns {
		on.Turns[i] += o.Turns[i]
		on.Work[i] += o.Work[i]
	}
	on.Recorded += o.Recorded
	on.Lost, on.LostWork = on.Lost+o.Lost, on.LostWork+o.LostWork
}

// busiest finds the cog whose teeth meet the chain most often: share / teeth.
func (a *assessor) busiest(p *partView) {
	on := a.onCogs(p)
	known, _ := on.Sum()
	told := Turns.SI(known)
	if told < leastTold {
		return
	}
	for i, n := range on.Turns {
		teeth, share := float64(p.pc.Part.Cogs[i]), float64(n)/float64(known)
		if share*p.busyTeeth > p.busyShare*teeth || p.told == 0 {
			p.busyTeeth, p.busyShare, p.told = teeth, share, told
		}
	}
}

// bounds are where in the line the spans of [from, to) begin and end.
func (tl Timeline) bounds(from, to Instant) (lo, hi int) {
	lo = sort.Search(len(tl), func(i int) bool { return tl[i].From >= from })
	return lo, lo + sort.Search(len(tl)-lo, func(k int) bool { return tl[lo+k].From >= to })
}
