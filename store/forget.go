package store

import (
	"context"
	"fmt"

	"pawl/wear"
)

// ForgetReport is what forgetting a person came to.
type ForgetReport struct {
	Renamed    []string // bikes whose name named the person, by their new names
	StillNamed []string // what still names the person and is left to the user, with where it is
	Messages   int      // that went with the person
	Entries    int      // that can no longer be taken back, because what was before them named the person
}

// Forget erases a person: what is known of him, all messages to him, whose his
// bikes are, and his name and e-mail address in the names and notes of his bikes
// and in the history. Bikes and wear stay. Facts of other people's making that name
// him stay too, and are listed. The book is written anew without what was erased;
// if that fails nothing has changed.
func (b *Book) Forget(ctx context.Context, person wear.ID, at wear.Instant) (report ForgetReport, err error) {
	err = b.rewrite(ctx, func(t *Tx) error {
		p, err := t.Person(person)
		if err != nil {
			return err
		}
		report, err = t.forget(p, at)
		return err
	})
	return report, err
}

// forgetting is one person's way out of the book.
type forgetting struct {
	*Tx
	person wear.Person
	traits traits
	report ForgetReport
	once   map[string]bool // keys of the names that undo may give back to bikes
}

func (t *Tx) forget(p wear.Person, at wear.Instant) (ForgetReport, error) {
	f := &forgetting{Tx: t, person: p, traits: traitsOf(p), once: map[string]bool{}}
	if err := dateable(personNoun, at); err != nil {
		return f.report, err
	}
	raw, err := codec.Marshal(tomb{at})
	if err != nil {
		return f.report, err
	}
	if err := t.keep(bktTombs, id8(p.ID), raw); err != nil {
		return f.report, err
	}
	for _, step := range []func() error{f.mail, f.history, f.bikes, f.still, f.words} {
		if err := step(); err != nil {
			return f.report, err
		}
	}
	return f.report, nil
}

// mail erases the person and the messages.
func (f *forgetting) mail() error {
	messages, err := f.Messages(f.person.ID)
	if err != nil {
		return err
	}
	f.report.Messages = len(messages)
	for _, m := range messages {
		if err := f.keep(bktOutbox, be64(nil, m.ID), nil); err != nil {
			return err
		}
	}
	return f.keep(bktPeople, id8(f.person.ID), nil)
}

// history erases what entries say of the person: a target that names him, and all
// that was before an entry where a part of it does. A part alone cannot go, as the
// rest would be taken back to what never was.
func (f *forgetting) history() error {
	erased := map[string]bool{}
	for k, v := range f.under(bktBefore, nil) {
		named, err := f.before(v)
		if err != nil {
			return f.corrupt(string(bktBefore), k, err)
		}
		if named {
			erased[string(k)] = true
		}
	}
	var changed []Entry
	for e, err := range f.Entries(false) {
		if err != nil {
			return err
		}
		gone, named := erased[string(be64(nil, e.Seq))], f.traits.name(e.Target)
		if named {
			e.Target = "forgotten"
		}
		if e.Erased = e.Erased || gone; gone && e.Undone == 0 {
			f.report.Entries++
		}
		if gone || named {
			changed = append(changed, e)
		}
	}
	for k := range erased {
		if err := f.bucket(bktBefore).Delete([]byte(k)); err != nil {
			return err
		}
	}
	for _, e := range changed {
		if err := f.putEntry(e); err != nil {
			return err
		}
	}
	return nil
}

// before reports whether what was before an entry names the person; where it does
// not, it gathers the names that bikes had.
func (f *forgetting) before(raw []byte) (named bool, err error) {
	writes, err := images(raw)
	for _, w := range writes {
		if err != nil {
			return false, err
		}
		if named, err = f.image(w); named {
			return true, err
		}
	}
	for _, w := range writes {
		if string(w.bucket) == string(bktBikes) && w.before != nil && err == nil {
			var name string
			name, err = nameOf(bikeNoun, w.before)
			f.once[string(nameKey(bikeNoun, name))] = true
		}
	}
	return false, err
}

// image looks at the bytes, and at the text that they name by number.
func (f *forgetting) image(w image) (named bool, err error) {
	if f.traits.in(w.key) || f.traits.in(w.before) {
		return true, nil
	}
	if w.before == nil {
		return false, nil
	}
	var texts []string
	switch string(w.bucket) {
	case string(bktRides):
		texts, err = f.rideTexts(w.key, w.before)
	case string(bktFiles):
		texts, err = f.fileTexts(w.key, w.before)
	}
	for _, text := range texts {
		named = named || f.traits.in([]byte(text))
	}
	return named, err
}

// bikes takes the person away from his bikes: no entry keeps whose they were.
func (f *forgetting) bikes() error {
	all, err := f.Bikes()
	if err != nil {
		return err
	}
	for _, b := range all {
		if b.Owner != f.person.ID {
			continue
		}
		b.Owner = 0
		switch {
		case f.traits.name(b.Name):
			b.Name, b.Note = f.freeBikeName(), ""
			f.report.Renamed = append(f.report.Renamed, b.Name)
		case f.traits.name(b.Note):
			b.Note = ""
		}
		raw, err := codec.Marshal(b)
		if err != nil {
			return err
		}
		if err := f.keep(bktBikes, id8(b.ID), raw); err != nil {
			return err
		}
	}
	return nil
}

// freeBikeName is a name that no bike has, nor will have by undo.
func (f *forgetting) freeBikeName() string {
	for n := 1; ; n++ {
		name := fmt.Sprintf("%s-%d", bikeNoun, n)
		if key := nameKey(bikeNoun, name); !f.once[string(key)] && f.row(bktNames, key) == nil {
			return name
		}
	}
}

// still lists what names the person yet. All rides and files are read for it, so
// that afterwards words knows which of the shared rows are in use.
func (f *forgetting) still() (err error) {
	clear(f.shared)
	f.report.StillNamed, err = f.stillNamed(f.person, f.traits)
	return err
}

// words erases shared rows that name the person and that no ride or file uses any
// more: what was before entries that used them has gone.
func (f *forgetting) words() error {
	for i, table := range sharedBuckets {
		index := [][]byte{bktDeviceKey, bktWordKey}[i]
		var unused [][2][]byte
		used := f.table(table).byID
		for k, v := range f.under(table, nil) {
			if _, ok := used[sharedNumber(k)]; !ok && f.traits.in(v) {
				unused = append(unused, [2][]byte{clone(k), clone(v)})
			}
		}
		for _, row := range unused {
			if err := f.bucket(table).Delete(row[0]); err != nil {
				return err
			}
			if err := f.bucket(index).Delete(row[1]); err != nil {
				return err
			}
		}
	}
	return nil
}
