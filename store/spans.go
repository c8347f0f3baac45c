package store

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"pawl/wear"
)

// settle writes down the gears, then cuts the spans of every touched bike where
// its facts now want them, and writes down how they begin, and the newest facts.
func (t *Tx) settle() error {
	if err := t.settleGears(); err != nil {
		return err
	}
	for _, bike := range slices.Sorted(maps.Keys(t.touched)) {
		if err := t.cutSpans(bike); err != nil {
			return fmt.Errorf("spans of bike %x: %w", uint64(bike), err)
		}
		delete(t.touched, bike)
	}
	return errors.Join(t.settleOnsets(), t.settleNewest())
}

// cutSpans makes the bike's spans begin exactly where boundaries says. Where
// nothing changed it only compares keys.
func (t *Tx) cutSpans(bike wear.ID) error {
	want, err := t.boundaries(bike)
	if err != nil {
		return err
	}
	have := t.spanStarts(bike)
	for i := len(have) - 1; i >= 0; i-- {
		if _, keep := slices.BinarySearch(want, have[i]); !keep {
			if err := t.joinSpan(bike, have[i], i > 0); err != nil {
				return err
			}
		}
	}
	end := wear.Never
	for i := len(want) - 1; i >= 0; i-- {
		if _, there := slices.BinarySearch(have, want[i]); !there {
			if err := t.splitSpan(bike, want[i], end); err != nil {
				return err
			}
		}
		end = want[i]
	}
	return nil
}

// spanStarts lists where the bike's spans begin, in order.
func (t *Tx) spanStarts(bike wear.ID) []wear.Instant {
	var starts []wear.Instant
	for k := range t.under(bktSpans, id8(bike)) {
		starts = append(starts, instant(k[8:]))
	}
	return starts
}

// joinSpan takes a span away and gives its sums and gears to the one before, if any.
func (t *Tx) joinSpan(bike wear.ID, from wear.Instant, before bool) error {
	key := idAt(bike, from)
	s, err := unpackSpan(t.bucket(bktSpans).Get(key))
	if err != nil {
		return t.corrupt("spans", key, err)
	}
	if err := t.bucket(bktSpans).Delete(key); err != nil {
		return err
	}
	if err := t.joinGears(key, before); err != nil || !before {
		return err
	}
	return t.adjustSpan(t.spanAt(bike, from), s.sums.Add)
}

// splitSpan begins a span at from, by re-reading only the rides from there to
// end, the beginning of the next one.
func (t *Tx) splitSpan(bike wear.ID, from, end wear.Instant) error {
	sums, err := t.sumRides(bike, from, end)
	if err != nil {
		return err
	}
	key := idAt(bike, from)
	earlier := t.spanAt(bike, from)
	if instant(earlier[8:]) < from && t.bucket(bktSpans).Get(earlier) != nil {
		if err := t.adjustSpan(earlier, func(s wear.Sums) wear.Sums { return s.Sub(sums) }); err != nil {
			return err
		}
	} else {
		earlier = nil
	}
	if err := t.splitGears(stretch{bike, from, end}, earlier); err != nil {
		return err
	}
	return t.adjustSpan(key, func(wear.Sums) wear.Sums { return sums })
}

// sumRides sums the bike's counted rides that start in [from, to).
func (t *Tx) sumRides(bike wear.ID, from, to wear.Instant) (sums wear.Sums, err error) {
	for k, v := range t.from(bktRides, idAt(bike, from), len(id8(bike))) {
		if instant(k[8:]) >= to {
			break
		}
		ride, r := rideFigures(v)
		if r.err != nil {
			return sums, t.corrupt("ride", k, r.err)
		}
		sums[ride.Ground] = sums[ride.Ground].Add(ride.Sum())
	}
	return sums, nil
}

// boundaries are the instants at which the bike's spans begin: Ever, its
// incidents, the ends of every stay on it, and every dated fact of a part while
// it was there. Facts taken back keep theirs, so that taking one back moves no sums.
func (t *Tx) boundaries(bike wear.ID) ([]wear.Instant, error) {
	if t.bucket(bktBikes).Get(id8(bike)) == nil {
		return nil, nil
	}
	stays, err := t.StaysOn(bike)
	if err != nil {
		return nil, err
	}
	at := []wear.Instant{wear.Ever}
	for k := range t.under(bktIncidents, id8(bike)) {
		at = append(at, instant(k[8:]))
	}
	for _, s := range stays {
		at = append(at, s.From)
		if s.To != wear.Never {
			at = append(at, s.To)
		}
		for _, bucket := range [][]byte{bktReadings, bktLooks, bktSignOffs} {
			c := t.bucket(bucket).Cursor()
			for k, _ := c.Seek(idAt(s.Part, s.From)); within(k, s.Part) && instant(k[8:]) < s.To; k, _ = c.Next() {
				at = append(at, instant(k[8:]))
			}
		}
	}
	slices.Sort(at)
	return slices.Compact(at), nil
}
