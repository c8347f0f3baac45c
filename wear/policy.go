package wear

import (
	"fmt"
	"math"
)

// PolicyLimits are the limits of a chain that are compared, in per cent.
var PolicyLimits = [2]float64{0.5, 0.75}

// PolicyAsk says what parts and work cost, in hundredths of the book's currency.
type PolicyAsk struct {
	Chain, Cassette, Ring int64 // each; 0 = what the list says of the fleet's models, else what was entered at changes
	Hour                  int64 // at the stand; 0 = work is not counted
	Prices                PriceList
	Today                 Instant
}

// Spread is a figure with its range: below P10 in one case of ten.
type Spread struct{ P10, P50, P90 float64 }

// PolicyCost is what one limit comes to over 1,000 km.
type PolicyCost struct {
	Limit float64               // %
	Parts [nPolicyKinds]float64 // chains, cassettes and rings used, at the middle of what is known
	Each  [nPolicyKinds]float64 // hundredths that they cost, work included, at the middle
	Cost  Spread                // hundredths; of all together
}

// PolicyResult says at which limit changing chains costs less.
type PolicyResult struct {
	Limits  [2]PolicyCost
	Saves   Spread  // hundredths per 1,000 km that 0.5 % costs less than 0.75 %; below 0 = more
	Chance  float64 // that 0.5 % costs less
	Prices  [nPolicyKinds]int64
	Lacking []string // kinds of which no price is known: then there are no costs
	Own     bool     // some of it rests on the fleet's own parts
	Rests   []string // what it rests on
	Assumed []string // what is taken for granted, in words
}

// sure is the chance from which one limit is said to cost less.
const sure = 0.8

// Says is the answer in one sentence.
func (r *PolicyResult) Says() string {
	switch {
	case len(r.Lacking) > 0:
		return "Not told: a price is not known."
	case r.Chance >= sure:
		return fmt.Sprintf("Changing chains at 0.5 %% costs less here: %s likely.", percent(r.Chance))
	case r.Chance <= 1-sure:
		return fmt.Sprintf("Changing chains at 0.75 %% costs less here: %s likely.", percent(1-r.Chance))
	}
	return fmt.Sprintf("Which costs less cannot be told: 0.5 %% does with a chance of %s.", percent(r.Chance))
}

func percent(p float64) string {
	return fmt.Sprintf("%.0f %%", 100*max(0.01, min(0.99, p)))
}

// PolicyError is returned where the bikes cannot tell.
type PolicyError struct{ Why, Tip string }

// Error says what is lacking.
func (e *PolicyError) Error() string { return "chains: " + e.Why }

// Hint says what to do about it.
func (e *PolicyError) Hint() string { return e.Tip }

// ChainPolicy compares what changing chains at 0.5 % and at 0.75 % costs over
// 1,000 km, with the cassettes and rings that they run on:
//
//	cost = Σ (price + work) × load of 1,000 km / life
//
// over chain, cassette and ring (renewal theory: parts used in the long run are
// way over mean life). A chain's life is (limit - start) / rate, the rate that
// of the fleet's measured chains where five have ended, else the schedule's. A
// cassette or ring lasts what the fleet's own did with such chains where five
// of them failed ([PartLife]), else what the schedule expects, less where chains
// run past 0.5 %. All that is not known is gone through on a fixed grid: the
// same facts give the same answer.
func ChainPolicy(f PolicyFacts, ask PolicyAsk) (PolicyResult, error) {
	var r PolicyResult
	if f.use[policyChain].way <= 0 || f.use[policyChain].load <= 0 {
		return r, &PolicyError{"no ride tells what the chains went through", "import rides, or enter odometers: pawl import"}
	}
	m := &policyModel{facts: &f, chains: f.chainLife(&r)}
	m.teeth[policyCassette], m.teeth[policyRing] = f.teethLife(policyCassette, &r), f.teethLife(policyRing, &r)
	m.each = r.each(&f, ask)
	m.fill(&r)
	r.assumed(m, ask)
	return r, nil
}

// each is what changing one part of each kind costs, and puts down what is not
// known.
func (r *PolicyResult) each(f *PolicyFacts, ask PolicyAsk) (each [nPolicyKinds]float64) {
	asked := [nPolicyKinds]int64{ask.Chain, ask.Cassette, ask.Ring}
	for k := range each {
		u := &f.use[k]
		if u.load <= 0 {
			continue // none is there: it costs nothing
		}
		price, whence := u.price(ask)
		if asked[k] > 0 {
			price, whence = asked[k], "as given"
		}
		if price == 0 {
			r.Lacking = append(r.Lacking, policyKinds[k])
			continue
		}
		r.Prices[k] = price
		each[k] = float64(price)
		r.Rests = append(r.Rests, fmt.Sprintf("a %s at %s, %s", policyKinds[k], hundredths(price), whence))
		if u.parts > 0 {
			each[k] += u.minutes / float64(u.parts) / 60 * float64(ask.Hour)
		}
	}
	return each
}

// hundredths writes money as 24.50.
func hundredths(v int64) string { return fmt.Sprintf("%s.%02d", Thousands(float64(v/100)), v%100) }

// price is the mean price of the models that are on the bikes, by the list; where
// it has none of them, of what was entered at changes.
func (u *policyUse) price(ask PolicyAsk) (price int64, whence string) {
	var sum, n int64
	for k, parts := range u.models {
		if p, _, ok := ask.Prices.On(k.Kind, k.Model, ask.Today); ok {
			sum, n = sum+p*int64(parts), n+int64(parts)
		}
	}
	if n > 0 {
		return (sum + n/2) / n, "by the list for " + plural(n, "part") + " on the bikes"
	}
	if n = int64(u.payers); n > 0 {
		return (u.paid + n/2) / n, "the mean of what was entered at " + plural(n, "change")
	}
	return 0, ""
}

// perWay is the load of 1,000 km.
func (u *policyUse) perWay() float64 {
	if u.way <= 0 {
		return 0
	}
	return u.load / (float64(u.way) / thousandKm)
}

// chainLife is how fast chains wear, on the mean of the fleet.
type chainLife struct {
	rate   float64 // ln of the mean rate, % per weighted turn
	sd     float64 // of that mean: what is not known of it
	spread float64 // from chain to chain
}

// enoughEnded is how many measured chains must have ended.
const enoughEnded = lifeFailures

// chainLife takes the fleet's own chains where there are enough, else the
// schedule's rate.
func (f *PolicyFacts) chainLife(r *PolicyResult) chainLife {
	if f.ended >= enoughEnded {
		r.Own = true
		r.Rests = append(r.Rests, fmt.Sprintf("chains: %s of these bikes, %d of them ended", plural(int64(len(f.chains)), "measured chain"), f.ended))
		return pooled(f.chains)
	}
	share := 1.0
	if load := f.use[policyChain].load; load > 0 {
		share = min(1, f.unmarked/load)
	}
	v := rateSpread*rateSpread + share*(rateUnmarked*rateUnmarked-rateSpread*rateSpread)
	r.Rests = append(r.Rests, fmt.Sprintf("chains: the schedule's expectation (common practice, no published source); %d measured ones ended here, %d are needed", f.ended, enoughEnded))
	return chainLife{rate: f.prior / float64(f.priors), sd: math.Sqrt(v - ownSpread*ownSpread), spread: ownSpread}
}

// pooled is the mean of what the chains say, and how chains differ: DerSimonian
// and Laird (1986, from memory), their spread held at what chains of one bike
// differ by at least. On the mean over the bikes' ways those that wear fast count
// more, exp(σ²/2) of what differs from bike to bike; of what differs from chain
// to chain of one bike those that wear slowly last longer, exp(-σ²/2).
func pooled(list []earlier) chainLife {
	var w, ww, sum float64
	for _, e := range list {
		w, ww, sum = w+1/e.variance, ww+1/(e.variance*e.variance), sum+e.mean/e.variance
	}
	var q float64
	for _, e := range list {
		d := e.mean - sum/w
		q += d * d / e.variance
	}
	const own = ownSpread * ownSpread
	tau := max(own, (q-float64(len(list)-1))/(w-ww/w))
	w, sum = 0, 0
	for _, e := range list {
		v := 1 / (e.variance + tau)
		w, sum = w+v, sum+v*e.mean
	}
	return chainLife{rate: sum/w + (tau-own)/2 - own/2, sd: 1 / math.Sqrt(w), spread: math.Sqrt(tau)}
}
