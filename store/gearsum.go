package store

import (
	"cmp"
	"slices"

	"pawl/wear"
)

// gearSum adds up where in the gears rides were ridden.
type gearSum struct{ byDevelopment, byNumber, teeth map[int16]wear.Gear }

func newGearSum() gearSum {
	return gearSum{map[int16]wear.Gear{}, map[int16]wear.Gear{}, map[int16]wear.Gear{}}
}

// add adds gears n times: 1, or -1 to take them off.
func (s gearSum) add(g wear.Gears, n int64) {
	addGears(s.byDevelopment, g.ByDevelopment, n)
	addGears(s.byNumber, g.ByNumber, n)
	addGears(s.teeth, g.Teeth, n)
}

func addGears(sum map[int16]wear.Gear, list []wear.Gear, n int64) {
	for _, g := range list {
		have := sum[g.Bin]
		sum[g.Bin] = wear.Gear{Bin: g.Bin, Turns: have.Turns + n*g.Turns, Work: have.Work + n*g.Work}
	}
}

// gears lists the sum by bin, without those that nothing is left of.
func (s gearSum) gears() wear.Gears {
	return wear.Gears{ByDevelopment: gearList(s.byDevelopment), ByNumber: gearList(s.byNumber), Teeth: gearList(s.teeth)}
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

// followGears notes what the gears of a ride add to those of its bike and of its
// span, n = 1, or no longer add, n = -1. Settle writes it down.
func (t *Tx) followGears(key, ride, gears []byte, n int64) error {
	bike := idOf(key)
	if bike == 0 || ride == nil || gears == nil {
		return nil
	}
	if err := addRideGears(t.gearsOwed(id8(bike)), ride, gears, n, all); err != nil {
		return err
	}
	return addRideGears(t.gearsOwed(t.spanAt(bike, instant(key[8:]))), ride, gears, n, wear.Gears.Told)
}

// gearsOwed is what is to be added to the row of a bike or of a span.
func (t *Tx) gearsOwed(key []byte) gearSum {
	if _, there := t.gearsDue[string(key)]; !there {
		t.gearsDue[string(key)] = newGearSum()
	}
	return t.gearsDue[string(key)]
}

// all are all gears of a ride: those of its bike. Those of its span are the ones
// that are believed.
func all(g wear.Gears) wear.Gears { return g }

// addRideGears adds the gears of a ride if it counts.
func addRideGears(sum gearSum, ride, gears []byte, n int64, of func(wear.Gears) wear.Gears) error {
	r, rest := rideFigures(ride)
	if rest.err != nil || r.State != wear.Counted {
		return rest.err
	}
	g, err := unpackGears(gears)
	sum.add(of(g), n)
	return err
}

// settleGears writes down what the gears of bikes and spans have become.
func (t *Tx) settleGears() error {
	for key, sum := range t.gearsDue {
		if err := t.addGearRow([]byte(key), sum); err != nil {
			return err
		}
		delete(t.gearsDue, key)
	}
	return nil
}

// gearBucket is where the gears of a bike or of a span are, by the length of
// their key.
func gearBucket(key []byte) []byte {
	if len(key) == len(id8(0)) {
		return bktBikeGears
	}
	return bktSpanGears
}

// addGearRow adds to the row of a bike or of a span. One without gears has no row.
func (t *Tx) addGearRow(key []byte, sum gearSum) error {
	g, err := t.gearRow(key)
	if err != nil {
		return err
	}
	sum.add(g, 1)
	return putOrDelete(t.bucket(gearBucket(key)), key, packGears(sum.gears()))
}

func (t *Tx) gearRow(key []byte) (wear.Gears, error) {
	bucket := gearBucket(key)
	g, err := unpackGears(t.bucket(bucket).Get(key))
	if err != nil {
		err = t.corrupt(string(bucket), key, err)
	}
	return g, err
}

// sumGears adds the gears of a bike's counted rides that start in [from, to), n times.
func (t *Tx) sumGears(sum gearSum, s stretch, n int64, of func(wear.Gears) wear.Gears) error {
	c := t.bucket(bktGears).Cursor()
	for k, v := c.Seek(idAt(s.bike, s.from)); within(k, s.bike) && instant(k[8:]) < s.to; k, v = c.Next() {
		ride := t.bucket(bktRides).Get(k)
		if ride == nil {
			continue // the audit tells
		}
		if err := addRideGears(sum, ride, v, n, of); err != nil {
			return t.corrupt("gears", k, err)
		}
	}
	return nil
}

// stretch is a time of a bike: [from, to).
type stretch struct {
	bike     wear.ID
	from, to wear.Instant
}

// BikeGears is where in the gears a bike was ridden up to today, recorded and
// inferred: all of it, less the rides that start later.
func (t *Tx) BikeGears(bike wear.ID, today wear.Instant) (wear.Gears, error) {
	sum := newGearSum()
	if err := t.settle(); err != nil {
		return wear.Gears{}, err
	}
	if t.bucket(bktBikeGears) == nil { // an older book
		err := t.sumGears(sum, stretch{bike, wear.Ever, wear.Never}, 1, all)
		if err != nil {
			return wear.Gears{}, err
		}
	} else {
		g, err := t.gearRow(id8(bike))
		if err != nil {
			return g, err
		}
		sum.add(g, 1)
	}
	if today < wear.Never {
		if err := t.sumGears(sum, stretch{bike, today + 1, wear.Never}, -1, all); err != nil {
			return wear.Gears{}, err
		}
	}
	return sum.gears(), nil
}
