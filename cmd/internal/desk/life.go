package desk

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// LifeLine is how long the parts of one kind and model last.
type LifeLine struct {
	Kind, Model string
	By          wear.CountOf // in what their life is told
	Least, Most float64      // what the schedule expects of them, which differs where overrides do
	Parts       int
	Result      wear.LifeResult
	Refused     *wear.LifeError // why there are no figures; nil = there are
}

// PartLife gathers the ended and running parts of all bikes by kind and model,
// of one kind where one is named, and says how long they last.
func (d *Desk) PartLife(ctx context.Context, kind, today string) (lines []LifeLine, err error) {
	if kind != "" {
		if _, err := Kinds([]string{kind}); err != nil {
			return nil, err
		}
	}
	var groups map[lifeKey][]wear.PartLoad
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		at, err := d.today(today, tx.Zone())
		if err != nil {
			return err
		}
		groups, err = lifeUnits(ctx, tx, kind, at)
		return err
	})
	if err != nil {
		return nil, err
	}
	for k, parts := range groups {
		l, err := lifeLine(k, parts)
		if err != nil {
			return nil, err
		}
		lines = append(lines, l)
	}
	slices.SortFunc(lines, func(a, b LifeLine) int {
		return cmp.Or(strings.Compare(a.Kind, b.Kind), strings.Compare(a.Model, b.Model), cmp.Compare(a.By, b.By))
	})
	if len(lines) == 0 && kind != "" {
		err = refusal("pawl part-life lists the kinds that are counted", "kind %q: no part whose life is told in a count", kind)
	}
	return lines, err
}

// lifeKey is what the parts of one part life have in common; models are alike
// whatever their case.
type lifeKey struct {
	kind, model string
	by          wear.CountOf
}

func lifeUnits(ctx context.Context, tx *store.Tx, kind string, at wear.Instant) (map[lifeKey][]wear.PartLoad, error) {
	bikes, err := tx.Bikes()
	if err != nil {
		return nil, err
	}
	groups := map[lifeKey][]wear.PartLoad{}
	asked := func(k string) bool { return kind == "" || k == kind }
	err = eachJudged(ctx, tx, caseWalk{Bikes: bikes, Today: at}, func(_ *store.Tx, c wear.Case) ([]wear.PartLoad, error) {
		return wear.LifeUnitsOf(c, wear.Default(), asked), nil
	}, func(_ int, units []wear.PartLoad) error {
		for _, u := range units {
			k := lifeKey{u.Kind, strings.ToLower(u.Model), u.By}
			groups[k] = append(groups[k], u)
		}
		return nil
	})
	return groups, err
}

func lifeLine(k lifeKey, parts []wear.PartLoad) (LifeLine, error) {
	l := LifeLine{Kind: k.kind, Model: parts[0].Model, By: k.by, Parts: len(parts), Least: parts[0].Expect, Most: parts[0].Expect}
	units := make([]wear.Unit, len(parts))
	for i, p := range parts {
		units[i] = p.Unit
		l.Model = min(l.Model, p.Model)
		l.Least, l.Most = min(l.Least, p.Expect), max(l.Most, p.Expect)
	}
	var err error
	if l.Result, err = wear.PartLife(units); errors.As(err, &l.Refused) {
		return l, nil
	}
	return l, err
}
