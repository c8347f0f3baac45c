package desk

import (
	"context"
	"strconv"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// OrdersRequest says for what to order.
type OrdersRequest struct {
	Weeks      float64
	Service    float64 // probability that nothing of a kind and model lacks
	Kind       string  // of this kind only
	Depot, Tag string  // for these bikes only
	Today      string
}

// OrderList is what to order.
type OrderList struct {
	Today   wear.Instant
	Weeks   float64
	Service float64
	Bikes   int  // that were asked
	Some    bool // not all bikes: the shelf is everybody's
	Lines   []wear.OrderLine
}

// mostWeeks is how far ahead is ordered: past a year the way the bikes were
// ridden lately says nothing.
const mostWeeks = 52

// Orders says what parts the bikes will need in the coming weeks and the time
// that each takes to come, and what of that the shelf lacks.
func (d *Desk) Orders(ctx context.Context, req OrdersRequest) (list OrderList, err error) {
	list = OrderList{Weeks: req.Weeks, Service: req.Service, Some: req.Depot != "" || req.Tag != ""}
	if !(req.Weeks >= 1 && req.Weeks <= mostWeeks) {
		return list, mistake("--weeks 6", "--weeks %g: not between 1 and %d", req.Weeks, mostWeeks)
	}
	if req.Kind != "" {
		if _, err := Kinds([]string{req.Kind}); err != nil {
			return list, err
		}
	}
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		if list.Today, err = d.today(req.Today, tx.Zone()); err != nil {
			return err
		}
		bikes, err := bikesOf(tx, req.Depot, req.Tag)
		if err != nil {
			return err
		}
		list.Bikes = len(bikes)
		q := wear.OrderQuery{Weeks: req.Weeks, Service: req.Service}
		if q.Shelves, err = shelves(tx, list.Today); err != nil {
			return err
		}
		needs, units, err := askBikes(ctx, tx, list.Today, bikes)
		if err != nil {
			return err
		}
		q.Lives = wear.FleetLives(units)
		list.Lines = wear.Orders(ofKind(needs, req.Kind), q)
		return nil
	})
	return list, err
}

// asked is what one bike says: its needs, and the lives of its parts.
type asked struct {
	needs []*wear.Need
	units []wear.PartLoad
}

// askBikes gathers the needs of some bikes, and, of all, the lives of the kinds
// of which enough have come to their end to tell.
func askBikes(ctx context.Context, tx *store.Tx, at wear.Instant, bikes []wear.Bike) (needs []*wear.Need, units []wear.PartLoad, err error) {
	told, err := toldKinds(tx, at)
	if err != nil {
		return nil, nil, err
	}
	wanted := make(map[wear.ID]bool, len(bikes))
	for _, b := range bikes {
		wanted[b.ID] = true
	}
	if len(told) > 0 {
		if bikes, err = tx.Bikes(); err != nil {
			return nil, nil, err
		}
	}
	err = eachJudged(ctx, tx, caseWalk{Bikes: bikes, Today: at}, func(_ *store.Tx, c wear.Case) (a asked, err error) {
		if wanted[c.Bike.ID] {
			a.needs = wear.Needs(c, wear.Default())
		}
		if len(told) > 0 {
			a.units = wear.LifeUnitsOf(c, wear.Default(), func(kind string) bool { return told[kind] })
		}
		return a, nil
	}, func(_ int, a asked) error {
		needs, units = append(needs, a.needs...), append(units, a.units...)
		return nil
	})
	return needs, units, err
}

// toldKinds are the kinds of which enough parts of one model wore out or broke.
func toldKinds(tx *store.Tx, at wear.Instant) (map[string]bool, error) {
	parts, err := tx.Parts()
	if err != nil {
		return nil, err
	}
	ended, told := map[wear.ShelfKey]int{}, map[string]bool{}
	for _, p := range parts {
		if e := p.End; e == nil || e.At > at || e.Cause != wear.Worn && e.Cause != wear.Broke {
			continue
		}
		k := wear.KeyOf(p.Kind, p.Model)
		if ended[k]++; ended[k] >= wear.LeastFailures {
			told[p.Kind] = true
		}
	}
	return told, nil
}

func ofKind(needs []*wear.Need, kind string) []*wear.Need {
	if kind == "" {
		return needs
	}
	var list []*wear.Need
	for _, n := range needs {
		if n.Kind == kind {
			list = append(list, n)
		}
	}
	return list
}

// parseShare reads "95%", "95 %" or "0.95".
func parseShare(text string) (v float64, percent bool, err error) {
	text, percent = strings.CutSuffix(strings.TrimSpace(text), "%")
	v, err = strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	return v, percent, err
}
