package wear

import (
	"cmp"
	"slices"
	"strings"
)

// CostTable gathers what bikes cost. Bikes can be added in any order: all that
// is summed are whole numbers.
type CostTable struct {
	q     CostQuery
	lines map[costKey]*CostLine
	total CostLine
}

// NewCostTable is an empty table of the query's groups.
func NewCostTable(q CostQuery) *CostTable {
	return &CostTable{q: q, lines: map[costKey]*CostLine{}}
}

// Add adds one bike.
func (t *CostTable) Add(bike Bike, b BikeCosts) {
	t.total.Add(b.Whole)
	switch t.q.By {
	case ByBike:
		t.line(costKey{bike.Name, ""}, b.Whole)
	case ByDepot:
		b.Whole.Name = bike.Depot
		t.line(costKey{bike.Depot, ""}, b.Whole)
	default:
		for _, l := range b.Lines {
			t.line(costKeyOf(l.Kind, l.Model), l)
		}
	}
}

func (t *CostTable) line(k costKey, l CostLine) {
	old := t.lines[k]
	if old == nil {
		t.lines[k] = &l
		return
	}
	old.Model = firstName(old.Model, l.Model)
	old.Add(l)
}

// Costs is the table as it stands, the dearest lines first, then by name.
func (t *CostTable) Costs() Costs {
	out := Costs{By: t.q.By, From: t.q.From, To: t.q.To, Hour: t.q.Hour, Total: t.total}
	for _, l := range t.lines {
		out.Lines = append(out.Lines, *l)
	}
	slices.SortFunc(out.Lines, func(x, y CostLine) int {
		return cmp.Or(cmp.Compare(y.Spent.Cost(t.q.Hour), x.Spent.Cost(t.q.Hour)),
			cmp.Compare(y.Spent.Changes+y.Spent.Jobs, x.Spent.Changes+x.Spent.Jobs),
			Naturally(x.Name, y.Name), strings.Compare(x.Kind, y.Kind), strings.Compare(x.Model, y.Model))
	})
	return out
}
