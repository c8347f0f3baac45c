package wear

import "math"

// CogUse is where the turns of a bike went on its cassette.
type CogUse struct {
	Teeth int
	Share float64 // of the turns whose gear is known
}

// leastTold is the number of turns with a known gear from which the shares are
// believed: some hours of riding (common practice, no published source).
const leastTold = 10_000

// CogShares is how the turns of a bike are shared among the cogs of its
// cassette, smallest first, and how many turns that rests on. Recorded gear
// numbers go before developments: number 1 is the innermost cog, the largest
// (FIT profile, from memory). A development belongs to the cog nearest to
// ring × wheel / development; it needs the ring's teeth and the wheel in m.
func CogShares(g Gears, cogs []int, ring int, wheel float64) (uses []CogUse, turns float64) {
	if len(cogs) == 0 {
		return nil, 0
	}
	on := make([]int64, len(cogs))
	for _, n := range g.ByNumber {
		if rear := int(n.Bin) % 64; rear >= 1 && rear <= len(cogs) {
			on[len(cogs)-rear] += n.Turns
		}
	}
	if total(on) == 0 && ring > 0 && wheel > 0 {
		for _, d := range g.ByDevelopment {
			on[nearestCog(cogs, float64(ring)*wheel/BinDevelopment(d.Bin))] += d.Turns
		}
	}
	all := total(on)
	if all <= 0 {
		return nil, 0
	}
	for i, n := range on {
		uses = append(uses, CogUse{cogs[i], float64(n) / float64(all)})
	}
	return uses, Turns.SI(all)
}

func total(list []int64) (sum int64) {
	for _, v := range list {
		sum += v
	}
	return sum
}

// nearestCog is the index of the cog whose teeth are nearest by ratio.
func nearestCog(cogs []int, teeth float64) int {
	best, least := 0, math.Inf(1)
	for i, c := range cogs {
		if off := math.Abs(math.Log(teeth / float64(c))); off < least {
			best, least = i, off
		}
	}
	return best
}

// busiest finds the cog whose teeth meet the chain most often: share / teeth.
func (a *assessor) busiest(p *partView) {
	g := &a.c.Gears
	if len(g.ByNumber)+len(g.ByDevelopment) == 0 {
		return
	}
	uses, told := CogShares(*g, p.pc.Part.Cogs, a.ringTeeth(), a.c.Bike.Wheel)
	if told < leastTold {
		return
	}
	for _, u := range uses {
		if u.Share*p.busyTeeth > p.busyShare*float64(u.Teeth) || p.told == 0 {
			p.busyTeeth, p.busyShare, p.told = float64(u.Teeth), u.Share, told
		}
	}
}
