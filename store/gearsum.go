package store

import (
	"cmp"
	"slices"

	"pawl/wear"
)

// gearSum adds up where in the gears rides were ridden.
type gearSum struct{ byDevelopment, byNumber map[int16]wear.Gear }

func newGearSum() gearSum { return gearSum{map[int16]wear.Gear{}, map[int16]wear.Gear{}} }

// add adds gears n times: 1, or -1 to take them off.
func (s gearSum) add(g wear.Gears, n int64) {
	addGears(s.byDevelopment, g.ByDevelopment, n)
	addGears(s.byNumber, g.ByNumber, n)
}

func addGears(sum map[int16]wear.Gear, list []wear.Gear, n int64) {
	for _, g := range list {
		have := sum[g.Bin]
		sum[g.Bin] = wear.Gear{Bin: g.Bin, Turns: have.Turns + n*g.Turns, Work: have.Work + n*g.Work}
	}
}

// gears lists the sum by bin, without those that nothing is left of.
func (s gearSum) gears() wear.Gears {
	return wear.Gears{ByDevelopment: gearList(s.byDevelopment), ByNumber: gearList(s.byNumber)}
}

func gearList(sum map[int16]wear.Gear) []wear.Gear {
	var list []wear.Gear
	for _, g := range sum {
		if g.Turns != 0 || g.Work != 0 {
			list = append(list, g)
		}
	}
	slices.SortFunc(list, func(a, b wear.Gear) int { return cmp.Compare(a.Bin, b.Bin) })
	return list
}

// followGears notes what the gears of a ride add to those of its bike, n = 1, or
// no longer add, n = -1. Settle writes it down.
func (t *Tx) followGears(key, ride, gears []byte, n int64) error {
	bike := idOf(key)
	if bike == 0 || ride == nil || gears == nil {
		return nil
	}
	if _, there := t.gearsDue[bike]; !there {
		t.gearsDue[bike] = newGearSum()
	}
	return addRideGears(t.gearsDue[bike], ride, gears, n)
}

// addRideGears adds the gears of a ride if it counts.
func addRideGears(sum gearSum, ride, gears []byte, n int64) error {
	r, rest := rideFigures(ride)
	if rest.err != nil || r.State != wear.Counted {
		return rest.err
	}
	g, err := unpackGears(gears)
	sum.add(g, n)
	return err
}

// settleGears writes down what the gears of bikes have become.
func (t *Tx) settleGears() error {
	for bike, sum := range t.gearsDue {
		g, err := t.bikeGears(bike)
		if err != nil {
			return err
		}
		sum.add(g, 1)
		if err := putOrDelete(t.bucket(bktBikeGears), id8(bike), packGears(sum.gears())); err != nil {
			return err
		}
		delete(t.gearsDue, bike)
	}
	return nil
}

func (t *Tx) bikeGears(bike wear.ID) (wear.Gears, error) {
	g, err := unpackGears(t.bucket(bktBikeGears).Get(id8(bike)))
	if err != nil {
		err = t.corrupt("gears.bike", id8(bike), err)
	}
	return g, err
}

// sumGears adds the gears of a bike's counted rides from an instant on, n times.
func (t *Tx) sumGears(sum gearSum, bike wear.ID, from wear.Instant, n int64) error {
	c := t.bucket(bktGears).Cursor()
	for k, v := c.Seek(idAt(bike, from)); within(k, bike); k, v = c.Next() {
		ride := t.bucket(bktRides).Get(k)
		if ride == nil {
			continue // the audit tells
		}
		if err := addRideGears(sum, ride, v, n); err != nil {
			return t.corrupt("gears", k, err)
		}
	}
	return nil
}

// gearsUpTo is where in the gears a bike was ridden up to today: all of it, less
// the rides that start later.
func (t *Tx) gearsUpTo(bike wear.ID, today wear.Instant) (wear.Gears, error) {
	sum := newGearSum()
	if t.bucket(bktBikeGears) == nil { // an older book
		if err := t.sumGears(sum, bike, wear.Ever, 1); err != nil {
			return wear.Gears{}, err
		}
	} else {
		g, err := t.bikeGears(bike)
		if err != nil {
			return g, err
		}
		sum.add(g, 1)
	}
	if today < wear.Never {
		if err := t.sumGears(sum, bike, today+1, -1); err != nil {
			return wear.Gears{}, err
		}
	}
	return sum.gears(), nil
}
