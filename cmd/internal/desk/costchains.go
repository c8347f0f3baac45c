package desk

import (
	"context"

	"pawl/store"
	"pawl/wear"
)

// ChainCostsRequest says of which bikes the limits of chains are compared, and
// what is known of prices.
type ChainCostsRequest struct {
	Depot string // bikes of this depot only
	Tag   string // bikes with this tag only
	Today string
	Ask   wear.PolicyAsk // but for the list and the day
}

// ChainCosts says whether changing chains at 0.5 % or at 0.75 % costs less over
// the cassettes and rings of the bikes, and of how many.
func (d *Desk) ChainCosts(ctx context.Context, req ChainCostsRequest) (res wear.PolicyResult, bikes int, err error) {
	var facts wear.PolicyFacts
	ask := req.Ask
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		facts = wear.PolicyFacts{}
		if ask.Today, err = d.today(req.Today, tx.Zone()); err != nil {
			return err
		}
		said, err := tx.Stock()
		if err != nil {
			return err
		}
		ask.Prices = wear.PricesOf(said, ask.Today)
		list, err := bikesOf(tx, req.Depot, req.Tag)
		if err != nil {
			return err
		}
		bikes = len(list)
		return eachJudged(ctx, tx, caseWalk{Bikes: list, Today: ask.Today}, func(_ *store.Tx, c wear.Case) (wear.PolicyFacts, error) {
			return wear.PolicyOf(c, wear.Default()), nil
		}, func(_ int, f wear.PolicyFacts) error {
			facts.Add(f)
			return nil
		})
	})
	if err != nil {
		return res, bikes, err
	}
	res, err = wear.ChainPolicy(facts, ask)
	return res, bikes, err
}
