package wear

import (
	"cmp"
	"slices"
	"strings"
)

// Stock is what somebody counted on the shelf of parts of one kind and model,
// or brought in, and what is known of ordering them.
type Stock struct {
	ID       uint64  `cbor:"1,keyasint"`
	Kind     string  `cbor:"2,keyasint"`
	Model    string  `cbor:"3,keyasint,omitempty"` // "" = parts of no model
	At       Instant `cbor:"4,keyasint"`
	Count    int     `cbor:"5,keyasint,omitempty"` // there were so many, or so many more
	Adds     bool    `cbor:"6,keyasint,omitempty"` // Count came in; else it is all that there was
	Terms    bool    `cbor:"7,keyasint,omitempty"` // only Price, Lead and Supplier are said, no count
	Price    int64   `cbor:"8,keyasint,omitempty"` // hundredths of the book's currency, each; 0 = not given
	Lead     float64 `cbor:"9,keyasint,omitempty"` // days from order to shelf; 0 = not given
	Supplier string  `cbor:"10,keyasint,omitempty"`
	By       string  `cbor:"11,keyasint,omitempty"`
	Note     string  `cbor:"12,keyasint,omitempty"`
	Void     bool    `cbor:"13,keyasint,omitempty"`
}

// Shelf is what there is of one kind and model on a day.
type Shelf struct {
	Kind, Model string
	Counted     bool    // somebody has counted; else OnHand says nothing
	OnHand      int     // the last count, less what was fitted since, with what came in; not below 0
	Short       int     // by how many more were fitted than there can have been: count again
	Since       Instant // of the last count
	Price       int64   // hundredths each, as last said; 0 = never
	Lead        float64 // days, as last said; 0 = never
	Supplier    string
}

// ShelfKey is what the stock of one kind and model goes by: models are alike
// whatever their case.
type ShelfKey struct{ Kind, Model string }

// KeyOf is the key of a kind and model.
func KeyOf(kind, model string) ShelfKey {
	return ShelfKey{kind, strings.ToLower(strings.TrimSpace(model))}
}

// ShelfOf is what there is of one kind and model today: what was said of it, and
// when parts of it were fitted from the shelf. Facts later than today, and what
// was taken back, do not count.
func ShelfOf(said []Stock, fitted []Instant, today Instant) Shelf {
	said = ordered(said, func(x, y Stock) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
		func(s Stock) bool { return s.Void || s.At > today })
	var h Shelf
	for _, s := range said {
		h.Kind, h.Model = s.Kind, s.Model
		if s.Price != 0 {
			h.Price = s.Price
		}
		if s.Lead != 0 {
			h.Lead = s.Lead
		}
		if s.Supplier != "" {
			h.Supplier = s.Supplier
		}
		switch {
		case s.Terms:
		case s.Adds:
			h.OnHand += s.Count
			h.Counted = true
		default:
			h.OnHand, h.Since, h.Counted = s.Count, s.At, true
		}
	}
	for _, at := range fitted {
		if h.Counted && at > h.Since && at <= today {
			h.OnHand--
		}
	}
	h.Short, h.OnHand = max(0, -h.OnHand), max(0, h.OnHand)
	return h
}

// Taken are the days on which parts were fitted new from the shelf, by what they
// are: the first stay of each, but for what came with a bike.
func Taken(parts []Part, stays []Stay) map[ShelfKey][]Instant {
	first := make(map[ID]*Stay, len(parts))
	for i := range stays {
		s := &stays[i]
		if old := first[s.Part]; old == nil || s.From < old.From {
			first[s.Part] = s
		}
	}
	taken := map[ShelfKey][]Instant{}
	for i := range parts {
		if s := first[parts[i].ID]; s != nil && !s.Came && s.From != Ever {
			k := KeyOf(parts[i].Kind, parts[i].Model)
			taken[k] = append(taken[k], s.From)
		}
	}
	for _, days := range taken {
		slices.Sort(days)
	}
	return taken
}
