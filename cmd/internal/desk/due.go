package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// DueResult is what to do, most urgent first.
type DueResult struct {
	Today    wear.Instant
	Bikes    []wear.Bike
	Findings []wear.Finding
	Homeless []RideState // rides for which no bike is known
	Watched  []Watch     // parts of which the last look says watch
	Held     []Holding   // bikes that are held back
	Setups   []SetupPage // guides of which the parking-lot check is to be done
}

// Holding is a bike that is held back, and the status that says so.
type Holding struct {
	Bike   string
	Status wear.Status
}

// Watch is a part that an eye wants to see again.
type Watch struct {
	Bike, Part string
	Look       wear.Look
}

// DueRequest says what is asked of which bikes.
type DueRequest struct {
	Bikes []string // none = all
	Today string
	Lead  float64                                   // time that parts take to come, in days; NaN = the schedule's
	Only  []wear.Verdict                            // none = all
	Keep  func(ofOne []wear.Finding) []wear.Finding // what of one bike's findings is wanted; nil = all
}

// Due assesses bikes, all where none is named.
func (d *Desk) Due(ctx context.Context, bikes []string, today string) (DueResult, error) {
	return d.DueOf(ctx, DueRequest{Bikes: bikes, Today: today, Lead: math.NaN()})
}

// DueOf assesses what is asked for.
func (d *Desk) DueOf(ctx context.Context, req DueRequest) (res DueResult, err error) {
	schedule := ahead(req.Lead)
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		res = DueResult{}
		if res.Today, err = d.today(req.Today, tx.Zone()); err != nil {
			return err
		}
		if res.Bikes, err = findBikes(tx, req.Bikes); err != nil {
			return err
		}
		judge := func(tx *store.Tx, c wear.Case) (bikeDue, error) { return req.of(tx, c, schedule) }
		findings := make([][]wear.Finding, len(res.Bikes))
		err = eachJudged(ctx, tx, caseWalk{Bikes: res.Bikes, Today: res.Today, Brief: true}, judge, func(i int, b bikeDue) error {
			findings[i] = b.findings
			res.add(b)
			return nil
		})
		if err != nil {
			return err
		}
		res.Findings = slices.Concat(findings...) // a finding is large: growing would copy much
		if len(req.Bikes) == 0 {
			res.Homeless, err = homeless(tx, res.Today)
		}
		return err
	})
	return res, err
}

// bikeDue is what is to be done on one bike.
type bikeDue struct {
	findings []wear.Finding
	watched  []Watch
	held     []Holding
	setups   []SetupPage
}

func (req *DueRequest) of(tx *store.Tx, c wear.Case, schedule *wear.Schedule) (bikeDue, error) {
	due := bikeDue{watched: watched(c)}
	if len(req.Only) > 0 {
		due.findings = wear.AssessOnly(c, schedule, req.Only...)
	} else {
		due.findings = wear.Assess(c, schedule)
	}
	if req.Keep != nil {
		due.findings = req.Keep(due.findings)
	}
	is, s := c.Standing()
	if is == wear.Held {
		due.held = []Holding{{c.Bike.Name, *s}}
	}
	setup, err := setupPage(tx, c)
	if is != wear.Retired && setup.Due() {
		due.setups = []SetupPage{setup}
	}
	return due, err
}

func (res *DueResult) add(b bikeDue) {
	res.Watched = append(res.Watched, b.watched...)
	res.Held = append(res.Held, b.held...)
	res.Setups = append(res.Setups, b.setups...)
}

// watched are the parts of a bike of which the last look says watch.
func watched(c wear.Case) []Watch {
	var list []Watch
	for _, p := range c.Parts {
		if n := len(p.Looks); n > 0 && p.Looks[n-1].Word == wear.Watch {
			list = append(list, Watch{c.Bike.Name, p.Part.Name, p.Looks[n-1]})
		}
	}
	return list
}

func findBikes(tx *store.Tx, names []string) ([]wear.Bike, error) {
	if len(names) == 0 {
		return tx.Bikes()
	}
	var list []wear.Bike
	for _, name := range names {
		b, err := tx.FindBike(name)
		if err != nil {
			return nil, err
		}
		list = append(list, b)
	}
	return list, nil
}

// homeless are the rides up to today for which no bike is known.
func homeless(tx *store.Tx, today wear.Instant) ([]RideState, error) {
	nobody := wear.ID(0)
	var list []RideState
	filter := store.RideFilter{Bike: &nobody, From: wear.Ever, To: today + 1}
	for r, err := range rideStates(tx, filter, nil) {
		if err != nil {
			return nil, err
		}
		if r.Ride.State == wear.Counted {
			list = append(list, r)
		}
	}
	return list, nil
}

// WhyResult is how one figure came about, down to the rides.
type WhyResult struct {
	Explanation wear.Explanation
	Rides       []RideState // that count since the job's anchor
	Bikes       map[wear.ID]string
	Today       wear.Instant
}

// Why explains a job of a part; the part's most urgent one where none is named.
func (d *Desk) Why(ctx context.Context, f Fact, job, today string) (res WhyResult, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		if res.Today, err = d.today(today, tx.Zone()); err != nil {
			return err
		}
		b, err := tx.FindBike(f.Bike)
		if err != nil {
			return err
		}
		p, err := findPart(tx, b, f.Part, res.Today)
		if err != nil {
			return err
		}
		c, err := tx.Case(b.ID, res.Today)
		if err != nil {
			return err
		}
		if job, err = jobOf(c, p, job); err != nil {
			return err
		}
		if res.Explanation, err = wear.Explain(c, wear.Default(), p.ID, job); err != nil {
			return err
		}
		if res.Bikes, err = bikeNames(tx); err != nil {
			return err
		}
		res.Rides, err = ridesSince(tx, p, res)
		return err
	})
	return res, err
}

// jobOf is the named job of a part, or its most urgent one.
func jobOf(c wear.Case, p wear.Part, name string) (string, error) {
	kind, _ := wear.Default().Kind(p.Kind)
	var names []string
	for _, j := range kind.Jobs {
		if j.Name == name {
			return name, nil
		}
		names = append(names, j.Name)
	}
	if name != "" {
		return "", mistake("jobs of "+p.Kind+": "+strings.Join(names, ", "), "job %q: no such job of %s", name, p.Kind)
	}
	for _, f := range wear.Assess(c, wear.Default()) {
		if f.PartID == p.ID {
			return f.Job, nil
		}
	}
	return "", refusal("pawl part show "+p.Name, "part %q: not on bike %q on that day", p.Name, c.Bike.Name)
}

// ridesSince are the counted rides of the part since the anchor, wherever it was.
func ridesSince(tx *store.Tx, p wear.Part, res WhyResult) ([]RideState, error) {
	stays, err := tx.WornOn(p.ID)
	if err != nil {
		return nil, err
	}
	var list []RideState
	for _, s := range stays {
		from, to := max(s.From, res.Explanation.Anchor.At), min(s.To, res.Today+1)
		if from >= to {
			continue
		}
		for r, err := range rideStates(tx, store.RideFilter{Bike: &s.Host, From: from, To: to}, res.Bikes) {
			if err != nil {
				return nil, err
			}
			if r.Ride.State == wear.Counted {
				list = append(list, r)
			}
		}
	}
	return list, nil
}

// Entry is one line of the history.
type Entry = store.Entry

// AuditReport is what an audit went through and what it found wrong.
type AuditReport = store.AuditReport

// Audit rebuilds every derived figure from the facts and compares.
func (d *Desk) Audit(ctx context.Context) (store.AuditReport, error) {
	return d.Book.Audit(ctx)
}

// Repair builds everything that is derived anew from the facts, and audits the book.
func (d *Desk) Repair(ctx context.Context) (r store.AuditReport, err error) {
	if err = d.Book.Repair(ctx); err != nil {
		return r, err
	}
	return d.Book.Audit(ctx)
}

// ErrEmpty is returned when there is no book yet.
var ErrEmpty = store.ErrNoBook

// Empty reports whether err says that there is no book yet.
func Empty(err error) bool { return errors.Is(err, ErrEmpty) }

// BookFormat is the version of the books that this program writes.
func BookFormat() int { return store.Format() }

// Kinds are the kinds of parts of that name in the schedule, all where none is named.
func Kinds(names []string) ([]wear.Kind, error) {
	if len(names) == 0 {
		return wear.Default().Kinds(), nil
	}
	var kinds []wear.Kind
	for _, name := range names {
		k, ok := wear.Default().Kind(name)
		if !ok {
			return nil, unknownKind(name)
		}
		kinds = append(kinds, k)
	}
	return kinds, nil
}

// History lists the entries of the book, newest first; 0 = all, else at most n.
func (d *Desk) History(ctx context.Context, n int) (list []store.Entry, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		for e, err := range tx.Entries(true) {
			if err != nil {
				return fmt.Errorf("history: %w", err)
			}
			if n > 0 && len(list) == n {
				break
			}
			list = append(list, e)
		}
		return nil
	})
	return list, err
}
