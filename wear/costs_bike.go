package wear

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// CostQuery says what costs to gather: work from From to To, both included.
type CostQuery struct {
	By       CostBy
	From, To Instant
	Kind     string // parts of this kind only; "" = all
	Hour     int64  // see Costs.Hour
	Prices   PriceList
}

// costKey is what a cost is gathered by within one bike; zero for the bike.
type costKey struct{ kind, model string }

func costKeyOf(kind, model string) costKey {
	k := KeyOf(kind, model)
	return costKey{k.Kind, k.Model}
}

// BikeCosts is what one bike cost.
type BikeCosts struct {
	Whole CostLine   // the bike
	Lines []CostLine // by kind or model where that was asked for, in their order
}

// CostsOf is what a bike cost in the query's window: from the sign-offs that
// name it and from the parts that were fitted new to it without one. Declined
// work and what was taken back do not count. A change without a cost entered
// has the price of the list, work without minutes those of the schedule. Rides
// are the bike's counted ones of the window in order of start.
func CostsOf(c Case, s *Schedule, q CostQuery, rides []Outing) BikeCosts {
	b := costing{c: &c, q: q, a: assessor{c: &c, s: s}, rides: rides, spent: map[costKey]*Spent{}}
	b.days()
	for _, list := range [][]PartCase{c.Parts, c.Past} {
		for i := range list {
			b.part(&list[i])
		}
	}
	return b.gather()
}

// costing gathers the costs of one bike.
type costing struct {
	c      *Case
	q      CostQuery
	a      assessor
	rides  []Outing // of the window
	day    []int32  // of each ride: the calendar day
	blind  bool     // an odometer told some of the rides
	fitted map[ID]bool
	spent  map[costKey]*Spent
}

// days tells the calendar day of each ride, and whether all tell theirs.
func (b *costing) days() {
	zone := cmp.Or(b.c.Zone, time.UTC)
	b.day = make([]int32, len(b.rides))
	for i, r := range b.rides {
		y, m, d := r.At.Time().In(zone).Date()
		b.day[i] = int32((y*12+int(m))*31 + d)
		b.blind = b.blind || r.Rest
	}
}

// part takes the work on one part.
func (b *costing) part(pc *PartCase) {
	if b.fitted == nil {
		b.signed()
	}
	for i := range pc.SignOffs {
		o := &pc.SignOffs[i]
		if o.Bike == b.c.Bike.ID && b.in(o.At) && !o.Void && !o.Declined {
			b.signOff(pc, o)
		}
	}
	if len(pc.Stays) == 0 || b.fitted[pc.Part.ID] {
		return
	}
	if st := &pc.Stays[0]; st.Host == b.c.Bike.ID && !st.Came && st.Opening == (Load{}) && b.in(st.From) {
		b.change(pc, &SignOff{Job: string(ActChange), At: st.From})
	}
}

func (b *costing) in(at Instant) bool { return at >= b.q.From && at <= b.q.To }

// signed finds the parts that a sign-off fitted.
func (b *costing) signed() {
	b.fitted = map[ID]bool{}
	for _, list := range [][]PartCase{b.c.Parts, b.c.Past} {
		for i := range list {
			for _, o := range list[i].SignOffs {
				if o.Fitted != 0 && !o.Void {
					b.fitted[o.Fitted] = true
				}
			}
		}
	}
}

// signOff takes one sign-off: of a change, the new part has the cost.
func (b *costing) signOff(pc *PartCase, o *SignOff) {
	if o.Fitted == 0 && o.Job != string(ActChange) {
		if s := b.of(pc); s != nil {
			s.Jobs++
			s.Paid += o.Cost
			b.minutes(s, pc, o)
		}
		return
	}
	if next := b.find(o.Fitted); next != nil {
		pc = next
	}
	b.change(pc, o)
}

func (b *costing) find(part ID) *PartCase {
	for _, list := range [][]PartCase{b.c.Parts, b.c.Past} {
		for i := range list {
			if list[i].Part.ID == part {
				return &list[i]
			}
		}
	}
	return nil
}

// change takes a part that went on new.
func (b *costing) change(pc *PartCase, o *SignOff) {
	s := b.of(pc)
	if s == nil {
		return
	}
	s.Changes++
	s.Paid += o.Cost
	if o.Cost == 0 {
		price, later, ok := b.q.Prices.On(pc.Part.Kind, pc.Part.Model, o.At)
		s.Listed += price
		s.ByList += boolInt(ok)
		s.Later += boolInt(later)
		s.NoPrice += boolInt(!ok)
	}
	b.minutes(s, pc, o)
}

// of is where what was spent on a part goes; nil where it was not asked for.
func (b *costing) of(pc *PartCase) *Spent {
	if b.q.Kind != "" && pc.Part.Kind != b.q.Kind {
		return nil
	}
	k := b.key(pc)
	if b.spent[k] == nil {
		b.spent[k] = &Spent{}
	}
	return b.spent[k]
}

func (b *costing) key(pc *PartCase) costKey {
	switch b.q.By {
	case ByKind:
		return costKey{pc.Part.Kind, ""}
	case ByModel:
		return costKeyOf(pc.Part.Kind, pc.Part.Model)
	}
	return costKey{}
}

// minutes adds how long it took: as entered, else as the schedule and its
// overrides have it.
func (b *costing) minutes(s *Spent, pc *PartCase, o *SignOff) {
	if o.Minutes > 0 {
		s.Minutes += int64(o.Minutes)
		return
	}
	typical := int64(b.typical(pc, o.Job))
	s.Minutes += typical
	s.Typical += typical
	s.Untimed += boolInt(typical == 0)
}

func (b *costing) typical(pc *PartCase, job string) int {
	k := b.a.s.kind(pc.Part.Kind)
	if k == nil {
		return 0
	}
	j, ok := k.Job(job)
	if !ok {
		return 0
	}
	if len(b.c.Settings) == 0 {
		return j.Minutes
	}
	p := b.a.view(pc)
	p.setting.part = pc.Part
	b.a.views = []*partView{p}
	b.a.override()
	return p.at(j).minutes
}

// gather makes the lines: each kind or model with what was ridden with it.
func (b *costing) gather() BikeCosts {
	var out BikeCosts
	out.Whole = b.ridden([]leg{{from: Ever, to: Never}})
	out.Whole.Name = b.c.Bike.Name
	for _, s := range b.spent {
		out.Whole.Spent = out.Whole.Spent.Add(*s)
	}
	b.priced(&out.Whole)
	if b.q.By != ByKind && b.q.By != ByModel {
		return out
	}
	names, legs := b.legs()
	for k, times := range legs {
		l := b.ridden(times)
		l.Kind, l.Model = k.kind, names[k]
		if s := b.spent[k]; s != nil {
			l.Spent = *s
		}
		if b.priced(&l); l.Way > 0 || l.Spent != (Spent{}) {
			out.Lines = append(out.Lines, l)
		}
	}
	slices.SortFunc(out.Lines, func(x, y CostLine) int {
		return cmp.Or(strings.Compare(x.Kind, y.Kind), strings.Compare(x.Model, y.Model))
	})
	return out
}

// priced fills in what the hire days tell.
func (b *costing) priced(l *CostLine) {
	l.Bikes = 1
	if b.blind || len(b.rides) == 0 {
		l.Days, l.Blind = 0, boolInt(len(b.rides) > 0)
		return
	}
	l.DaysSpent = l.Spent
	if b.c.Bike.Price > 0 {
		l.Fare, l.FareDays = b.c.Bike.Price*int64(l.Days), l.Days
	}
}

// legs are the times that each kind or model was on the bike, and how it is
// written: models are alike whatever their case, of several writings the first
// in the alphabet stands.
func (b *costing) legs() (map[costKey]string, map[costKey][]leg) {
	names, legs := map[costKey]string{}, map[costKey][]leg{}
	for _, list := range [][]PartCase{b.c.Parts, b.c.Past} {
		for i := range list {
			pc := &list[i]
			if b.q.Kind != "" && pc.Part.Kind != b.q.Kind {
				continue
			}
			k := b.key(pc)
			if b.q.By == ByModel {
				names[k] = firstName(names[k], strings.TrimSpace(pc.Part.Model))
			}
			for _, st := range pc.Stays {
				if st.Host == b.c.Bike.ID {
					legs[k] = append(legs[k], leg{from: st.From, to: st.To})
				}
			}
		}
	}
	return names, legs
}

func firstName(x, y string) string {
	if x == "" {
		return y
	}
	return min(x, y)
}

// ridden is what was ridden in any of the times, each ride and day once.
func (b *costing) ridden(times []leg) (l CostLine) {
	slices.SortFunc(times, func(x, y leg) int { return cmp.Compare(x.from, y.from) })
	i, last := 0, int32(-1)
	for _, t := range times {
		for ; i < len(b.rides) && b.rides[i].At < t.from; i++ {
		}
		for ; i < len(b.rides) && b.rides[i].At < t.to; i++ {
			l.Way += b.rides[i].Way
			l.Est += b.rides[i].Est
			if b.day[i] != last {
				last = b.day[i]
				l.Days++
			}
		}
	}
	return l
}
