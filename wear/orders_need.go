package wear

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// NeedBasis is what the chance that a part is needed rests on.
type NeedBasis uint8

// The bases, the firmest first.
const (
	NeedDue     NeedBasis = iota // its change is due now: one for certain
	NeedDays                     // a day or a count that the schedule sets: certain once it falls into the window
	NeedRead                     // readings of the part
	NeedLife                     // how long such parts lasted in this book
	NeedExpect                   // what the schedule expects such a part to last
	NeedUnknown                  // never measured, and the schedule does not say how long it lasts: not counted
	nNeedBases
)

// Need is a part on a bike that may have to be changed, and how soon.
type Need struct {
	Bike, Part, Kind, Model string
	Spec                    string // teeth and material, to tell parts of one model apart
	Basis                   NeedBasis
	Lead                    float64 // days from order to shelf that the schedule takes for the bike

	ways    []way
	by      []CountOf // what each way counts
	soft    bool      // ways rest on an expectation, which a part life of the book takes the place of
	set     []*Need   // changed as one: all of them, this one too
	follows *Need     // the chain that is past what a cassette bears
}

// cassetteGoes is how likely a cassette has to go with a chain that measured past
// pastChain (common practice, no published source).
const (
	cassetteGoes = 0.7
	pastChain    = 0.75 // %
)

// Needs are the parts of a bike that may have to be changed, whatever the window:
// those that are due, those that are measured, those of which an expectation tells,
// and those that a day changes. A retired bike needs nothing; one that is held
// does. A part of which a tool can tell may have come to its limit unread; of
// other parts it is taken that they have lasted so far, because nobody has said
// otherwise.
func Needs(c Case, s *Schedule) []*Need {
	if c.retired() {
		return nil
	}
	a := newAssessor(&c, s)
	a.brief = true // the window is not the lead time: the forecast is asked itself
	var list []*Need
	parts := map[*partView]*Need{}
	for _, p := range a.views {
		if n := a.needOf(p); n != nil {
			list, parts[p] = append(list, n), n
		}
	}
	a.tie(parts)
	return list
}

// needOf is the need for one part; nil where it has no job of changing it, or
// that was declined.
func (a *assessor) needOf(p *partView) *Need {
	for _, job := range a.jobsOf(p) {
		if job.Act != ActChange {
			continue
		}
		part := &p.pc.Part
		n := &Need{Bike: a.c.Bike.Name, Part: part.Name, Kind: part.Kind, Model: part.Model, Spec: part.spec(), Lead: a.s.LeadDays}
		j := a.judge(p, job)
		if due := j.f.Verdict >= Due; due || j.f.Declined == 0 || j.f.Share < 1 {
			if a.fillNeed(n, j, due) {
				return n
			}
		}
	}
	return nil
}

// fillNeed says how the part comes to its end; ok is false where nothing tells.
func (a *assessor) fillNeed(n *Need, j *judge, due bool) bool {
	f := a.forecast(j.p)
	switch {
	case f != nil && !f.none:
		n.Basis = NeedRead
		a.measuredWay(n, j.p, f)
	case f != nil && !f.sort.guessed && !looked(j.p.kind):
		n.Basis, n.soft = NeedExpect, true
		a.measuredWay(n, j.p, f)
	case len(j.iv.Expect) > 0:
		n.Basis, n.soft = NeedExpect, true
		a.expectedWays(n, j)
	case !j.p.kind.Inspected() && len(j.lines) > 0:
		n.Basis = NeedDays
		for _, l := range j.lines {
			life := lifespan{median: l.Limit}
			n.add(way{now: l.Used, first: life, next: life, pace: a.pace(j.p, countOf(&l))}, countOf(&l))
		}
	case due:
		n.add(way{next: lifespan{median: math.Inf(1)}}, CountDays)
	case f != nil:
		n.Basis = NeedUnknown
		return true
	default:
		return false
	}
	if due {
		n.Basis = NeedDue
		for i := range n.ways {
			n.ways[i].due = true
		}
	}
	return true
}

func (n *Need) add(w way, of CountOf) { n.ways, n.by = append(n.ways, w), append(n.by, of) }

// looked reports whether an eye has the kind among its jobs.
func looked(k *Kind) bool {
	return slices.ContainsFunc(k.Jobs, func(j Job) bool { return j.Act == ActLook })
}

// measuredWay is that of a part that a tool can tell of: its forecast, and after
// it a new one at the bike's rate.
func (a *assessor) measuredWay(n *Need, p *partView, f *forecast) {
	fresh := f.sort.prior(a.unmarked(p, &f.sort, &f.used))
	fresh.learnt(f.known)
	n.add(way{now: f.now, first: lifespan{curve: f.curve}, next: lifespan{curve: fresh.unread(f.gait.limit)}, pace: f.pace}, f.sort.by.Of)
}

// expectedWays are those of a part that the schedule expects to last so long, its
// logarithm with the spread of wear rates, and that has lasted so far.
func (a *assessor) expectedWays(n *Need, j *judge) {
	for _, c := range j.iv.Expect {
		now, unmarked := a.done(j.p, c.Of)
		spread := math.Sqrt(rateSpread*rateSpread + unmarked*(rateUnmarked*rateUnmarked-rateSpread*rateSpread))
		life := lifespan{median: c.Limit, spread: spread}
		n.add(way{now: now, first: life, next: life, lived: true, pace: a.pace(j.p, c.Of)}, c.Of)
	}
}

// done is what the part has done of a count, and which share of it on unmarked
// ground.
func (a *assessor) done(p *partView, of CountOf) (done, unmarked float64) {
	if of == CountDays {
		if since, ok := a.since(p, p.begin()); ok {
			done = max(0, a.c.Today.DaysSince(since))
		}
		return done, 0
	}
	u := a.usage(p, of, window{from: Ever, to: Never, opening: true})
	return u.used, a.unmarked(p, &sortOf{by: Count{Of: of}}, &u)
}

// tie counts together what wears together: chain, ring and cassette where they
// are run out as one; else the cassette with a chain that is past what it bears.
func (a *assessor) tie(parts map[*partView]*Need) {
	chain, cassette := parts[a.chain], parts[a.cassette]
	if chain == nil {
		return
	}
	if !a.runOut {
		r, read := a.chainReading()
		if cassette != nil && read && r.Value > pastChain {
			cassette.follows = chain
		}
		return
	}
	var set []*Need
	for _, n := range []*Need{chain, parts[a.ring], cassette} {
		if n != nil && n.Basis != NeedUnknown {
			set = append(set, n)
		}
	}
	for _, n := range set {
		n.set = set
	}
}

// Tied says with which kinds of the bike the part is counted together; empty
// where it stands for itself.
func (n *Need) Tied() []string {
	var kinds []string
	for _, o := range n.set {
		if o != n {
			kinds = append(kinds, o.Kind)
		}
	}
	if n.follows != nil {
		kinds = append(kinds, n.follows.Kind)
	}
	return kinds
}

// spec tells parts of one model apart: "32 teeth steel", "10–52 teeth".
func (p *Part) spec() string {
	var words []string
	switch n := len(p.Cogs); {
	case p.Teeth > 0:
		words = append(words, strconv.Itoa(p.Teeth)+" teeth")
	case n > 0:
		words = append(words, strconv.Itoa(p.Cogs[0])+"–"+strconv.Itoa(p.Cogs[n-1])+" teeth")
	}
	if p.Material != "" {
		words = append(words, p.Material)
	}
	return strings.Join(words, " ")
}
