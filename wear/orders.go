package wear

import (
	"cmp"
	"maps"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
)

// OrderQuery says for how long, how surely, and from what to order.
type OrderQuery struct {
	Weeks   float64 // from today on; a line's window is these and its lead time
	Service float64 // probability that no part of a line lacks in its window, 0 to 1
	Shelves map[ShelfKey]Shelf
	Lives   map[LifeKey]LifeResult // of the book, see FleetLives
}

// OrderLine is what to order of one kind and model.
type OrderLine struct {
	Kind, Model string
	Lead        float64 // days from order to shelf
	LeadSaid    bool    // said of such parts; else the schedule's
	Days        float64 // the window: the weeks and the lead time

	Need     float64 // how many will have to be changed, on average
	P10, P90 int     // fewer in one case of ten, more in one of ten
	Hold     int     // the least stock that is enough with the service level
	Enough   float64 // the probability that it is
	Shelf    Shelf
	Order    int   // what lacks of Hold on the shelf
	Cost     int64 // hundredths of the book's currency; 0 = no price was said

	Bikes []Asker // who may need one, the likeliest first
	Specs []Spec  // what tells parts of the line apart, the most needed first; none where all are alike
	Rests [nNeedBases]int
	Life  LifeResult // of the book, which NeedLife rests on; zero = none
	Set   int        // bikes on which it is changed as one with chain, ring and cassette
	With  int        // cassettes that may go with a chain past 0.75 %
	Notes []string   // what the reader must know
}

// Asker is a bike that may need a part within the window.
type Asker struct {
	Bike, Part string
	Chance     float64 // of at least one, 0 to 1
	Basis      NeedBasis
	Tied       []string // kinds that are changed with it, or that it may go with
}

// Spec is how many of a line are of one sort.
type Spec struct {
	Text string // "32 teeth"; empty = not told
	Need float64
}

// LifeKey is what the parts of one part life have in common; models are alike
// whatever their case.
type LifeKey struct {
	Kind, Model string
	By          CountOf
}

// FleetLives are the lives that enough parts of the book tell, by kind and model,
// without their intervals and B10: [PartLife] has those.
func FleetLives(parts []PartLoad) map[LifeKey]LifeResult {
	groups := map[LifeKey][]Unit{}
	for i := range parts {
		k := KeyOf(parts[i].Kind, parts[i].Model)
		key := LifeKey{k.Kind, k.Model, parts[i].By}
		groups[key] = append(groups[key], parts[i].Unit)
	}
	keys := slices.Collect(maps.Keys(groups))
	fits, told := make([]LifeResult, len(keys)), make([]bool, len(keys))
	across(len(keys), func(i int) {
		var err error
		fits[i], _, err = plainLife(groups[keys[i]])
		told[i] = err == nil
	})
	lives := map[LifeKey]LifeResult{}
	for i, key := range keys {
		if told[i] {
			lives[key] = fits[i]
		}
	}
	return lives
}

// Orders are the lines of what to order, by kind in the order of the schedule,
// then by model. The order of the needs does not matter.
func Orders(needs []*Need, q OrderQuery) []OrderLine {
	groups := map[ShelfKey][]*Need{}
	for _, n := range learned(needs, q.Lives) {
		k := KeyOf(n.Kind, n.Model)
		groups[k] = append(groups[k], n)
	}
	keys := slices.SortedFunc(maps.Keys(groups), func(x, y ShelfKey) int {
		return cmp.Or(cmp.Compare(x.Kind, y.Kind), cmp.Compare(x.Model, y.Model))
	})
	lines := make([]OrderLine, len(keys))
	across(len(keys), func(i int) { lines[i] = orderLine(groups[keys[i]], keys[i], q) })
	slices.SortFunc(lines, func(x, y OrderLine) int {
		return cmp.Or(cmp.Compare(kindRank(x.Kind), kindRank(y.Kind)), cmp.Compare(x.Kind, y.Kind),
			strings.Compare(strings.ToLower(x.Model), strings.ToLower(y.Model)))
	})
	return lines
}

// terms takes what is said of the kind without a model where nothing is said of
// the model.
func (h *Shelf) terms(of Shelf) {
	h.Price, h.Lead, h.Supplier = cmp.Or(h.Price, of.Price), cmp.Or(h.Lead, of.Lead), cmp.Or(h.Supplier, of.Supplier)
}

// across does something for each of n on all cores; none may touch another's.
func across(n int, do func(i int)) {
	var next atomic.Int64
	var all sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	all.Wait()
}

// kindRank is the place of a kind in the schedule.
func kindRank(kind string) int {
	if i, ok := Default().index[kind]; ok {
		return i
	}
	return len(Default().kinds)
}

// orderLine is what to order of one kind and model.
func orderLine(list []*Need, k ShelfKey, q OrderQuery) OrderLine {
	slices.SortFunc(list, func(x, y *Need) int {
		return cmp.Or(cmp.Compare(x.Bike, y.Bike), cmp.Compare(x.Part, y.Part))
	})
	l := OrderLine{Kind: list[0].Kind, Model: list[0].Model, Shelf: q.Shelves[k]}
	for _, n := range list {
		l.Model, l.Lead = min(l.Model, n.Model), max(l.Lead, n.Lead)
	}
	l.Shelf.terms(q.Shelves[KeyOf(l.Kind, "")])
	if l.Shelf.Lead > 0 {
		l.Lead, l.LeadSaid = l.Shelf.Lead, true
	}
	l.Days = 7*q.Weeks + l.Lead
	d := l.demand(list, seasonSpread)
	l.Need, l.P10, l.P90, l.Hold = d.Mean(), d.Hold(0.1), d.Hold(0.9), d.Hold(q.Service)
	l.Enough = d.AtMost(l.Hold)
	l.Order = max(0, l.Hold-l.Shelf.OnHand)
	l.Cost = int64(l.Order) * l.Shelf.Price
	l.life(k, list, q.Lives)
	l.remark()
	return l
}
