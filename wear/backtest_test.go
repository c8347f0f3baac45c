package wear

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The backtest simulates chains whose end is known, lets three readings of them
// be taken at a quarter, a half and three quarters of what the schedule expects,
// forecasts when each comes to its limit, and compares.

const (
	simBikes  = 2500
	simLimit  = 0.75    // %
	simExpect = 480_000 // turns on dry ground
)

// simChain is the truth of one chain: wear over the load that pawl counts.
type simChain struct {
	start, rate float64
	bedding     float64 // % on top, which comes in the first 40,000 turns
	faster      float64 // past the knee
	wetFrom     float64 // a wet winter, ridden unmarked, begins at this load; 0 = none
	turnAt      float64 // load at which the rate changes for good
	turn        float64 // by this factor
}

const (
	simBedding = 40_000.0
	simWet     = 120_000.0 // load that the winter counts
	wetAs      = 2.0 / 1.4 // wet ground counted as unmarked
)

// at is the elongation at a load.
func (c *simChain) at(u float64) float64 {
	eff := u
	if over := u - c.turnAt; c.turn != 0 && over > 0 {
		eff += (c.turn - 1) * over
	}
	if c.wetFrom > 0 {
		eff += (wetAs - 1) * min(max(0, u-c.wetFrom), simWet)
	}
	w := c.start + c.rate*eff + c.bedding*(1-math.Exp(-u/simBedding))
	if w > chainKnee {
		w = chainKnee + (w-chainKnee)*c.faster
	}
	return w
}

// crossing is the load at which the chain comes to the limit.
func (c *simChain) crossing() float64 {
	lo, hi := 0.0, 1e8
	for range 60 {
		if mid := (lo + hi) / 2; c.at(mid) < simLimit {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// scenario is what the simulation does that the model does not know.
type scenario struct {
	name                               string
	bedding, faster, wet, double, tool bool
}

var wrongs = []scenario{
	{name: "bedding-in that fades", bedding: true},
	{name: "wear that speeds up past 0.6 %", faster: true},
	{name: "a wet winter unmarked", wet: true},
	{name: "a rider who doubles his use", double: true},
	{name: "a biased tool", tool: true},
	{name: "all of these at once", bedding: true, faster: true, wet: true, double: true, tool: true},
}

// chain draws a chain; loads are those of the readings.
func (s scenario) chain(r *rand.Rand, loads []float64) simChain {
	c := simChain{start: chainStart + chainStartSD*r.NormFloat64(), faster: chainFaster * math.Exp(speedSD*r.NormFloat64())}
	c.rate = math.Exp(simPrior().rate + rateSpread*r.NormFloat64())
	last := loads[len(loads)-1]
	drawn, z := c, driftSD*r.NormFloat64()
	for range 20 { // the drift goes with the share of the way that lies ahead
		c.turnAt, c.turn = last, math.Exp(z*max(0, 1-last/c.crossing()))
	}
	if s.bedding {
		c.bedding, c.start = 0.03+0.06*r.Float64(), drawn.start-0.03
	}
	if s.faster {
		c.faster = 1.75
	}
	if s.wet {
		c.wetFrom = simExpect * r.Float64()
	}
	return c
}

func simPrior() prior {
	limit := gaitOf(simReadingLimit()).straight(simLimit)
	return prior{rate: math.Log((limit - chainStart) / simExpect), rateSD: rateSpread, start: chainStart, startSD: chainStartSD}
}

func simReadingLimit() *Limit { return &Limit{Of: Elongation, Due: simLimit} }

// readings takes three readings with a tool.
func (s scenario) readings(r *rand.Rand, tool string, c *simChain, loads []float64) evidence {
	t := taker{gait: gaitOf(simReadingLimit())}
	random, bias := errorOf(tool).of(&Reading{Of: Elongation})
	if tool == toolGauge {
		random, bias = gaugeSoft, gaugeBias
	}
	off := bias * r.NormFloat64()
	if s.tool { // off by as much as it can be read to, to one side or the other
		off = random * float64(1-2*r.IntN(2))
	}
	for _, u := range loads {
		one := Reading{Of: Elongation, Tool: tool}
		if tool == toolGauge {
			one.Gauge = simGauge(r, c.at(u)+off)
		} else {
			one.Value = c.at(u) + off + random*r.NormFloat64()
		}
		t.take(&one, u)
	}
	return t.e
}

// simGauge lets the ends 0.5 and 0.75 of a gauge drop in or stay out.
func simGauge(r *rand.Rand, v float64) *Gauge {
	half, three := v+gaugeSoft*r.NormFloat64() > 0.5, v+gaugeSoft*r.NormFloat64() > 0.75
	switch {
	case three:
		return &Gauge{In: 0.75, Points: 3}
	case half:
		return &Gauge{In: 0.5, Out: 0.75, Points: 3}
	}
	return &Gauge{Out: 0.5, Points: 3}
}

// simUse is how the bike is ridden: turns a week before the forecast, and the
// days that a load takes after it.
func (s scenario) use(r *rand.Rand, now, end float64) (weeks []weekly, days float64) {
	mean := 6000 * math.Exp(0.5*r.NormFloat64())
	turnAt := math.Inf(1)
	if s.double {
		turnAt = (now + max(0, end-now)) * r.Float64()
	}
	later := math.Exp(paceSpread * r.NormFloat64())
	ridden := func(load float64, f float64) float64 {
		if load > turnAt {
			f *= 2
		}
		return mean * f * math.Exp(0.5*r.NormFloat64()-0.125)
	}
	weeks = make([]weekly, paceWeeks)
	load := now
	for i := range weeks {
		v := ridden(load, 1)
		weeks[len(weeks)-1-i] = weekly{v, 7}
		load -= v
	}
	for load = now; load < end; {
		v := ridden(load, later)
		days += 7 * min(1, (end-load)/v)
		load += v
	}
	return weeks, days
}

// tally is how forecasts did.
type simTally struct {
	n, running          int
	inside, dateInside  int
	errors, fixedErrors []float64
}

func (s scenario) run(tool string, seed uint64) simTally {
	r := rand.New(rand.NewPCG(seed, 4))
	var t simTally
	for range simBikes {
		loads := make([]float64, 3)
		for i := range loads {
			loads[i] = simExpect * float64(i+1) / 4 * (0.9 + 0.2*r.Float64())
		}
		chain := s.chain(r, loads)
		c := course{prior: simPrior(), gait: gaitOf(simReadingLimit())}
		c.evidence = s.readings(r, tool, &chain, loads)
		if tool == "none" {
			c.evidence = evidence{}
		}
		c.work()
		end := chain.crossing()
		t.add(&c, end)
		now := loads[2]
		weeks, days := s.use(r, now, end)
		if end > now {
			t.running++
			p := paceOf(weeks, weekly{})
			t.dateInside += boolInt(p.days(c.curve, now, 0.1) <= days && days <= p.days(c.curve, now, 0.9))
		}
	}
	return t
}

func (t *simTally) add(c *course, end float64) {
	t.n++
	t.inside += boolInt(c.curve.quantile(0.1) <= end && end <= c.curve.quantile(0.9))
	t.errors = append(t.errors, math.Abs(c.curve.quantile(0.5)-end)/end)
	t.fixedErrors = append(t.fixedErrors, math.Abs(simExpect-end)/end)
}

func (t *simTally) coverage() float64     { return float64(t.inside) / float64(t.n) }
func (t *simTally) dateCoverage() float64 { return float64(t.dateInside) / float64(t.running) }

func median(list []float64) float64 {
	list = slices.Sorted(slices.Values(list))
	return list[len(list)/2]
}

// simRun is one line of the table.
type simRun struct {
	scenario
	tool string
	got  simTally
}

var simTools = []string{"ruler", "caliper", toolGauge}

// simAll runs every scenario with every tool, side by side, each from its own seed.
func simAll() []simRun {
	var runs []simRun
	for _, s := range append(wrongs, scenario{name: right}) {
		for _, tool := range simTools {
			runs = append(runs, simRun{scenario: s, tool: tool})
		}
	}
	runs = append(runs, simRun{scenario: scenario{name: right}, tool: "none"})
	var wg sync.WaitGroup
	for i := range runs {
		wg.Go(func() { runs[i].got = runs[i].run(runs[i].tool, uint64(i)) })
	}
	wg.Wait()
	return runs
}

const right = "model right"

// The figures that the README quotes come from here.
func TestBacktest(t *testing.T) {
	runs := simAll()
	t.Log("\n" + simTable(runs))
	most := map[string]float64{"ruler": 0.105, "caliper": 0.07, toolGauge: 0.145, "none": 0.32}
	for _, r := range runs {
		name := r.name + ", " + r.tool
		if r.name != right {
			assert.GreaterOrEqual(t, r.got.coverage(), 0.70, name)
			assert.GreaterOrEqual(t, r.got.dateCoverage(), 0.70, name)
			continue
		}
		assert.InDelta(t, 0.8, r.got.coverage(), 0.03, name)
		assert.InDelta(t, 0.8, r.got.dateCoverage(), 0.08, name)
		assert.LessOrEqual(t, median(r.got.errors), most[r.tool], name)
		assert.InDelta(t, 0.6745*rateSpread, median(r.got.fixedErrors), 0.02, "a fixed interval errs by the prior's own spread")
	}
}

func simTable(runs []simRun) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d chains a line, three readings each, seeds fixed; limit %g %%\n", simBikes, simLimit)
	fmt.Fprintf(&b, "%-31s %-8s %12s %12s %12s %15s\n", "what pawl does not know", "tool", "in 80 % load", "in 80 % date", "median error", "fixed interval")
	for _, r := range runs {
		fmt.Fprintf(&b, "%-31s %-8s %10.1f %% %10.1f %% %10.1f %% %13.1f %%\n", r.name, r.tool,
			100*r.got.coverage(), 100*r.got.dateCoverage(), 100*median(r.got.errors), 100*median(r.got.fixedErrors))
	}
	fmt.Fprintf(&b, "A fixed interval says %d turns of every chain; its error is nothing but the spread that the\n", simExpect)
	fmt.Fprintf(&b, "prior assumes (ln rate ± %g), so this table does not show that pawl beats it by so much on\nreal chains, only what readings add where chains differ that much.", rateSpread)
	return b.String()
}
