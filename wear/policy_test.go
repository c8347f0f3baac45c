package wear

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plainFacts are bikes of which nothing but their rides is known: 10,000 km of
// 400 turns each on dry ground.
func plainFacts() PolicyFacts {
	const way, km = 10_000 * 100_000, 10_000
	f := PolicyFacts{prior: math.Log(0.44 / 320_000), priors: 1}
	f.use[policyChain] = policyUse{load: 400 * km, way: way, minutes: 15, parts: 1}
	f.use[policyCassette] = policyUse{load: 2.4, way: way, minutes: 20, parts: 1}
	f.use[policyRing] = policyUse{load: 4, way: way, minutes: 30, parts: 1}
	return f
}

func plainAsk() PolicyAsk { return PolicyAsk{Chain: 2500, Cassette: 8000, Ring: 4000} }

// By hand, over 1,000 km of 400,000 turns. A chain goes from 0.06 % to 0.5 % in
// 320,000 turns, so 0.44 / 320,000 a turn; to 0.75 % it is 0.54 % at that pace
// and 0.15 % at 1.25 times, as far as 0.66 % at that pace: 480,000 turns. 1.25
// and 0.8333 chains at 25.00 are 31.25 and 20.83. A third of the 480,000 turns
// are past 0.5 %, in which teeth wear twice: life is 3/4. 0.24 and 0.32
// cassettes at 80.00 are 19.20 and 25.60, 0.4 and 0.5333 rings at 40.00 are
// 16.00 and 21.33. In all 66.45 and 67.77.
func TestChainPolicyByHand(t *testing.T) {
	r, err := ChainPolicy(plainFacts(), plainAsk())
	require.NoError(t, err)
	want := [2][nPolicyKinds][2]float64{
		{{1.25, 3125}, {0.24, 1920}, {0.4, 1600}},
		{{0.833333, 2083.333}, {0.32, 2560}, {0.533333, 2133.333}},
	}
	for i, kinds := range want {
		for k, w := range kinds {
			assert.InDelta(t, w[0], r.Limits[i].Parts[k], 1e-5, "%s at %g %%", policyKinds[k], r.Limits[i].Limit)
			assert.InDelta(t, w[1], r.Limits[i].Each[k], 1e-2)
		}
		assert.InEpsilon(t, []float64{6645, 6777}[i], r.Limits[i].Cost.P50, 0.06)
		assert.Less(t, r.Limits[i].Cost.P10, r.Limits[i].Cost.P50)
		assert.Less(t, r.Limits[i].Cost.P50, r.Limits[i].Cost.P90)
	}
	assert.False(t, r.Own)
	assert.InDelta(t, 0.5, r.Chance, 0.15, "hardly a difference")
	assert.Contains(t, r.Says(), "cannot be told")
	said := strings.Join(append(r.Rests, r.Assumed...), "\n")
	assert.Contains(t, said, "chains: the schedule's expectation (common practice, no published source); 0 measured ones ended here, 5 are needed")
	assert.Contains(t, said, "teeth wear 2 times as fast while the chain is past 0.5 %")
	assert.Contains(t, said, "a cassette at 80.00, as given")
}

// An hour at the stand at 60.00: a chain's 15 minutes are 15.00.
func TestChainPolicyCountsWork(t *testing.T) {
	ask := plainAsk()
	ask.Hour = 6000
	r, err := ChainPolicy(plainFacts(), ask)
	require.NoError(t, err)
	assert.InDelta(t, 1.25*4000, r.Limits[0].Each[policyChain], 1e-6)
	assert.InDelta(t, 0.24*10_000, r.Limits[0].Each[policyCassette], 1e-6)
	assert.InDelta(t, 0.4*7000, r.Limits[0].Each[policyRing], 1e-6)
}

// Dearer cassettes and rings speak for 0.5 %, dearer chains for 0.75 %. Twice
// all prices change nothing but the costs; twice the way at the same load a
// kilometre changes nothing at all.
func TestChainPolicyIsMonotone(t *testing.T) {
	for n := range 12 {
		price := func(k int) int64 { return int64(500 + (n*7919+k*104729)%40_000) }
		ask := PolicyAsk{Chain: price(1) / 4, Cassette: price(2), Ring: price(3) / 2}
		base := answer(t, plainFacts(), ask)
		dear := ask
		dear.Cassette += price(4)
		assert.GreaterOrEqual(t, answer(t, plainFacts(), dear).Chance, base.Chance-1e-9)
		dear = ask
		dear.Ring += price(5)
		assert.GreaterOrEqual(t, answer(t, plainFacts(), dear).Chance, base.Chance-1e-9)
		dear = ask
		dear.Chain += price(6)
		assert.LessOrEqual(t, answer(t, plainFacts(), dear).Chance, base.Chance+1e-9)

		twice := answer(t, plainFacts(), PolicyAsk{Chain: 2 * ask.Chain, Cassette: 2 * ask.Cassette, Ring: 2 * ask.Ring})
		assert.InDelta(t, base.Chance, twice.Chance, 1e-9)
		assert.InEpsilon(t, 2*base.Limits[0].Cost.P90, twice.Limits[0].Cost.P90, 1e-9)
		far := plainFacts()
		for k := range far.use {
			far.use[k].load, far.use[k].way = 2*far.use[k].load, 2*far.use[k].way
		}
		assert.InEpsilon(t, base.Limits[1].Cost.P10, answer(t, far, ask).Limits[1].Cost.P10, 1e-9)
	}
	cheap, dear := plainAsk(), plainAsk()
	cheap.Cassette, dear.Cassette = 100, 40_000
	assert.Less(t, answer(t, plainFacts(), cheap).Chance, answer(t, plainFacts(), dear).Chance-0.2)
}

func answer(t require.TestingT, f PolicyFacts, ask PolicyAsk) PolicyResult {
	r, err := ChainPolicy(f, ask)
	require.NoError(t, err)
	return r
}

func TestChainPolicyAsksForPrices(t *testing.T) {
	f := plainFacts()
	f.use[policyChain].models = map[ShelfKey]int{KeyOf("chain", "A"): 3, KeyOf("chain", "B"): 1, KeyOf("chain", "C"): 9}
	f.use[policyRing].paid, f.use[policyRing].payers = 9000, 2
	ask := PolicyAsk{Today: days(9), Prices: PricesOf([]Stock{
		{ID: 1, Kind: "chain", Model: "a", At: days(1), Price: 2000}, {ID: 2, Kind: "chain", Model: "B", At: days(1), Price: 4000}}, days(9))}
	r := answer(t, f, ask)
	assert.Equal(t, []string{"cassette"}, r.Lacking)
	assert.Equal(t, [nPolicyKinds]int64{2500, 0, 4500}, r.Prices)
	assert.InDelta(t, 1.25, r.Limits[0].Parts[policyChain], 1e-9, "what is used is told all the same")
	assert.Zero(t, r.Limits[0].Cost)
	assert.Contains(t, r.Says(), "a price is not known")
	_, err := ChainPolicy(PolicyFacts{}, ask)
	assert.EqualError(t, err, "chains: no ride tells what the chains went through")
}

// policyFleet is a fleet of which half of the bikes change chains at 0.5 % and
// half at 0.75 %, where teeth wear so many times faster while the chain is past
// 0.5 %. It returns what the bikes say and what each half used per 1,000 km.
func policyFleet(t *testing.T, times float64, bikes int) (PolicyFacts, [2][nPolicyKinds]float64) {
	rng := rand.New(rand.NewPCG(7, uint64(times*1000)))
	var facts PolicyFacts
	var used [2][nPolicyKinds]float64
	for n := range bikes {
		half := n % 2
		w := newWorld(t, 1000)
		(&wearing{world: w, rng: rng, limit: PolicyLimits[half], times: times}).run(500)
		facts.Add(PolicyOf(w.build(), Default()))
		far := &wearing{rng: rng, limit: PolicyLimits[half], times: times}
		far.run(10_000) // 200,000 km
		for k, n := range far.count {
			used[half][k] += float64(n) / (float64(bikes) / 2 * 200)
		}
	}
	return facts, used
}

// wearing is one bike that is ridden and of which what is worn is changed.
type wearing struct {
	world        *world // nil = nothing is entered, only counted
	rng          *rand.Rand
	limit, times float64
	on           [nPolicyKinds]*PartCase
	wear, life   [nPolicyKinds]float64
	count        [nPolicyKinds]int // changed
}

// run makes that many rides of 20 km and 8,000 turns.
func (b *wearing) run(rides int) {
	rate := 0.44 / 320_000 * math.Exp(0.3*b.rng.NormFloat64())
	for k := range b.on {
		b.fit(k, days(0))
	}
	for ride := range rides {
		day := float64(2 * ride)
		chain, pace, teeth := b.wear[policyChain], rate, 8000.0
		if chain > chainKnee {
			pace *= chainFaster
		}
		if chain > 0.5 {
			teeth *= b.times
		}
		if b.world != nil {
			b.world.ride(day+1, Dry, Load{Distance: 20 * 100_000, Turns: 8_000_000, Moving: 3_600_000})
		}
		b.wear[policyChain] += 8000 * pace
		for _, k := range []int{policyCassette, policyRing} {
			if b.wear[k] += teeth; b.wear[k] > b.life[k] {
				b.change(k, days(day+1.7))
			}
		}
		b.measure(ride, day)
	}
}

// measure reads the chain now and then, and near its limit after every ride.
func (b *wearing) measure(ride int, day float64) {
	chain := b.wear[policyChain]
	if chain <= b.limit-0.06 && ride%12 != 0 {
		return
	}
	read := chain + 0.015*b.rng.NormFloat64()
	if b.world != nil {
		b.world.read(b.on[policyChain], day+1.5, read)
	}
	if read >= b.limit {
		b.change(policyChain, days(day+1.6))
	}
}

func (b *wearing) change(k int, at Instant) {
	if b.world != nil {
		b.world.off(b.on[k], at, Worn)
	}
	b.fit(k, at)
	b.count[k]++
}

func (b *wearing) fit(k int, at Instant) {
	if b.world != nil {
		b.on[k] = b.world.fit(policyKinds[k], at)
	}
	scale := [nPolicyKinds]float64{policyCassette: 900_000, policyRing: 700_000}
	b.wear[k], b.life[k] = 0, scale[k]*math.Pow(b.rng.ExpFloat64(), 1.0/4)
	if k == policyChain {
		b.wear[k] = chainStart
	}
}

// The answer is that of the simulated fleet: where worn chains eat teeth, and
// where they do not. What the parts cost lies near what each half spent.
func TestChainPolicyRecoversTheTruth(t *testing.T) {
	prices := [nPolicyKinds]float64{2500, 8000, 4000}
	for name, c := range map[string]struct {
		times float64
		half  bool // 0.5 % costs less
	}{"worn chains eat teeth": {6, true}, "worn chains do no harm": {1, false}} {
		t.Run(name, func(t *testing.T) {
			facts, used := policyFleet(t, c.times, 60)
			r := answer(t, facts, plainAsk())
			var spent [2]float64
			for i := range spent {
				for k, n := range used[i] {
					spent[i] += n * prices[k]
					t.Logf("%g %%: %.3f %ss used, %.3f told", r.Limits[i].Limit, n, policyKinds[k], r.Limits[i].Parts[k])
				}
				t.Logf("%g %%: %.0f spent, %.0f told (%.0f to %.0f)", r.Limits[i].Limit, spent[i], r.Limits[i].Cost.P50, r.Limits[i].Cost.P10, r.Limits[i].Cost.P90)
				assert.InEpsilon(t, spent[i], r.Limits[i].Cost.P50, 0.15)
			}
			assert.Equal(t, c.half, spent[0] < spent[1], "the simulation itself")
			assert.True(t, r.Own)
			t.Log(r.Says(), r.Chance, r.Rests)
			if c.half {
				assert.Greater(t, r.Chance, 0.9)
			} else {
				assert.Less(t, r.Chance, 0.1)
			}
		})
	}
}

// A part that lasted until it met a worn chain says nothing of what worn chains
// do before that.
func TestLivesGoWithTheirChains(t *testing.T) {
	worn := Unit{Name: "c", Load: 2, Good: 1.5, Found: true, Cause: Worn}
	cases := map[string]struct {
		e    exposure
		want teethLives
	}{
		"no chain was measured": {exposure{}, teethLives{unread: 1}},
		"mild chains":           {exposure{known: true}, teethLives{mild: []Unit{worn}}},
		"worn ones from the half on": {exposure{known: true, isWorn: true, worn: 1},
			teethLives{mild: []Unit{{Name: "c", Load: 1}}, worn: []Unit{{Name: "c", Load: 2, Entry: 1, Good: 1.5, Found: true, Cause: Worn}}}},
		"worn ones only after its end": {exposure{known: true, isWorn: true, worn: 2}, teethLives{mild: []Unit{worn}}},
		"spoilt in the end": {exposure{known: true, isWorn: true, worn: 1, isSpoilt: true, spoilt: 1.5},
			teethLives{mild: []Unit{{Name: "c", Load: 1}}, worn: []Unit{{Name: "c", Load: 1.5, Entry: 1}}, spoilt: 1}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			var got teethLives
			got.take(worn, c.e)
			assert.Equal(t, c.want, got)
		})
	}
}

// What a gauge says for certain is the end that dropped in.
func TestWornChainsByGauge(t *testing.T) {
	assert.InDelta(t, 0.5, Reading{Value: 0.625, Gauge: &Gauge{In: 0.5, Out: 0.75}}.surely(), 0)
	assert.InDelta(t, 0.7, Reading{Value: 0.7}.surely(), 0)
}

// Where the lives with chains of one limit are known, the others follow: a third
// of the turns at twice the wear make 4/3.
func TestOneLifeFollowsFromTheOther(t *testing.T) {
	none := [2]float64{}
	for name, c := range map[string]struct {
		life teethLife
		want [2]float64
	}{
		"the schedule":  {teethLife{faster: 2}, [2]float64{1, 0.75}},
		"mild only":     {teethLife{faster: 2, known: [2]bool{true, false}, mean: [2]float64{math.Log(3), 0}}, [2]float64{3, 2.25}},
		"worn only":     {teethLife{faster: 2, known: [2]bool{false, true}, mean: [2]float64{0, math.Log(3)}}, [2]float64{4, 3}},
		"both are told": {teethLife{faster: 2, known: [2]bool{true, true}, mean: [2]float64{math.Log(3), math.Log(5)}}, [2]float64{3, 5}},
	} {
		got := c.life.at(none, 0, 1.0/3)
		assert.InDelta(t, c.want[0], got[0], 1e-9, name)
		assert.InDelta(t, c.want[1], got[1], 1e-9, name)
	}
}
