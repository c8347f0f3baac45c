package store

import (
	"bytes"
	"context"
	"fmt"
	"slices"

	"pawl/wear"
)

// AuditReport is what an audit went through and what it found wrong.
type AuditReport struct {
	Bikes, Parts, Rides, Files, Entries int
	Originals                           int      // read back and checked
	Problems                            []string // none = all is well
	More                                int      // problems beyond those listed
}

// Clean reports whether nothing is wrong.
func (r *AuditReport) Clean() bool { return len(r.Problems) == 0 }

// maxProblems is how many an audit lists.
const maxProblems = 100

func (r *AuditReport) problem(format string, args ...any) {
	if len(r.Problems) == maxProblems {
		r.More++
		return
	}
	r.Problems = append(r.Problems, fmt.Sprintf(format, args...))
}

// Audit reads the whole book: it rebuilds everything derived from the facts and
// compares, decodes every fact, reads every original back, and checks the pages
// of the file. What is wrong is in the report; the error says that the audit
// could not be done. It changes nothing.
func (b *Book) Audit(ctx context.Context) (AuditReport, error) {
	var report AuditReport
	err := b.View(ctx, func(t *Tx) error {
		for _, check := range []func(*AuditReport) error{
			t.checkRows, t.checkStays, t.checkFacts, t.checkPeople, t.checkOutbox, t.checkRides, t.checkFiles, t.checkPages,
		} {
			if err := check(&report); err != nil {
				return err
			}
			if err := ctx.Err(); err != nil {
				return err
			}
		}
		return nil
	})
	return report, err
}

// Repair rewrites everything that is derived from the facts; no fact changes.
func (b *Book) Repair(ctx context.Context) error {
	return b.Update(ctx, (*Tx).Repair)
}

// checkRows compares what is derived: the same number of rows, and every row
// that the facts give is there.
func (t *Tx) checkRows(r *AuditReport) error {
	wanted := map[string]int{}
	err := t.derive(func(bucket, key, value []byte) error {
		wanted[string(bucket)]++
		if t.bucket(bucket) == nil {
			return nil // an older book
		}
		if have := t.bucket(bucket).Get(key); !bytes.Equal(have, value) {
			r.problem("%s %x: is %x, the facts say %x", bucket, key, have, value)
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, name := range derivedBuckets {
		if have := t.rows(name); t.bucket(name) != nil && have != wanted[string(name)] {
			r.problem("%s: %d rows, the facts say %d", name, have, wanted[string(name)])
		}
	}
	r.Bikes, r.Parts, r.Entries = t.rows(bktBikes), t.rows(bktParts), t.rows(bktEntries)
	return nil
}

// rows counts the rows of a bucket.
func (t *Tx) rows(bucket []byte) int {
	n := 0
	for range t.under(bucket, nil) {
		n++
	}
	return n
}

// checkStays looks for parts in two places and two parts in one.
func (t *Tx) checkStays(r *AuditReport) error {
	stays, err := list[wear.Stay](t, bktStays, nil)
	if err != nil {
		return err
	}
	for _, s := range stays {
		if err := t.fits(s, &s); err != nil {
			r.problem("stay: %v", err)
		}
	}
	return nil
}

// checkFacts decodes all dated facts and settings.
func (t *Tx) checkFacts(r *AuditReport) error {
	for _, check := range []func(*AuditReport) error{
		checkDated(t, readings), checkDated(t, looks), checkDated(t, signOffs),
		checkDated(t, incidents), checkDated(t, statuses), checkDated(t, odometers), checkDated(t, setups), checkDated(t, visits),
		checkDated(t, turnRounds), t.checkStock,
		t.checkSettings,
	} {
		if err := check(r); err != nil {
			return err
		}
	}
	return nil
}

// checkStock decodes what was said of stock.
func (t *Tx) checkStock(*AuditReport) error {
	_, err := t.Stock()
	return err
}

// checkDated decodes all facts of a sort and finds their parts and bikes.
func checkDated[T any](t *Tx, d dated[T]) func(*AuditReport) error {
	return func(r *AuditReport) error {
		for k, v := range t.under(d.bucket, nil) {
			fact, err := decode[T](t, d.bucket, k, v)
			if err != nil {
				return err
			}
			h := d.head(&fact)
			if !bytes.Equal(k, datedKey(*h.of, *h.at, *h.id)) {
				r.problem("%s %x: is kept under another owner or day", d.noun, k)
			}
			if err := t.owns(h); err != nil {
				r.problem("%s %x: %v", d.noun, k, err)
			}
		}
		return nil
	}
}

// checkSettings decodes all settings and finds what they are for.
func (t *Tx) checkSettings(r *AuditReport) error {
	for k, v := range t.under(bktSettings, nil) {
		s, err := decode[wear.Setting](t, bktSettings, k, v)
		if err != nil {
			return err
		}
		if !bytes.Equal(k, settingKey(s)) {
			r.problem("setting %x: is kept under another scope or day", k)
		}
		if err := t.scoped(s); err != nil {
			r.problem("%v", err)
		}
	}
	return nil
}

// checkRides decodes all rides and their gears.
func (t *Tx) checkRides(r *AuditReport) error {
	err := t.bucket(bktRides).ForEach(func(k, v []byte) error {
		ride, err := t.unpackRide(k, v)
		if err != nil {
			return err
		}
		r.Rides++
		if err := t.sound(ride); err != nil {
			r.problem("%v", err)
		}
		if ride.File != (wear.Hash{}) && t.bucket(bktFiles).Get(ride.File[:]) == nil {
			r.problem("ride %s: its file %s is not in the book", ride.ID, ride.File)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return t.bucket(bktGears).ForEach(func(k, v []byte) error {
		if _, err := unpackGears(v); err != nil {
			return t.corrupt("gears", k, err)
		}
		if t.bucket(bktRides).Get(k) == nil {
			r.problem("gears %x: no such ride", k)
		}
		return nil
	})
}

// checkFiles reads every original back, and finds the rides and the folder of
// every file.
func (t *Tx) checkFiles(r *AuditReport) error {
	return t.bucket(bktFiles).ForEach(func(k, v []byte) error {
		row, err := decode[fileRow](t, bktFiles, k, v)
		if err != nil {
			return err
		}
		r.Files++
		for _, id := range row.Rides {
			if t.bucket(bktRideIDs).Get(id[:]) == nil {
				r.problem("file %q: its ride %s is not in the book", row.Name, id)
			}
		}
		if _, err := t.wordOf(row.LayIn); err != nil {
			r.problem("file %q: its folder: %v", row.Name, err)
		}
		if row.Place.Pack == 0 {
			return nil
		}
		if _, err := t.packs.read(wear.Hash(k), row.Place); err != nil {
			r.problem("original %q: %v", row.Name, err)
			return nil
		}
		r.Originals++
		return nil
	})
}

// checkPages checks the file's pages. It comes last: what garbles a page stops
// the checks before it, which can be stopped.
func (t *Tx) checkPages(r *AuditReport) error {
	if err := t.touch(); err != nil {
		return err
	}
	var all []string
	for err := range t.bolt.Check() {
		all = append(all, err.Error())
	}
	slices.Sort(all)
	for _, problem := range all {
		r.problem("page: %s", problem)
	}
	return nil
}
