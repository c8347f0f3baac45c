package desk

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// Offer is what a shell can offer for an unfinished word, and what it is.
type Offer struct{ Text, About string }

// BikeOffers are the names of the bikes.
func (d *Desk) BikeOffers(ctx context.Context) (offers []Offer, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		bikes, err := tx.Bikes()
		for _, b := range bikes {
			offers = append(offers, Offer{b.Name, strings.TrimSpace("bike " + b.Sheet)})
		}
		return err
	})
	return offers, err
}

// DepotOffers are the depots of the bikes, each once.
func (d *Desk) DepotOffers(ctx context.Context) ([]Offer, error) {
	return d.offersOf(ctx, func(b wear.Bike) []string { return []string{b.Depot} })
}

// TagOffers are the tags of the bikes, each once.
func (d *Desk) TagOffers(ctx context.Context) ([]Offer, error) {
	return d.offersOf(ctx, func(b wear.Bike) []string { return b.Tags })
}

// offersOf are words that bikes have, with how many have them.
func (d *Desk) offersOf(ctx context.Context, of func(wear.Bike) []string) (offers []Offer, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		bikes, err := tx.Bikes()
		count := map[string]int{}
		for _, b := range bikes {
			for _, word := range of(b) {
				count[word]++
			}
		}
		delete(count, "")
		offers = nil
		for _, word := range slices.Sorted(maps.Keys(count)) {
			offers = append(offers, Offer{word, counted(count[word], "bike")})
		}
		return err
	})
	return offers, err
}

// PartOffers are the kinds of the parts on a bike now, and their names once a
// kind is typed; the names of all parts of the book where no bike is named.
func (d *Desk) PartOffers(ctx context.Context, bike, begins string) (offers []Offer, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		parts, err := d.partsNow(tx, bike)
		for _, p := range parts {
			if bike != "" {
				offers = append(offers, Offer{p.Kind, titleOf(p)})
			}
			if bike == "" || strings.HasPrefix(strings.ToLower(begins), p.Kind) {
				offers = append(offers, Offer{p.Name, titleOf(p)})
			}
		}
		return err
	})
	return offers, err
}

// ShelfOffers are the names of the parts of a kind that are on no bike and may
// be used again.
func (d *Desk) ShelfOffers(ctx context.Context, kind string) (offers []Offer, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		parts, err := tx.Parts()
		if err != nil {
			return err
		}
		for _, p := range parts {
			if p.Kind != kind || p.End != nil {
				continue
			}
			stays, err := tx.StaysOf(p.ID)
			if err != nil {
				return err
			}
			if !slices.ContainsFunc(stays, func(s wear.Stay) bool { return s.Holds(wear.At(d.Now)) }) {
				offers = append(offers, Offer{p.Name, titleOf(p)})
			}
		}
		return nil
	})
	return offers, err
}

// JobOffers are the jobs of a bike as kind:job, or of one of its parts by name.
func (d *Desk) JobOffers(ctx context.Context, bike, part string) (offers []Offer, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		parts, err := d.partsNow(tx, bike)
		prefix := func(p wear.Part) string { return p.Kind + ":" }
		if part != "" {
			p, err := d.partNow(tx, bike, part)
			if err != nil {
				return err
			}
			parts, prefix = []wear.Part{p}, func(wear.Part) string { return "" }
		}
		for _, p := range parts {
			kind, _ := wear.Default().Kind(p.Kind)
			for _, j := range kind.Jobs {
				offers = append(offers, Offer{prefix(p) + j.Name, j.Title})
			}
		}
		return err
	})
	return offers, err
}

// RideOffers are the latest rides whose id begins so, the newest first, at most
// so many.
func (d *Desk) RideOffers(ctx context.Context, begins string, most int) (offers []Offer, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		names, err := bikeNames(tx)
		if err != nil {
			return err
		}
		var rides []wear.Ride
		for r, err := range tx.Rides(store.RideFilter{From: wear.Ever, To: wear.Never}) {
			if err != nil {
				return err
			}
			if strings.HasPrefix(r.ID.String(), strings.ToLower(begins)) {
				rides = append(rides, r)
			}
		}
		for _, r := range slices.Backward(rides[max(0, len(rides)-most):]) {
			km := r.Total().SI(wear.Distance) / 1000
			about := fmt.Sprintf("%s, %.0f km %s", day(r.Start, tx.Zone()), km, names[r.Bike])
			offers = append(offers, Offer{r.ID.String(), strings.TrimSpace(about)})
		}
		return nil
	})
	return offers, err
}

// partsNow are the parts on a bike now, all of the book where none is named.
func (d *Desk) partsNow(tx *store.Tx, bike string) ([]wear.Part, error) {
	return d.partsOf(tx, bike, wear.At(d.Now))
}

func (d *Desk) partNow(tx *store.Tx, bike, part string) (wear.Part, error) {
	b, err := tx.FindBike(bike)
	if err != nil {
		return wear.Part{}, err
	}
	return findPart(tx, b, part, wear.At(d.Now))
}

func titleOf(p wear.Part) string {
	kind, _ := wear.Default().Kind(p.Kind)
	return strings.TrimSpace(kind.Title + " " + p.Model)
}
