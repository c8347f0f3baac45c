package desk

import (
	"context"
	"slices"
	"time"

	"pawl/store"
	"pawl/wear"
)

// CostsRequest says what costs to gather.
type CostsRequest struct {
	By    string // kind, model, bike or depot; "" = kind
	Depot string // bikes of this depot only
	Tag   string // bikes with this tag only
	Kind  string // parts of this kind only
	Since string // a date; "" = twelve months back
	Today string
	Hour  int64 // hundredths that an hour at the stand costs; 0 = work is not counted in money
}

// Costs gathers what parts and work cost over a window, the dearest first.
func (d *Desk) Costs(ctx context.Context, req CostsRequest) (costs wear.Costs, err error) {
	q := wear.CostQuery{By: wear.CostBy(req.By), Kind: req.Kind, Hour: req.Hour}
	if q.By == "" {
		q.By = wear.ByKind
	}
	if !slices.Contains(wear.CostGroups, q.By) {
		return costs, mistake("--by kind, model, bike or depot", "--by %q: costs are not gathered by that", req.By)
	}
	if q.Kind != "" {
		if _, ok := wear.Default().Kind(q.Kind); !ok {
			return costs, unknownKind(q.Kind)
		}
	}
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		if q.From, q.To, err = d.costWindow(req, tx.Zone()); err != nil {
			return err
		}
		said, err := tx.Stock()
		if err != nil {
			return err
		}
		q.Prices = wear.PricesOf(said, q.To)
		bikes, err := bikesOf(tx, req.Depot, req.Tag)
		if err != nil {
			return err
		}
		costs, err = gatherCosts(ctx, tx, bikes, q)
		return err
	})
	return costs, err
}

func gatherCosts(ctx context.Context, tx *store.Tx, bikes []wear.Bike, q wear.CostQuery) (wear.Costs, error) {
	table := wear.NewCostTable(q)
	err := eachJudged(ctx, tx, caseWalk{Bikes: bikes, Today: q.To}, func(tx *store.Tx, c wear.Case) (wear.BikeCosts, error) {
		rides, err := tx.Outings(c.Bike.ID, q.From, q.To)
		return wear.CostsOf(c, wear.Default(), q, rides), err
	}, func(i int, b wear.BikeCosts) error {
		table.Add(bikes[i], b)
		return nil
	})
	return table.Costs(), err
}

// costWindow is the time that costs are gathered over: from the beginning of the
// day named, or of the day after the same day a year ago, up to today.
func (d *Desk) costWindow(req CostsRequest, zone *time.Location) (from, to wear.Instant, err error) {
	if to, err = d.today(req.Today, zone); err != nil {
		return 0, 0, err
	}
	if req.Since == "" {
		y, m, day := to.Time().In(zone).Date()
		return wear.StartOfDay(y-1, m, day+1, zone), to, nil
	}
	if from, err = parseInstant(req.Since, zone); err != nil {
		return 0, 0, err
	}
	if bare(req.Since) {
		from = startOfDay(from, zone)
	}
	if from > to {
		return 0, 0, mistake("--since comes before --today, or before now", "--since %q: nothing has happened since", req.Since)
	}
	return from, to, nil
}

// bikesOf are the bikes of a depot and with a tag, see [BikeFilter]; all where
// neither is named.
func bikesOf(tx *store.Tx, depot, tag string) ([]wear.Bike, error) {
	all, err := tx.Bikes()
	if err != nil {
		return nil, err
	}
	which := BikeFilter{Depot: depot}
	if tag != "" {
		which.Tags = []string{tag}
	}
	if u := unmetBy(all, []string{which.Depot}, which.Tags); u != nil {
		return nil, refusal(u.tip, "%s %q: no bike is of it", u.noun, u.word)
	}
	list := slices.DeleteFunc(slices.Clone(all), func(b wear.Bike) bool { return !which.Takes(b) })
	if len(list) == 0 && depot != "" && tag != "" {
		return nil, refusal("leave one of them out", "depot %q, tag %q: no bike is of both", depot, tag)
	}
	return list, nil
}
