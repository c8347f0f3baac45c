package report

import (
	"io"
	"strconv"

	"pawl/wear"
)

// Stock writes what is on the shelf to a terminal, page by page.
func Stock(w io.Writer, shelves []wear.Shelf, s Style) error {
	p := &page{Style: s}
	if len(shelves) == 0 {
		p.line("Nothing is said of the shelf.")
		return p.to(w)
	}
	shown, window, err := cut(s.Pages, shelves, fewRows)
	if err != nil {
		return err
	}
	rows := make([][]string, len(shown))
	for i := range shown {
		rows[i] = p.stockRow(&shown[i])
	}
	p.table(filled([]column{
		{title: "part", least: 10}, {title: "on hand", right: true}, {title: "counted"}, {title: "each", right: true},
		{title: "lead", right: true}, {title: "supplier", least: 8}, {title: "note", least: 10},
	}, rows))
	p.rest(window, "kind or model", "kinds and models", "--csv")
	p.gap()
	p.para("", "on hand: the last count and what came in, less what was fitted new since (by kind and model).")
	return p.to(w)
}

func (p *page) stockRow(h *wear.Shelf) []string {
	row := []string{partName(h.Kind, h.Model), unknown, "", "", "", brief(h.Supplier, longName), ""}
	if h.Counted {
		row[1] = whole(float64(h.OnHand))
		if h.Since != 0 {
			row[2] = p.fullDay(h.Since)
		}
	}
	if h.Price > 0 {
		row[3] = money(float64(h.Price))
	}
	if h.Lead > 0 {
		row[4] = hundredths(h.Lead) + " d"
	}
	if h.Short > 0 {
		row[6] = number(float64(h.Short), 0) + " more fitted than there were: count again"
	}
	return row
}

// StockSaid is one line that says what there is after an entry.
func (s Style) StockSaid(h wear.Shelf) string {
	text := partName(h.Kind, h.Model) + ": "
	if h.Counted {
		text += number(float64(h.OnHand), 0) + " on the shelf"
	} else {
		text += "not counted"
	}
	if h.Price > 0 {
		text += ", " + money(float64(h.Price)) + " each"
	}
	if h.Lead > 0 {
		text += ", " + hundredths(h.Lead) + " days to come"
	}
	if h.Supplier != "" {
		text += ", from " + brief(h.Supplier, longName)
	}
	return text
}

// shelfJSON is one line of the shelf; money in the book's currency.
type shelfJSON struct {
	Kind     string   `json:"kind"`
	Model    *string  `json:"model"`
	OnHand   *int     `json:"on_hand"` // null = never counted
	Short    int      `json:"short"`
	Counted  *string  `json:"counted"`
	Price    *float64 `json:"price"`
	Lead     *float64 `json:"lead_days"`
	Supplier *string  `json:"supplier"`
}

func (s Style) shelfOf(h *wear.Shelf) shelfJSON {
	out := shelfJSON{Kind: h.Kind, Model: textOf(h.Model), Short: h.Short, Supplier: textOf(h.Supplier)}
	if h.Counted {
		out.OnHand = &h.OnHand
		if h.Since != 0 {
			out.Counted = isoTime(h.Since, s.zone())
		}
	}
	if h.Price > 0 {
		out.Price = moneyOf(h.Price)
	}
	if h.Lead > 0 {
		out.Lead = figureOf(h.Lead, 3)
	}
	return out
}

// StockJSON writes what is on the shelf as one JSON object.
func StockJSON(w io.Writer, shelves []wear.Shelf, s Style) error {
	out := []shelfJSON{}
	for i := range shelves {
		out = append(out, s.shelfOf(&shelves[i]))
	}
	return writeJSON(w, struct {
		envelope
		Stock []shelfJSON `json:"stock"`
	}{enclose(nil), out})
}

// StockCSV writes what is on the shelf as CSV.
func StockCSV(w io.Writer, shelves []wear.Shelf, s Style) error {
	out := newSheet(w, "kind", "model", "on_hand", "short", "counted", "price", "lead_days", "supplier")
	for i := range shelves {
		j := s.shelfOf(&shelves[i])
		hand := ""
		if j.OnHand != nil {
			hand = strconv.Itoa(*j.OnHand)
		}
		out.row(cell(j.Kind), cell(orEmpty(j.Model)), hand, strconv.Itoa(j.Short), orEmpty(j.Counted), some(j.Price), some(j.Lead), cell(orEmpty(j.Supplier)))
	}
	return out.done()
}
