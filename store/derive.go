package store

import (
	"cmp"
	"fmt"
	"slices"

	"pawl/wear"
)

// emit takes one row of what is derived. Key and value are its own.
type emit func(bucket, key, value []byte) error

// derive computes everything that is derived, from the facts alone.
func (t *Tx) derive(out emit) error {
	t.lastOn, t.deriving = recent{}, map[wear.ID][]wear.Stay{}
	defer func() { t.lastOn, t.deriving = recent{}, nil }()
	steps := []func(emit) error{t.deriveNames, t.deriveShared, t.deriveStays, t.deriveRides, t.deriveSensors, t.derivePeople, t.deriveNewest}
	for _, step := range steps {
		if err := step(out); err != nil {
			return err
		}
	}
	return nil
}

func (t *Tx) deriveNames(out emit) error {
	for _, set := range []struct {
		bucket []byte
		noun   string
	}{{bktBikes, bikeNoun}, {bktParts, partNoun}} {
		err := t.bucket(set.bucket).ForEach(func(k, v []byte) error {
			name, err := nameOf(set.noun, v)
			if err != nil {
				return t.corrupt(string(set.bucket), k, err)
			}
			return out(bktNames, nameKey(set.noun, name), k)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func (t *Tx) deriveShared(out emit) error {
	for i, table := range sharedBuckets {
		index := [][]byte{bktDeviceKey, bktWordKey}[i]
		err := t.bucket(table).ForEach(func(k, v []byte) error { return out(index, v, k) })
		if err != nil {
			return err
		}
	}
	return nil
}

// deriveStays also gathers the stays of wheels, which the spans depend on.
func (t *Tx) deriveStays(out emit) error {
	defer t.sortDeriving()
	return t.bucket(bktStays).ForEach(func(k, v []byte) error {
		s, err := decode[wear.Stay](t, bktStays, k, v)
		if err != nil {
			return err
		}
		if p, err := t.Part(s.Part); err == nil && wear.Carries(p.Kind) {
			t.deriving[s.Part] = append(t.deriving[s.Part], s)
		}
		key, value := staysPartRow(s)
		return out(bktStaysPart, key, value)
	})
}

// sortDeriving puts the stays of each wheel, which came host by host, in order of time.
func (t *Tx) sortDeriving() {
	for _, stays := range t.deriving {
		slices.SortFunc(stays, func(a, b wear.Stay) int { return cmp.Compare(a.From, b.From) })
	}
}

// deriveRides goes through the rides bike by bike.
func (t *Tx) deriveRides(out emit) error {
	err := t.bucket(bktRides).ForEach(func(k, v []byte) error {
		id, err := rideIDOf(k, v)
		if err != nil {
			return t.corrupt("ride", k, err)
		}
		if err := out(bktRideIDs, id[:], k[:14]); err != nil {
			return err
		}
		return out(bktRideTimes, k[8:20], k[:8])
	})
	if err != nil {
		return err
	}
	return t.bucket(bktBikes).ForEach(func(k, _ []byte) error {
		if err := t.deriveGears(idOf(k), out); err != nil {
			return err
		}
		return t.deriveSums(idOf(k), out)
	})
}

// deriveGears sums the gears of a bike's rides.
func (t *Tx) deriveGears(bike wear.ID, out emit) error {
	sum := newGearSum()
	if err := t.sumGears(sum, stretch{bike, wear.Ever, wear.Never}, 1, all); err != nil {
		return err
	}
	if packed := packGears(sum.gears()); packed != nil {
		return out(bktBikeGears, id8(bike), packed)
	}
	return nil
}

// deriveSums sums a bike's rides by span and by week.
func (t *Tx) deriveSums(bike wear.ID, out emit) error {
	starts, err := t.boundaries(bike)
	if err != nil {
		return err
	}
	spans := make([]wear.Sums, len(starts))
	weeks := map[uint16]wear.Sums{}
	c := t.bucket(bktRides).Cursor()
	for k, v := c.Seek(id8(bike)); within(k, bike); k, v = c.Next() {
		ride, r := rideFigures(v)
		if r.err != nil {
			return t.corrupt("ride", k, r.err)
		}
		if ride.State != wear.Counted {
			continue
		}
		start := instant(k[8:])
		i, exact := slices.BinarySearch(starts, start)
		if !exact {
			i--
		}
		spans[i][ride.Ground] = spans[i][ride.Ground].Add(ride.Sum())
		week := weeks[t.week(start)]
		week[ride.Ground] = week[ride.Ground].Add(ride.Sum())
		weeks[t.week(start)] = week
	}
	if err := t.deriveSpanGears(bike, starts, out); err != nil {
		return err
	}
	for i, from := range starts {
		span := spanRow{sums: spans[i], early: t.format() < onsetFormat}
		end := wear.Never
		if i+1 < len(starts) {
			end = starts[i+1]
		}
		if span.Onset, err = t.onset(bike, from, end); err != nil {
			return err
		}
		if err := out(bktSpans, idAt(bike, from), packSpan(span)); err != nil {
			return err
		}
	}
	for week, sums := range weeks {
		if err := out(bktWeeks, weekKey(bike, week), packSums(sums)); err != nil {
			return err
		}
	}
	return nil
}

// Repair rewrites everything that is derived from the facts.
func (t *Tx) Repair() error {
	t.wrote = true
	clear(t.touched)
	clear(t.gearsDue)
	clear(t.onsetsDue)
	clear(t.newestDue)
	for _, name := range derivedBuckets {
		if t.bucket(name) != nil {
			if err := t.bolt.DeleteBucket(name); err != nil {
				return fmt.Errorf("bucket %q: %w", name, err)
			}
		}
		if _, err := t.bolt.CreateBucket(name); err != nil {
			return fmt.Errorf("bucket %q: %w", name, err)
		}
	}
	clear(t.shared)
	return t.derive(func(bucket, key, value []byte) error {
		return t.bucket(bucket).Put(clone(key), clone(value))
	})
}
