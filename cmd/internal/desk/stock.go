package desk

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// StockRequest is what somebody says of the shelf: a count, what came in, or how
// such parts are ordered.
type StockRequest struct {
	Kind, Model string
	Count, Add  *int   // nil = not said
	Price       int64  // hundredths; 0 = not said
	Lead        string // "3w", "21d"; "" = not said
	Supplier    string
	On, By      string
	Note        string
}

// mostStock is more parts of one model than any shelf has.
const mostStock = 1_000_000

// SetStock enters what is said of the shelf and returns what there is now.
func (d *Desk) SetStock(ctx context.Context, req StockRequest) (shelf wear.Shelf, err error) {
	said, err := req.stock()
	if err != nil {
		return shelf, err
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		d.Warnings = nil
		if said.At, err = d.when(req.On, tx.Zone()); err != nil {
			return err
		}
		tx.Begin("stock", strings.TrimSpace(said.Kind+" "+said.Model), d.Who)
		if said, err = tx.AddStock(said); err != nil {
			return err
		}
		if err := d.askModel(tx, said); err != nil {
			return err
		}
		all, err := shelves(tx, wear.At(d.Now))
		shelf = all[wear.KeyOf(said.Kind, said.Model)]
		return err
	})
	return shelf, err
}

// stock is the fact that is asked for.
func (req StockRequest) stock() (wear.Stock, error) {
	s := wear.Stock{Kind: req.Kind, Model: plainText(req.Model), Price: req.Price,
		Supplier: plainText(req.Supplier), By: plainText(req.By), Note: plainText(req.Note)}
	if _, err := Kinds([]string{req.Kind}); err != nil {
		return s, err
	}
	if req.Lead != "" {
		var err error
		if s.Lead, err = ParseLead(req.Lead); err != nil {
			return s, err
		}
	}
	n := req.Count
	switch {
	case req.Count != nil && req.Add != nil:
		return s, mistake("--count 12 is all that there is, --add 20 is what came in", "--count and --add exclude each other")
	case req.Add != nil:
		n, s.Adds = req.Add, true
	case req.Count == nil:
		s.Terms = true
		if s.Price == 0 && s.Lead == 0 && s.Supplier == "" {
			return s, mistake("--count 12, --add 20, --price 24.50, --lead 3w or --supplier NAME", "stock of %s: nothing is said of it", s.Kind)
		}
		return s, nil
	}
	if *n < 0 || *n > mostStock || *n == 0 && s.Adds {
		return s, mistake("--count 12 is all that there is, --add 20 is what came in", "stock of %s: %d parts cannot be meant", s.Kind, *n)
	}
	s.Count = *n
	return s, nil
}

// askModel asks about a model that no part of the kind has, where others have one.
func (d *Desk) askModel(tx *store.Tx, s wear.Stock) error {
	parts, err := tx.Parts()
	if err != nil {
		return err
	}
	var models []string
	for _, p := range parts {
		if p.Kind != s.Kind {
			continue
		}
		if wear.KeyOf(p.Kind, p.Model) == wear.KeyOf(s.Kind, s.Model) {
			return nil
		}
		models = append(models, p.Model)
	}
	slices.Sort(models)
	models = slices.Compact(models)
	switch near := wear.Nearest(s.Model, models); {
	case s.Model == "" || len(models) == 0:
	case near != "":
		d.Warnings = append(d.Warnings, fmt.Sprintf("no %s on a bike is of the model %q: is %q meant? pawl undo takes it back", s.Kind, s.Model, near))
	default:
		d.Warnings = append(d.Warnings, fmt.Sprintf("no %s on a bike is of the model %q: what is fitted is told by kind and model", s.Kind, s.Model))
	}
	return nil
}

// Stock lists what there is, by kind and model, of one kind or model where it is
// named.
func (d *Desk) Stock(ctx context.Context, kind, model, today string) (list []wear.Shelf, err error) {
	if kind != "" {
		if _, err := Kinds([]string{kind}); err != nil {
			return nil, err
		}
	}
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		at, err := d.today(today, tx.Zone())
		if err != nil {
			return err
		}
		all, err := shelves(tx, at)
		list = list[:0]
		for k, s := range all {
			if (kind == "" || k.Kind == kind) && (model == "" || k == wear.KeyOf(k.Kind, model)) {
				list = append(list, s)
			}
		}
		return err
	})
	slices.SortFunc(list, func(a, b wear.Shelf) int {
		if a.Kind != b.Kind {
			return strings.Compare(a.Kind, b.Kind)
		}
		return strings.Compare(strings.ToLower(a.Model), strings.ToLower(b.Model))
	})
	return list, err
}

// shelves is what there is of everything that something was said of, as of a
// day; what was fitted since is off.
func shelves(tx *store.Tx, at wear.Instant) (map[wear.ShelfKey]wear.Shelf, error) {
	all, err := tx.Stock()
	if err != nil {
		return nil, err
	}
	said := map[wear.ShelfKey][]wear.Stock{}
	for _, s := range all {
		if !s.Void && s.At <= at {
			k := wear.KeyOf(s.Kind, s.Model)
			said[k] = append(said[k], s)
		}
	}
	taken, err := takenOf(tx, said)
	if err != nil {
		return nil, err
	}
	list := make(map[wear.ShelfKey]wear.Shelf, len(said))
	for k, s := range said {
		list[k] = wear.ShelfOf(s, taken[k], at)
	}
	return list, nil
}

// takenOf is when parts of what was counted were fitted new.
func takenOf(tx *store.Tx, said map[wear.ShelfKey][]wear.Stock) (map[wear.ShelfKey][]wear.Instant, error) {
	parts, err := tx.Parts()
	if err != nil {
		return nil, err
	}
	var stays []wear.Stay
	parts = slices.DeleteFunc(parts, func(p wear.Part) bool { return said[wear.KeyOf(p.Kind, p.Model)] == nil })
	for _, p := range parts {
		s, err := tx.StaysOf(p.ID)
		if err != nil {
			return nil, err
		}
		stays = append(stays, s...)
	}
	return wear.Taken(parts, stays), nil
}

// ParseService reads a service level, "95%" or "0.95", as a probability.
func ParseService(text string) (float64, error) {
	const tip = "the share of cases in which nothing lacks: --service 95%"
	v, percent, err := parseShare(text)
	switch {
	case err != nil || math.IsNaN(v):
		return 0, mistake(tip, "service level %q: not a share", text)
	case percent || v > 1:
		v /= 100
	}
	if v < 0.5 || v > 0.9999 {
		return 0, mistake(tip+", between 50% and 99.99%", "service level %q: cannot be meant", text)
	}
	return v, nil
}
