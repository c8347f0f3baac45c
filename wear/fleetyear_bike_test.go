package wear

import (
	"math"
	"math/rand/v2"
	"slices"
)

// What the parts of the simulated year cost, in the fleet's currency.
var yearPrice = map[string]float64{
	"chain": 30, "ring": 45, "cassette": 95, "front-pads": 16, "rear-pads": 16, "front-tyre": 50, "rear-tyre": 50,
}

const (
	yearMinute  = 0.6  // of work
	yearStand   = 5.0  // minutes to get a bike on the stand and off it, each evening that it is worked on
	yearFetch   = 45.0 // minutes to fetch a bike that failed on hire, and its rider
	yearEvening = 60.0 // minutes of work that a bike gets between two hires; with more it is held the next day
	yearHire    = 40.0 // price of a hire day
)

// Laws of wear that the simulation assumes.
const (
	goodChain   = 0.5  // %: up to here a chain wears ring and cassette as the schedule expects …
	badChain    = 8.0  // … and past it by so much more for each % (3 times at 0.75 %, 5 times at 1 %)
	toothSpread = 0.3  // of ln life of rings, cassettes and tyres
	skipsWorn   = 1.25 // wear at which a cassette skips with the chain that wore it; at 1 it does with a new one
	dropsWorn   = 1.3  // wear at which a ring holds no chain; from 1 on it drops one in …
	dropsHourly = 0.03 // … so many hours
	bareTyre    = 0.4  // mm of knob at which a tyre is cut through

	looseFresh  = 0.01   // chance an hour that bolts just worked on and not checked since come loose …
	looseFade   = 5.0    // … which fades over so many hours
	looseHourly = 0.0002 // the same once they were checked after a ride
	looseFails  = 0.05   // chance an hour that loose bolts fail on hire
)

// yearBolts are the bolts of a bike by kind.
var yearBolts = []string{"guide-bolts", "ring-bolts", "crank-bolt", "pedals", "caliper-bolts", "axles", "stem-bar-bolts"}

// yearParts are the parts of a bike that wear, by kind.
var yearParts = []string{"chain", "ring", "cassette", "front-pads", "rear-pads", "front-tyre", "rear-tyre"}

// truePart is what a part really is.
type truePart struct {
	wear   float64 // of its life: 0 to 1 where such a part is to be changed; of a chain, pads and knobs made from the reading
	good   float64 // of wear, what it would have come to with good chains only
	life   float64 // beside others of its kind
	km     float64 // since it was fitted
	past   bool    // a chain: past 0.75 %
	chain  simChain
	load   float64 // of the chain
	breaks float64 // %, at which the chain skips or breaks
}

// trueBolts are bolts as they really are.
type trueBolts struct {
	loose, checked bool
	hours          float64 // since they were worked on
}

// hireBike is one bike of the year, run in one way.
type hireBike struct {
	y     *year
	n     int
	d     *yearDepot
	parts map[string]*truePart
	bolts map[string]*trueBolts
	fits  map[string]int // how many parts of a kind it had
	held  int            // the last day on which it is held
	round float64        // km since all bolts were checked
	t     *yearTally
	book  *hireBook // of a bike that is run by pawl's advice
	spent float64   // minutes this evening
}

func newHireBike(y *year, n int, t *yearTally) *hireBike {
	b := &hireBike{y: y, n: n, d: y.depot(n), t: t, held: -1,
		parts: map[string]*truePart{}, bolts: map[string]*trueBolts{}, fits: map[string]int{}}
	for _, kind := range yearBolts {
		b.bolts[kind] = &trueBolts{checked: true}
	}
	for _, kind := range yearParts {
		b.fresh(kind)
	}
	r := y.draw(5, n, 0)
	for _, kind := range []string{"ring", "cassette", "front-tyre", "rear-tyre"} {
		p := b.parts[kind]
		p.wear = 0.9 * r.Float64() // they had seasons before
		p.good = p.wear
		p.km = p.wear * p.life * meanLife(kind) * math.Exp(0.2*r.NormFloat64())
	}
	t.value -= b.value()
	return b
}

// fresh puts a new part of a kind on. The nth is the same whatever the way.
func (b *hireBike) fresh(kind string) {
	r := b.y.draw(16+slices.Index(yearParts, kind), b.n, b.fits[kind])
	b.fits[kind]++
	p := &truePart{life: math.Exp(toothSpread * r.NormFloat64())}
	switch kind {
	case "chain":
		p.chain = b.newChain(r)
		p.breaks = 1.1 + 0.5*r.Float64()
	case "front-pads", "rear-pads":
		p.life = math.Exp(rateSpread * r.NormFloat64())
	case "ring":
		b.bolts["ring-bolts"], b.bolts["crank-bolt"] = &trueBolts{checked: b.fits[kind] == 1}, &trueBolts{checked: b.fits[kind] == 1}
	}
	b.parts[kind] = p
}

// newChain draws a chain as the backtest does, with the spread that the tool
// takes chains to have: part of it the bike's and its riders', part its own.
func (b *hireBike) newChain(r *rand.Rand) simChain {
	place := math.Sqrt(rateSpread*rateSpread-ownSpread*ownSpread) * b.y.draw(6, b.n, 0).NormFloat64()
	c := simChain{bedding: 0.03 + 0.06*r.Float64(), start: chainStart - 0.03 + chainStartSD*r.NormFloat64()}
	c.rate = math.Exp(simPrior().rate + place + ownSpread*r.NormFloat64())
	c.faster = chainFaster * math.Exp(speedSD*r.NormFloat64())
	return c
}

func (p *truePart) long() float64 { return p.chain.at(p.load) }

// lining and knob are what is left, in mm.
func (p *truePart) lining() float64 { return 2 - p.wear }
func (p *truePart) knob() float64   { return 4 - 2*p.wear }

// share is how much of a part's life is used up.
func (p *truePart) share(kind string) float64 {
	if kind == "chain" {
		return max(0, min(1, p.long()/goodChain))
	}
	return min(1, p.wear)
}

// value is what the wear on the bike comes to in money.
func (b *hireBike) value() (sum float64) {
	for _, kind := range yearParts {
		sum += yearPrice[kind] * b.parts[kind].share(kind)
	}
	return sum
}

// ride wears the bike by a hire and lists what failed on it.
func (b *hireBike) ride(h hireRide, day int) (failed []string) {
	b.drivetrain(h)
	for _, kind := range []string{"front-pads", "rear-pads"} {
		b.parts[kind].wear += h.braking / 8 * b.d.pads[h.ground] / b.parts[kind].life
	}
	for _, kind := range []string{"front-tyre", "rear-tyre"} {
		b.parts[kind].wear += h.km / meanLife(kind) / b.parts[kind].life
	}
	for _, p := range b.parts {
		p.km += h.km
	}
	b.round += h.km
	b.t.km += h.km
	return append(b.failures(h, day), b.loosen(h, day)...)
}

// drivetrain wears ring and cassette the faster the longer the chain is.
func (b *hireBike) drivetrain(h hireRide) {
	c, load := b.parts["chain"], h.turns*b.d.drive[h.ground]
	before := c.long()
	c.load += load
	after := c.long()
	times := 1 + badChain*max(0, (before+after)/2-goodChain)
	for kind, turns := range map[string]float64{"ring": 1_000_000, "cassette": cassetteTurns} {
		p := b.parts[kind]
		p.good += load / turns / p.life
		p.wear += load / turns / p.life * times
	}
	if after > 0.75 {
		b.t.pastKm += h.km
		b.t.past += boolFloat(!c.past)
		c.past = true
	}
}

// cassetteTurns is what a cassette lasts: 600,000 contacts of its busiest cog.
const cassetteTurns = 600_000 / (0.2 * 32 / 18.0)

// meanLife is what a part is expected to last in km, on ground that wears half
// as much again as dry; of pads see the plan that goes by the mean.
func meanLife(kind string) float64 {
	const perKm = 1.5 * hireTurns / hirePace
	switch kind {
	case "ring":
		return 1_000_000 / perKm
	case "cassette":
		return cassetteTurns / perKm
	case "front-tyre":
		return 3000
	}
	return 1500
}

// failures are the parts that fail on a hire.
func (b *hireBike) failures(h hireRide, day int) (failed []string) {
	r := b.y.draw(7, b.n, day)
	drop := r.Float64() < dropsHourly*h.hours
	for _, kind := range yearParts {
		p := b.parts[kind]
		var fails bool
		switch kind {
		case "chain":
			fails = p.long() >= p.breaks
		case "ring":
			fails = p.wear >= dropsWorn || p.wear >= 1 && drop
		case "cassette":
			fails = p.wear >= skipsWorn
		case "front-pads", "rear-pads":
			fails = p.lining() <= 0
		default:
			fails = p.knob() <= bareTyre
		}
		if fails {
			failed = append(failed, kind)
		}
	}
	return failed
}

// loosen lets bolts come loose, and loose ones fail.
func (b *hireBike) loosen(h hireRide, day int) (failed []string) {
	r := b.y.draw(8, b.n, day)
	for _, kind := range yearBolts {
		bolts, u, v := b.bolts[kind], r.Float64(), r.Float64()
		rate := looseHourly
		if !bolts.checked {
			rate += looseFresh * math.Exp(-bolts.hours/looseFade)
		}
		bolts.hours += h.hours
		bolts.loose = bolts.loose || u < rate*h.hours
		if bolts.loose && v < looseFails*h.hours {
			failed = append(failed, kind)
		}
	}
	return failed
}
