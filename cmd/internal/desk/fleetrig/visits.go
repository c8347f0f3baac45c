package fleetrig

import (
	"time"

	"pawl/store"
	"pawl/wear"
)

// every is how many weeks there are between the visits of a bike.
const every = 16

// checks are the jobs that are signed off at each visit.
var checks = []struct{ kind, job string }{
	{"guide-bolts", "check"}, {"ring-bolts", "check"}, {"crank-bolt", "check"}, {"chain", "clean"},
	{"rear-wheel", "look"}, {"ring", "look"}, {"idler", "look"}, {"derailleur-pulleys", "look"},
	{"cassette", "look"}, {"cassette", "skip-test"},
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
	for i, kind := range changed[visit%len(changed)] {
		if err := f.change(tx, n, kind, at+wear.Instant(i+1)*60_000); err != nil {
			return err
		}
	}
	return nil
}

// changed is what is changed at one visit after another.
var changed = [][]string{
	{"chain", "rear-pads"}, {"front-pads"}, {"rear-pads", "rear-tyre"}, {"chain", "front-pads"}, {"rear-pads"}, {"front-pads"},
	{"chain", "rear-pads", "rear-tyre"}, {"front-pads"}, {"rear-pads"}, {"chain", "front-pads"}, {"rear-pads", "rear-tyre"}, {"front-pads"},
}

// measure measures the chain on half of the bikes, the pads on a third; on the
// others somebody says that it was done, and no more.
func (f *fleet) measure(tx *store.Tx, n int, at wear.Instant) error {
	for _, m := range []struct {
		kind      string
		each      int     // of how many bikes it is measured on one
		life      float64 // weeks
		new, worn float64
		of        wear.ReadingOf
	}{
		{"chain", 2, 48, 0.06, 0.5, wear.Elongation},
		{"front-pads", 3, 48, 3.4, 1, wear.Lining}, {"rear-pads", 3, 48, 3.4, 1, wear.Lining},
	} {
		p := f.bikes[n].parts[m.kind]
		if n%m.each != 0 {
			if _, err := tx.AddSignOff(wear.SignOff{Part: p.ID, Bike: f.bikes[n].id, At: at, Job: "measure", By: "Ada"}); err != nil {
				return err
			}
			continue
		}
		from := max(f.bikes[n].since[m.kind].From, wear.At(Begin))
		share := at.DaysSince(from) / 7 / m.life * float64(between(70, 115, n, 21)) / 100
		r := wear.Reading{Part: p.ID, Bike: f.bikes[n].id, At: at, Of: m.of, Value: m.new + share*(m.worn-m.new), Tool: "ruler"}
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
