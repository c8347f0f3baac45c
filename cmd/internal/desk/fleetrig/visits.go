package fleetrig

import (
	"time"

	"pawl/store"
	"pawl/wear"
)

// every is how many weeks there are between the visits of a bike.
const every = 12

// checks are the jobs that are signed off at each visit.
var checks = []struct{ kind, job string }{
	{"guide-bolts", "check"}, {"ring-bolts", "check"}, {"crank-bolt", "check"}, {"chain", "clean"},
}

// lookedAt are the kinds that are looked at.
var lookedAt = []string{"guide", "frame", "rear-tyre"}

// visitWeek enters what is done to a bike in a week, on Sunday evening.
func (f *fleet) visitWeek(tx *store.Tx, n, week int) error {
	visit := (week + n) / every
	if (week+n)%every != 0 || dice(n, week, 20)%50 == 0 {
		return nil
	}
	at := wear.At(Begin.AddDate(0, 0, 7*week+6).Add(19 * time.Hour))
	for _, do := range []func(*store.Tx, int, wear.Instant) error{f.measure, f.look, f.signOff} {
		if err := do(tx, n, at); err != nil {
			return err
		}
	}
	if visit%3 == 0 {
		if err := f.change(tx, n, "chain", at+60_000); err != nil {
			return err
		}
	}
	if visit%4 == 1 {
		return f.change(tx, n, "rear-pads", at+120_000)
	}
	return nil
}

// measure measures the chain on half of the bikes, the rear pads on a third.
func (f *fleet) measure(tx *store.Tx, n int, at wear.Instant) error {
	b := &f.bikes[n]
	worn := func(kind string, weeks float64) float64 { // of its life, by time on the bike
		from := max(b.since[kind].From, wear.At(Begin))
		return at.DaysSince(from) / 7 / weeks * (0.7 + 0.6*float64(dice(n, 21)%100)/100)
	}
	var readings []wear.Reading
	if n%2 == 0 {
		readings = append(readings, wear.Reading{Part: b.parts["chain"].ID, Of: wear.Elongation, Value: 0.06 + 0.45*worn("chain", 36), Tool: "ruler"})
	}
	if n%3 == 0 {
		left := max(0.6, 3.4-2.2*worn("rear-pads", 48))
		readings = append(readings, wear.Reading{Part: b.parts["rear-pads"].ID, Of: wear.Lining, Value: left, Tool: "caliper"})
	}
	for _, r := range readings {
		r.Bike, r.At = b.id, at
		if _, err := tx.AddReading(r); err != nil {
			return err
		}
	}
	return nil
}

func (f *fleet) look(tx *store.Tx, n int, at wear.Instant) error {
	b := &f.bikes[n]
	for i, kind := range lookedAt {
		word := wear.Good
		switch throw := dice(n, int(at), 22, i) % 300; {
		case throw == 0:
			word = wear.Unsafe
		case throw < 10:
			word = wear.Watch
		}
		_, err := tx.AddLook(wear.Look{Part: b.parts[kind].ID, Bike: b.id, At: at, Word: word, By: "Ada"})
		if err != nil {
			return err
		}
	}
	return nil
}

func (f *fleet) signOff(tx *store.Tx, n int, at wear.Instant) error {
	b := &f.bikes[n]
	for _, c := range checks {
		_, err := tx.AddSignOff(wear.SignOff{Part: b.parts[c.kind].ID, Bike: b.id, At: at, Job: c.job, By: "Ada", Minutes: 4})
		if err != nil {
			return err
		}
	}
	return nil
}
