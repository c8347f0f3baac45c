package desk

import (
	"context"
	"slices"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// FleetFilter says which bikes of a fleet are asked about; what is empty asks for all.
type FleetFilter struct {
	Hour                int64 // hundredths that an hour at the stand costs; 0 = work is not counted in money
	Depots, Tags, Kinds []string
	Verdicts            []wear.Verdict // the worst verdict of a bike, held bikes as a stop
	Everyone            bool           // bikes that are not hired out too
}

// takes reports whether a bike is asked about, as far as the bike itself tells.
func (f *FleetFilter) takes(b wear.Bike) bool {
	if !f.Everyone && !b.Fleet {
		return false
	}
	depot := len(f.Depots) == 0 || slices.ContainsFunc(f.Depots, b.At)
	return depot && (len(f.Tags) == 0 || slices.ContainsFunc(f.Tags, func(tag string) bool { return b.Tagged(tag) }))
}

// judged reports whether a bike's verdict is one that is asked for. Where only
// some kinds of parts are asked about, what else holds the bike does not count.
func (f *FleetFilter) judged(b *wear.FleetBike) bool {
	v := b.Worst
	if b.Hold.Held && len(f.Kinds) == 0 {
		v = wear.Stop
	}
	return len(f.Verdicts) == 0 || slices.Contains(f.Verdicts, v)
}

// check refuses words that no bike could answer to.
func (f *FleetFilter) check(tx *store.Tx) ([]wear.Bike, error) {
	if _, err := Kinds(f.Kinds); err != nil {
		return nil, err
	}
	bikes, err := tx.Bikes()
	if err != nil {
		return nil, err
	}
	if !f.Everyone && !slices.ContainsFunc(bikes, func(b wear.Bike) bool { return b.Fleet }) {
		return nil, refusal("pawl bike change BIKE --fleet makes one of a bike; --all shows the others too",
			"no bike of the book is hired out")
	}
	if u := unmetBy(bikes, f.Depots, f.Tags); u != nil {
		return nil, mistake(u.tip, "%s %q: no bike has it", u.noun, u.word)
	}
	return slices.DeleteFunc(bikes, func(b wear.Bike) bool { return !f.takes(b) }), nil
}

// FleetResult is a fleet as its manager sees it in the morning.
type FleetResult struct {
	Today  wear.Instant
	Since  wear.Instant // what costs are counted from
	Depots []wear.Depot
	All    wear.Depot
	Bikes  []wear.FleetBike // sorted as asked
}

// Fleet says how the bikes of a fleet stand, depot by depot.
func (d *Desk) Fleet(ctx context.Context, f FleetFilter, by wear.FleetOrder, today string) (res FleetResult, err error) {
	if !slices.Contains(wear.FleetOrders, by) {
		return res, mistake("one of "+words(wear.FleetOrders), "--sort %q: not an order", plainText(string(by)))
	}
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		walk, err := d.fleetWalk(tx, f, today)
		if err != nil {
			return err
		}
		cost, err := d.yearOfCosts(tx, today)
		if err != nil {
			return err
		}
		res = FleetResult{Today: walk.Today, Since: cost.From}
		return eachJudged(ctx, tx, walk, func(tx *store.Tx, c wear.Case) (wear.FleetBike, error) {
			return fleetBike(tx, c, f.Kinds, cost)
		}, func(_ int, b wear.FleetBike) error {
			if f.judged(&b) {
				res.Bikes = append(res.Bikes, b)
			}
			return nil
		})
	})
	if err != nil {
		return res, err
	}
	res.Depots, res.All = wear.Depots(res.Bikes)
	res.Bikes = slices.DeleteFunc(res.Bikes, func(b wear.FleetBike) bool { return b.Standing == wear.Retired })
	wear.SortFleet(res.Bikes, by, f.Hour)
	return res, nil
}

// fleetWalk is a walk through the bikes asked about.
func (d *Desk) fleetWalk(tx *store.Tx, f FleetFilter, today string) (w caseWalk, err error) {
	if w.Today, err = d.today(today, tx.Zone()); err != nil {
		return w, err
	}
	w.Bikes, err = f.check(tx)
	return w, err
}

// yearOfCosts asks for what bikes cost in the last twelve months.
func (d *Desk) yearOfCosts(tx *store.Tx, today string) (q wear.CostQuery, err error) {
	q.By = wear.ByBike
	if q.From, q.To, err = d.costWindow(CostsRequest{Today: today}, tx.Zone()); err != nil {
		return q, err
	}
	said, err := tx.Stock()
	q.Prices = wear.PricesOf(said, q.To)
	return q, err
}

// fleetBike is one bike of a fleet.
func fleetBike(tx *store.Tx, c wear.Case, kinds []string, cost wear.CostQuery) (b wear.FleetBike, err error) {
	findings := wear.Assess(c, wear.Default())
	b = wear.FleetBikeOf(c, findings, kinds)
	if b.Hold, err = holdOf(tx, c, findings); err != nil {
		return b, err
	}
	if b.Stand, err = stood(tx, c, b.Hold); err != nil {
		return b, err
	}
	rides, err := tx.Outings(c.Bike.ID, cost.From, cost.To)
	if err != nil {
		return b, err
	}
	b.Cost = wear.CostsOf(c, wear.Default(), cost, rides).Whole
	rounds, err := tx.TurnRounds(c.Bike.ID)
	b.Turned(rounds, c.Today)
	return b, err
}

// stood is how a bike stood in the last month.
func stood(tx *store.Tx, c wear.Case, now wear.Hold) (wear.Stand, error) {
	from := c.Today - wear.FleetMonth*wear.Day
	c, err := tx.WithPast(c, from)
	if err != nil {
		return wear.Stand{}, err
	}
	return wear.Stood(c, wear.Default(), from, now, wear.Ago{
		Held:  func(at wear.Instant) (bool, error) { return heldAt(tx, c.Bike.ID, at) },
		Rides: func(from, to wear.Instant) ([]wear.Ride, error) { return tx.RideFigures(c.Bike.ID, from, to) },
	})
}

// PlanResult is the work of the week, depot by depot.
type PlanResult struct {
	Today  wear.Instant
	Depots []wear.DepotWork
}

// FleetPlan is what is to be done within a week, and what is done along with it.
func (d *Desk) FleetPlan(ctx context.Context, f FleetFilter, today string) (res PlanResult, err error) {
	var works []wear.BikeWork
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		walk, err := d.fleetWalk(tx, f, today)
		if err != nil {
			return err
		}
		res.Today, works, walk.Brief = walk.Today, nil, true
		return eachJudged(ctx, tx, walk, func(tx *store.Tx, c wear.Case) (*wear.BikeWork, error) {
			return bikeWork(tx, c, f)
		}, func(_ int, w *wear.BikeWork) error {
			if w != nil {
				works = append(works, *w)
			}
			return nil
		})
	})
	res.Depots = wear.PlanWeek(works)
	return res, err
}

// bikeWork is a bike's work of the week; nil where there is none.
func bikeWork(tx *store.Tx, c wear.Case, f FleetFilter) (*wear.BikeWork, error) {
	findings := wear.Assess(c, wear.Default())
	if len(f.Verdicts) > 0 && !slices.Contains(f.Verdicts, wear.Worst(findings)) {
		return nil, nil
	}
	asked := slices.DeleteFunc(slices.Clone(findings), func(x wear.Finding) bool { return len(f.Kinds) > 0 && !slices.Contains(f.Kinds, x.Kind) })
	w, ok := wear.WorkOf(c, asked)
	if !ok {
		return nil, nil
	}
	var err error
	if w.Hold, err = holdOf(tx, c, findings); err != nil {
		return nil, err
	}
	visits, err := tx.Visits(c.Bike.ID)
	for _, v := range visits {
		if !v.Void && v.At >= startOfDay(c.Today, tx.Zone()) && v.At <= c.Today+wear.FleetWeek*wear.Day {
			w.Visit = v.At
		}
	}
	return &w, err
}

// ParseVerdicts reads verdicts as JSON names them: stop, due, order, fine.
func ParseVerdicts(list []string) (verdicts []wear.Verdict, err error) {
	for _, word := range list {
		v, ok := verdictNamed(word)
		if !ok {
			return nil, mistake("a verdict is stop, due, order or fine", "verdict %q: no such verdict", plainText(word))
		}
		verdicts = append(verdicts, v)
	}
	return verdicts, nil
}

func verdictNamed(word string) (wear.Verdict, bool) {
	for v := wear.Fine; v <= wear.Stop; v++ {
		if strings.EqualFold(strings.TrimSpace(word), v.String()) {
			return v, true
		}
	}
	return wear.Fine, false
}
