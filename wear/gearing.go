package wear

import (
	"math"
	"slices"
)

// Gearing is what makes a cog out of a development: ring, cassette and wheel of
// one day.
type Gearing struct {
	Ring  int     // teeth; 0 = not known
	Cogs  []int   // teeth, smallest first; none = not known
	Wheel float64 // m, rolling circumference; 0 = not known
}

// noCog is how far off the nearest cog a development may be, as a natural
// logarithm of their ratio: mountain cassettes have steps of 11–18 %, so more
// than 8 % is a gear that the cassette does not have.
const noCog = 0.08

// OnCogs is what went through each cog of a cassette, in stored integers.
type OnCogs struct {
	Turns    []int64 // of each cog, smallest first
	Work     []int64
	Recorded int64 // of Turns in all, told by recorded gear changes
	Lost     int64 // turns in gears that no cog explains
	LostWork int64
}

// Told is what is believed of where one ride's turns went: recorded gear changes
// win over developments, unless they tell of less than half as many turns.
func (g Gears) Told() Gears {
	if recorded := gearTurns(g.ByNumber); recorded > 0 && 2*recorded >= gearTurns(g.ByDevelopment) {
		return Gears{ByNumber: g.ByNumber, Teeth: g.Teeth}
	}
	return Gears{ByDevelopment: g.ByDevelopment}
}

func gearTurns(list []Gear) (sum int64) {
	for i := range list {
		sum += list[i].Turns
	}
	return sum
}

// Fold sorts gears to the cogs. Recorded gear numbers count from the innermost
// cog, the largest (FIT profile: 1 is innermost); their teeth are the
// cassette's, whatever the device took them for. A development belongs to the
// cog nearest to ring × wheel / development by ratio, or to none.
func (g Gearing) Fold(gears Gears) OnCogs {
	on := OnCogs{Turns: make([]int64, len(g.Cogs)), Work: make([]int64, len(g.Cogs))}
	g.fold(&on, gears, g.places())
	return on
}

// fold adds gears to on, given the places of the cogs.
func (g Gearing) fold(on *OnCogs, gears Gears, places []float64) {
	for _, n := range gears.ByNumber {
		cog := len(g.Cogs) - int(n.Bin)%64
		if cog >= 0 && cog < len(g.Cogs) {
			on.Recorded += n.Turns
		}
		on.add(cog, n)
	}
	for _, d := range gears.ByDevelopment {
		on.add(nearestPlace(places, float64(d.Bin)), d)
	}
}

func (on *OnCogs) add(cog int, g Gear) {
	if cog < 0 || cog >= len(on.Turns) {
		on.Lost, on.LostWork = on.Lost+g.Turns, on.LostWork+g.Work
		return
	}
	on.Turns[cog] += g.Turns
	on.Work[cog] += g.Work
}

// places are where among the bins the development of each cog lies; none where
// the gearing is not known.
func (g Gearing) places() []float64 {
	if g.Ring <= 0 || !(g.Wheel > 0) {
		return nil
	}
	places := make([]float64, len(g.Cogs))
	for i, cog := range g.Cogs {
		places[i] = binsPerE * math.Log(float64(g.Ring)*g.Wheel/float64(cog))
	}
	return places
}

// nearestPlace is the cog whose place is nearest; -1 where none is near enough.
func nearestPlace(places []float64, bin float64) int {
	best, least := -1, noCog*binsPerE
	for i, at := range places {
		if off := math.Abs(at - bin); off < least {
			best, least = i, off
		}
	}
	return best
}

// Sum is what went through all cogs together: turns in thousandths, and J.
func (on *OnCogs) Sum() (turns, work int64) {
	for i := range on.Turns {
		turns, work = turns+on.Turns[i], work+on.Work[i]
	}
	return turns, work
}

// Bend is how far the links of the chain bend in a turn of the crank, at the ring
// and at the cog, relative to 32/21: (1/ring + 1/cog) / (1/32 + 1/21). Wear of
// pins and bushes goes with it (J. F. Archard: wear is proportional to the way slid).
func Bend(ring, cog int) float64 {
	return (1/float64(ring) + 1/float64(cog)) / (1./32 + 1./21)
}

// bend is the weight of a span's turns in the wear of the chain: Bend where the
// cog is known, 1 where it is not.
func (g Gearing) bend(on *OnCogs, turns int64) float64 {
	if g.Ring <= 0 || turns <= 0 {
		return 1
	}
	sum := float64(turns)
	for i, n := range on.Turns {
		sum += float64(n) * (Bend(g.Ring, g.Cogs[i]) - 1)
	}
	return sum / float64(turns)
}

// same reports whether two gearings sort alike.
func (g Gearing) same(o Gearing) bool {
	return g.Ring == o.Ring && g.Wheel == o.Wheel && slices.Equal(g.Cogs, o.Cogs)
}
