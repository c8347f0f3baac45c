package wear

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Shares of the work in the two largest or the two smallest of a cassette's cogs
// from which another ring would suit the rider better, and below which the other
// end is not missed (common practice, no published source).
const (
	largeHeavy, smallHeavy = 0.35, 0.25
	endLight               = 0.10
)

// CogLine is one cog of a cassette.
type CogLine struct {
	Teeth     int
	Turns     float64 // of the crank, as far as known
	Work      float64 // J, as far as known
	Share     float64 // of the turns whose cog is known
	WorkShare float64
	Contacts  float64 // of each tooth with the chain in the cassette's life, weighted by ground
	Worn      float64 // Contacts over the limit; 0 where there is none
}

// Suit says whether the ring suits the rider.
type Suit string

// How a ring can suit.
const (
	SuitUnknown Suit = ""        // too little is known
	SuitWell    Suit = "suits"   // the work is where the cogs are
	SuitSmaller Suit = "smaller" // the two largest cogs do most of the climbing and the smallest none
	SuitLarger  Suit = "larger"
)

// Cogs is where turns and wear of a bike's cassette went.
type Cogs struct {
	Bike     Bike
	Cassette Part
	Since    Instant // when the cassette came to the bike; Ever = with it
	Gearing  Gearing // of today
	Lines    []CogLine

	Turns    float64 // of all rides with the cassette
	Known    float64 // of them on a known cog
	Recorded float64 // of Known by recorded gear changes, the rest inferred from speed and cadence
	Lost     float64 // in a gear that no cog explains
	Rough    bool    // too little is known: due goes by what is usual
	Data     Data    // of Turns

	Limit          float64 // contacts of a tooth that such a cassette lasts; 0 = not known
	Source         string  // of Limit
	Bend           float64 // weight of a turn in the wear of the chain, 1 = as on 32/21
	Largest, Least float64 // share of the work in the two largest, and two smallest cogs
	Suit           Suit
	Notes          []string
}

// CogsOf folds the rides of a bike with its cassette. It errs where the bike has
// no cassette, or one whose cogs are not given.
func CogsOf(c Case, s *Schedule) (Cogs, error) {
	a := newAssessor(&c, s)
	p := a.cassette
	switch {
	case p == nil:
		return Cogs{}, fmt.Errorf("bike %q: no cassette on it", c.Bike.Name)
	case len(p.pc.Part.Cogs) == 0:
		return Cogs{}, fmt.Errorf("part %q: its cogs are not given", p.pc.Part.Name)
	}
	use := a.cogUse(p)
	known, work := use.on.Sum()
	v := Cogs{
		Bike: c.Bike, Cassette: p.pc.Part, Since: p.stay.From,
		Gearing: a.gearingNow(p),
		Turns:   Turns.SI(use.turns), Known: Turns.SI(known), Recorded: Turns.SI(use.on.Recorded), Lost: Turns.SI(use.on.Lost),
		Bend: a.bendLately(),
	}
	v.Rough = v.Known < leastTold
	a.cogLimit(p, &v)
	v.lines(&use.on, a.usage(p, CountContacts, window{from: Ever, to: Never, opening: true}).used, p)
	v.suit(&use.on, float64(work))
	all := a.usage(p, CountTurns, window{from: Ever, to: Never})
	v.Data = all.data()
	v.Notes = a.cogNotes(p, known)
	return v, nil
}

// gearingNow is today's.
func (a *assessor) gearingNow(cassette *partView) Gearing {
	return Gearing{a.ringTeeth(), cassette.pc.Part.Cogs, a.c.Bike.WheelAt(a.c.Settings, a.c.Today)}
}

// cogLimit is how often a tooth of such a cassette meets the chain in its life.
func (a *assessor) cogLimit(p *partView, v *Cogs) {
	iv, _ := p.changing()
	for _, c := range iv.Expect {
		if c.Of == CountContacts {
			v.Limit = c.Limit
		}
	}
	for i := range p.kind.Jobs {
		if p.kind.Jobs[i].Act == ActChange {
			v.Source = p.at(&p.kind.Jobs[i]).source
		}
	}
}

// lines are the cogs. Contacts go by the share of the known turns, so that those
// of the worst cog are what due counts: contacts are what the usage came to for
// the cog that the part is counted by.
func (v *Cogs) lines(on *OnCogs, contacts float64, p *partView) {
	known, work := on.Sum()
	for i, teeth := range v.Cassette.Cogs {
		l := CogLine{Teeth: teeth, Turns: Turns.SI(on.Turns[i]), Work: float64(on.Work[i])}
		if known > 0 {
			l.Share = float64(on.Turns[i]) / float64(known)
			l.Contacts = contacts * (l.Share / float64(teeth)) / (p.busyShare / p.busyTeeth)
		}
		if work > 0 {
			l.WorkShare = l.Work / float64(work)
		}
		if v.Limit > 0 {
			l.Worn = l.Contacts / v.Limit
		}
		v.Lines = append(v.Lines, l)
	}
}

// suit looks at both ends of the cassette.
func (v *Cogs) suit(on *OnCogs, work float64) {
	n := len(on.Work)
	if v.Rough || n < 5 || work <= 0 {
		return
	}
	v.Least = float64(on.Work[0]+on.Work[1]) / work
	v.Largest = float64(on.Work[n-1]+on.Work[n-2]) / work
	switch {
	case v.Largest >= largeHeavy && v.Least < endLight:
		v.Suit = SuitSmaller
	case v.Least >= smallHeavy && v.Largest < endLight:
		v.Suit = SuitLarger
	default:
		v.Suit = SuitWell
	}
}

// cogNotes say what the figures do not rest on.
func (a *assessor) cogNotes(p *partView, known int64) (notes []string) {
	g := a.gearingNow(p)
	switch {
	case g.Ring == 0:
		notes = append(notes, "teeth of the ring not given: no cog can be told from speed and cadence")
	case g.Wheel == 0:
		notes = append(notes, "circumference of the wheel not given: no cog can be told from speed and cadence")
	case known == 0:
		notes = append(notes, "no ride tells its gears: that takes recorded gear changes, or speed and cadence")
	case Turns.SI(known) < leastTold:
		notes = append(notes, fmt.Sprintf("fewer than %s turns are known: due goes by %g %% of all turns on the %g", Thousands(leastTold), 100*p.busyShare, p.busyTeeth))
	}
	return append(notes, a.otherTeeth(p)...)
}

// otherTeeth says where a device took the gears for other teeth than the bike
// has: its table can be wrong, so numbers are taken from it and teeth are not.
func (a *assessor) otherTeeth(p *partView) []string {
	type gear struct{ number, recorded, here int }
	seen := map[gear]bool{}
	for _, st := range p.stays {
		line := a.c.Lines[st.Host]
		lo, hi := line.bounds(st.From, st.To)
		for i := lo; i < hi; i++ {
			for _, t := range line[i].Gears.Teeth {
				number, teeth := BinTeeth(t.Bin)
				if here := line[i].teethOf(number); here != 0 && here != teeth {
					seen[gear{number, teeth, here}] = true
				}
			}
		}
	}
	var words []string
	list := make([]gear, 0, len(seen))
	for g := range seen {
		list = append(list, g)
	}
	slices.SortFunc(list, func(x, y gear) int {
		return cmp.Or(cmp.Compare(x.number, y.number), cmp.Compare(x.recorded, y.recorded), cmp.Compare(x.here, y.here))
	})
	for _, g := range list {
		what := fmt.Sprintf("gear %d", g.number)
		if g.number == 0 {
			what = "the ring"
		}
		words = append(words, fmt.Sprintf("%s for %d teeth, here %d", what, g.recorded, g.here))
	}
	if len(words) == 0 {
		return nil
	}
	return []string{"the device took " + strings.Join(words, "; ") + ": the bike's own are taken"}
}

// teethOf is what the bike had in a recorded gear; 0 = not known.
func (s *Span) teethOf(number int) int {
	if number == 0 {
		return s.Ring
	}
	if i := len(s.Cogs) - number; i >= 0 && i < len(s.Cogs) {
		return s.Cogs[i]
	}
	return 0
}

// WheelOf finds the wheel's circumference in m from the rides of a bike: those
// since its rear wheel and tyre came, with the ring and cassette of each day.
// Where they tell too little because gear changes were recorded, it goes by all
// developments of the bike.
func WheelOf(c Case, all Gears) (wheel float64, since Instant, err error) {
	near := c.Bike.WheelAt(c.Settings, c.Today)
	if near == 0 {
		return 0, Ever, fmt.Errorf("bike %q: circumference not given, not even roughly", c.Bike.Name)
	}
	since = tyreSince(c)
	var list []Ridden
	var turns int64
	for _, s := range c.Lines[c.Bike.ID] {
		if s.From >= since && len(s.Gears.ByDevelopment) > 0 {
			list = append(list, Ridden{s.Gears.ByDevelopment, s.Ring, s.Cogs})
			turns += gearTurns(s.Gears.ByDevelopment)
		}
	}
	if Turns.SI(turns) < wheelTurns {
		a := newAssessor(&c, Default())
		if a.cassette != nil {
			list = []Ridden{{all.ByDevelopment, a.ringTeeth(), a.cassette.pc.Part.Cogs}}
		}
	}
	wheel, err = FindWheel(list, near)
	return math.Round(1000*wheel) / 1000, since, err
}

// tyreSince is when what the rear wheel rolls on last changed.
func tyreSince(c Case) Instant {
	from := Ever
	for i := range c.Parts {
		pc := &c.Parts[i]
		if pc.Part.Kind != "rear-wheel" && pc.Part.Kind != "rear-tyre" {
			continue
		}
		for _, st := range pc.Stays {
			if st.Host == c.Bike.ID && st.Holds(c.Today) {
				from = max(from, st.From)
			}
		}
	}
	return from
}
