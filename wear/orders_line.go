package wear

import (
	"cmp"
	"fmt"
	"slices"
)

// learned are the needs with what such parts lasted in this book in the place of
// what the schedule expects.
func learned(needs []*Need, lives map[LifeKey]LifeResult) []*Need {
	if len(lives) == 0 {
		return needs
	}
	list, anew := make([]*Need, len(needs)), make(map[*Need]*Need, len(needs))
	for i, n := range needs {
		c := n.learned(lives)
		list[i], anew[n] = &c, &c
	}
	swap := func(n *Need) *Need {
		if c, ok := anew[n]; ok {
			return c
		}
		return n
	}
	for _, n := range list {
		if n.follows != nil {
			n.follows = swap(n.follows)
		}
		set := make([]*Need, len(n.set))
		for i, o := range n.set {
			set[i] = swap(o)
		}
		n.set = set
	}
	return list
}

// learned is the need with the lives that hold for it.
func (n *Need) learned(lives map[LifeKey]LifeResult) Need {
	c := *n
	k := KeyOf(n.Kind, n.Model)
	c.ways = slices.Clone(n.ways)
	for i := range c.ways {
		r, ok := lives[LifeKey{k.Kind, k.Model, c.by[i]}]
		if !ok {
			continue
		}
		life := r.Prior.lasted()
		c.ways[i].next = life
		if c.soft {
			c.ways[i].first = life
			if c.Basis == NeedExpect {
				c.Basis = NeedLife
			}
		}
	}
	return c
}

// own are the chances of the part by itself: of several ways the likeliest.
func (n *Need) own(days, z, spread float64) chances {
	var c chances
	for i := range n.ways {
		w := n.ways[i].within(days, z, spread)
		c.once, c.twice = max(c.once, w.once), max(c.twice, w.twice)
	}
	return c
}

// within are the chances with what the part is tied to: a set goes with the
// likeliest of it.
func (n *Need) within(days, z, spread float64) chances {
	c := n.own(days, z, spread)
	for _, o := range n.set {
		if o != n {
			w := o.own(days, z, spread)
			c.once, c.twice = max(c.once, w.once), max(c.twice, w.twice)
		}
	}
	if n.follows != nil {
		chain := n.follows.own(days, z, spread)
		c.once = 1 - (1-c.once)*(1-cassetteGoes*chain.once)
	}
	return c
}

// outlook are the chances in every season, and what they come to on average.
type outlook struct {
	once, twice [seasonNodes]float64
	any, mean   float64
}

// outlook works them out; ok is false where even the worst season needs none.
func (n *Need) outlook(days, spread float64) (o outlook, ok bool) {
	for i := seasonNodes - 1; i >= 0; i -= 2 {
		c := n.within(days, seasonAt[i], spread)
		if c.once < nilChance && i == seasonNodes-1 {
			return o, false
		}
		o.once[i], o.twice[i] = c.once, c.twice
	}
	between(&o.once)
	between(&o.twice)
	for i, w := range seasonWeight {
		o.any += w * o.once[i]
		o.mean += w * (o.once[i] + o.twice[i])
	}
	o.any = min(1, o.any)
	return o, true
}

// demand is how many the line needs, mixed over the seasons, and what it rests on.
func (l *OrderLine) demand(list []*Need, spread float64) Demand {
	var lists [seasonNodes][]chances
	specs := map[string]float64{}
	for _, n := range list {
		l.Rests[n.Basis]++
		o, ok := n.outlook(l.Days, spread)
		if !ok {
			continue
		}
		for i := range lists {
			lists[i] = append(lists[i], chances{o.once[i], o.twice[i]})
		}
		specs[n.Spec] += o.mean
		l.Set, l.With = l.Set+boolInt(len(n.set) > 1), l.With+boolInt(n.follows != nil)
		if o.any >= askLeast {
			l.Bikes = append(l.Bikes, Asker{n.Bike, n.Part, o.any, n.Basis, n.Tied()})
		}
	}
	slices.SortStableFunc(l.Bikes, func(x, y Asker) int { return cmp.Compare(y.Chance, x.Chance) })
	l.specs(specs)
	demands := make([]Demand, seasonNodes)
	for i := range lists {
		demands[i] = demandOf(lists[i])
	}
	return mixed(demands, seasonWeight[:])
}

// askLeast is the chance from which a bike is named.
const askLeast = 0.005

// specs keeps what tells the parts of the line apart, where anything does.
func (l *OrderLine) specs(need map[string]float64) {
	if len(need) < 2 {
		if _, plain := need[""]; plain {
			return
		}
	}
	for text, mean := range need {
		l.Specs = append(l.Specs, Spec{text, mean})
	}
	slices.SortFunc(l.Specs, func(x, y Spec) int {
		return cmp.Or(cmp.Compare(y.Need, x.Need), cmp.Compare(x.Text, y.Text))
	})
}

// life is the life in this book that the line rests on.
func (l *OrderLine) life(k ShelfKey, list []*Need, lives map[LifeKey]LifeResult) {
	for _, n := range list {
		for _, of := range n.by {
			if r, ok := lives[LifeKey{k.Kind, k.Model, of}]; ok && l.Rests[NeedLife] > 0 {
				l.Life = r
				return
			}
		}
	}
}

// remark says what the reader must know of the line.
func (l *OrderLine) remark() {
	note := func(format string, args ...any) { l.Notes = append(l.Notes, fmt.Sprintf(format, args...)) }
	if l.Set > 0 {
		note("on %s chain, ring and cassette are run out together: changed as one, one of each", plural(int64(l.Set), "bike"))
	}
	if l.With > 0 {
		note("on %s the chain is past %g %%: %.0f %% likely that the cassette goes with it", plural(int64(l.With), "bike"), pastChain, 100*cassetteGoes)
	}
	if n := l.Rests[NeedUnknown]; n > 0 {
		note("%s not measured yet, and the schedule does not say how long such a part lasts: not counted", plural(int64(n), "part"))
	}
	if n := l.Shelf.Short; n > 0 {
		note("%d more were fitted than the shelf can have had: count again", n)
	}
}

// Says is what the figures of a line rest on, in words, the firmest first.
func (l *OrderLine) Says() []string {
	words := [nNeedBases]string{
		NeedDue: "due now", NeedDays: "by the day that the schedule sets", NeedRead: "by readings",
		NeedExpect: "by what the schedule expects", NeedUnknown: "not counted: never measured",
	}
	words[NeedLife] = fmt.Sprintf("by how long %d such parts lasted here", l.Life.Failures)
	var list []string
	for b, n := range l.Rests {
		if n > 0 {
			list = append(list, Thousands(float64(n))+" "+words[b])
		}
	}
	return list
}
