package wear

import (
	"errors"
	"fmt"
	"math"
	"strconv"
)

// Ridden are developments that were ridden with one ring and cassette.
type Ridden struct {
	Gears []Gear // by development
	Ring  int
	Cogs  []int
}

const (
	wheelSteps  = 120   // either way from the figure given: 6 %
	wheelStep   = 5e-4  // of the figure: the grid on which it is sought
	wheelTurns  = 2_000 // steady turns that are needed: half an hour (common practice, no published source)
	wheelCogs   = 3     // cogs that must have been ridden: one or two fit many a wheel
	wheelShare  = 0.03  // of the turns: a cog with less says nothing
	wheelRival  = 0.03  // another figure so far away …
	wheelBetter = 0.85  // … must fit worse than that: its error over the best one's
)

// FindWheel finds the rolling circumference in m at which developments come
// closest to the cogs, within 6 % of the figure given. It errs where the rides
// do not tell: too little, too few cogs, or where two figures fit alike.
func FindWheel(ridden []Ridden, near float64) (wheel float64, err error) {
	var turns int64
	for _, r := range ridden {
		if r.Ring > 0 && len(r.Cogs) > 0 {
			turns += gearTurns(r.Gears)
		}
	}
	if n := Turns.SI(turns); n < wheelTurns {
		return 0, fmt.Errorf("%s turns of steady pedalling with known ring and cassette: %s are needed", Thousands(math.Round(n)), Thousands(wheelTurns))
	}
	var miss [2*wheelSteps + 1]float64
	best := 0
	for i := range miss {
		miss[i] = missAt(ridden, near*(1+float64(i-wheelSteps)*wheelStep))
		if miss[i] < miss[best] {
			best = i
		}
	}
	if best == 0 || best == len(miss)-1 {
		return 0, fmt.Errorf("no circumference within 6 %% of %.0f mm fits: look at the teeth of ring and cassette", 1000*near)
	}
	wheel = near * (1 + (float64(best-wheelSteps)+vertex(miss[best-1], miss[best], miss[best+1]))*wheelStep)
	if cogsRidden(ridden, wheel) < wheelCogs {
		return 0, errors.New("too few cogs were ridden to tell one wheel from another")
	}
	for i, m := range miss {
		if far := math.Abs(float64(i-best)) * wheelStep; far > wheelRival && miss[best] > wheelBetter*m {
			return 0, fmt.Errorf("%.0f and %.0f mm fit the rides alike: give the circumference in mm", 1000*wheel, 1000*near*(1+float64(i-wheelSteps)*wheelStep))
		}
	}
	return wheel, nil
}

// missAt is the mean square by which developments miss the nearest cog, in bins,
// each no more than noCog.
func missAt(ridden []Ridden, wheel float64) float64 {
	var sum, turns float64
	for _, r := range ridden {
		places := Gearing{r.Ring, r.Cogs, wheel}.places()
		for _, g := range r.Gears {
			off := noCog * binsPerE
			for _, at := range places {
				off = min(off, math.Abs(at-float64(g.Bin)))
			}
			sum += float64(g.Turns) * off * off
			turns += float64(g.Turns)
		}
	}
	return sum / turns
}

// vertex is where between -1 and 1 the parabola through three neighbours of a
// grid has its least value.
func vertex(before, at, after float64) float64 {
	bent := before - 2*at + after
	if bent <= 0 {
		return 0
	}
	return max(-1, min(1, (before-after)/(2*bent)))
}

// cogsRidden is how many cogs of one cassette have a share of the turns worth
// the name.
func cogsRidden(ridden []Ridden, wheel float64) (most int) {
	for _, r := range ridden {
		g := Gearing{r.Ring, r.Cogs, wheel}
		on := g.Fold(Gears{ByDevelopment: r.Gears})
		all, _ := on.Sum()
		n := 0
		for _, t := range on.Turns {
			if float64(t) > wheelShare*float64(all) {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

// WheelAt is the rolling circumference in m of a bike's rear wheel on a day: as
// the newest of its settings in force then says, else as the bike does; 0 = not
// given. Settings come oldest first.
func (b Bike) WheelAt(settings []Setting, at Instant) float64 {
	wheel := b.Wheel
	for _, s := range settings {
		if s.Void || s.Name != SettingWheel || s.Scope != ForBike || s.Of != b.ID || s.At > at {
			continue
		}
		if v, err := strconv.ParseFloat(s.Text, 64); err == nil && v > 0 {
			wheel = v
		}
	}
	return wheel
}
