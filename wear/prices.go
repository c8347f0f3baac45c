package wear

import (
	"cmp"
	"slices"
)

// PriceList is what the stock says that parts cost, by kind and model.
type PriceList map[ShelfKey][]priced

// priced is one price and since when it holds, in hundredths.
type priced struct {
	at    Instant
	price int64
}

// PricesOf are the prices among what was said of stock up to today; what was
// taken back does not count. The order of the facts does not matter.
func PricesOf(said []Stock, today Instant) PriceList {
	said = ordered(said, func(x, y Stock) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
		func(s Stock) bool { return s.Void || s.At > today || s.Price == 0 })
	list := PriceList{}
	for _, s := range said {
		k := KeyOf(s.Kind, s.Model)
		list[k] = append(list[k], priced{s.At, s.Price})
	}
	return list
}

// On is the price of a part of a kind and model on a day, in hundredths: the
// last one said by then, else the first one said later. Where none is said of
// the model, that of the kind without a model holds.
func (l PriceList) On(kind, model string, at Instant) (price int64, later, ok bool) {
	list := l[KeyOf(kind, model)]
	if len(list) == 0 {
		list = l[KeyOf(kind, "")]
	}
	if len(list) == 0 {
		return 0, false, false
	}
	i, _ := slices.BinarySearchFunc(list, at, func(p priced, at Instant) int {
		if p.at <= at {
			return -1
		}
		return 1
	})
	if i == 0 {
		return list[0].price, true, true
	}
	return list[i-1].price, false, true
}
