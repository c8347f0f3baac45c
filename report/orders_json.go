package report

import (
	"cmp"
	"io"
	"slices"
	"strconv"
	"strings"

	"pawl/wear"
)

// orderJSON is one line of orders; money in the book's currency, times in days.
type orderJSON struct {
	Kind     string      `json:"kind"`
	Model    *string     `json:"model"`
	Days     *float64    `json:"days"`
	Lead     *float64    `json:"lead_days"`
	LeadSaid bool        `json:"lead_said"` // false = the schedule's
	Need     *float64    `json:"need"`
	P10      int         `json:"p10"`
	P90      int         `json:"p90"`
	Hold     int         `json:"hold"`
	Enough   *float64    `json:"enough"`
	OnHand   *int        `json:"on_hand"` // null = never counted
	Order    int         `json:"order"`
	Price    *float64    `json:"price"`
	Cost     *float64    `json:"cost"`
	Supplier *string     `json:"supplier"`
	Bikes    []askerJSON `json:"bikes"` // from a chance of 0.005 on
	Specs    []specJSON  `json:"specs"`
	Rests    []string    `json:"rests"`
	Notes    []string    `json:"notes"`
}

type askerJSON struct {
	Bike   string   `json:"bike"`
	Part   string   `json:"part"`
	Chance *float64 `json:"chance"`
	Due    bool     `json:"due"`
	With   []string `json:"with"` // kinds that it is counted together with
}

type specJSON struct {
	Spec *string  `json:"spec"`
	Need *float64 `json:"need"`
}

func orderOf(l *wear.OrderLine) orderJSON {
	out := orderJSON{
		Kind: l.Kind, Model: textOf(l.Model), Days: figureOf(l.Days, 3), Lead: figureOf(l.Lead, 3), LeadSaid: l.LeadSaid,
		Need: figureOf(l.Need, 4), P10: l.P10, P90: l.P90, Hold: l.Hold, Enough: figureOf(l.Enough, 5), Order: l.Order,
		Supplier: textOf(l.Shelf.Supplier), Bikes: []askerJSON{}, Specs: []specJSON{}, Rests: list(l.Says()), Notes: list(l.Notes),
	}
	if l.Shelf.Counted {
		out.OnHand = &l.Shelf.OnHand
	}
	if l.Shelf.Price > 0 {
		out.Price, out.Cost = moneyOf(l.Shelf.Price), moneyOf(l.Cost)
	}
	for _, a := range l.Bikes {
		out.Bikes = append(out.Bikes, askerJSON{a.Bike, a.Part, figureOf(a.Chance, 4), a.Basis == wear.NeedDue, list(a.Tied)})
	}
	for _, s := range l.Specs {
		out.Specs = append(out.Specs, specJSON{textOf(s.Text), figureOf(s.Need, 4)})
	}
	return out
}

// OrdersJSON writes what to order as one JSON object, all lines and bikes.
func OrdersJSON(w io.Writer, o OrdersPage, s Style) error {
	lines := []orderJSON{}
	for i := range o.Lines {
		lines = append(lines, orderOf(&o.Lines[i]))
	}
	_, idle := o.wanted()
	return writeJSON(w, struct {
		envelope
		Today   *string     `json:"today"`
		Weeks   float64     `json:"weeks"`
		Service float64     `json:"service"`
		Bikes   int         `json:"bikes"`
		Lines   []orderJSON `json:"lines"`
		Notes   []string    `json:"notes"`
	}{enclose(nil), isoTime(o.Today, s.zone()), o.Weeks, o.Service, o.Bikes, lines, o.notes(idle)})
}

// OrdersCSV writes what lacks as CSV for suppliers, by supplier.
func OrdersCSV(w io.Writer, o OrdersPage) error {
	out := newSheet(w, "supplier", "kind", "model", "quantity", "price", "note")
	lines := slices.Clone(o.Lines)
	slices.SortStableFunc(lines, func(x, y wear.OrderLine) int {
		return cmp.Compare(strings.ToLower(x.Shelf.Supplier), strings.ToLower(y.Shelf.Supplier))
	})
	for i := range lines {
		l := &lines[i]
		if l.Order == 0 {
			continue
		}
		price := ""
		if l.Shelf.Price > 0 {
			price = strconv.FormatFloat(float64(l.Shelf.Price)/100, 'f', 2, 64)
		}
		out.row(cell(l.Shelf.Supplier), cell(l.Kind), cell(l.Model), strconv.Itoa(l.Order), price, cell(specs(l)))
	}
	return out.done()
}
