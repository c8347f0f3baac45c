package report

import (
	"io"
	"strconv"

	"pawl/wear"
)

// costJSON is money in the book's currency, ways in metres.
type costJSON struct {
	Kind        *string  `json:"kind"`
	Model       *string  `json:"model"`
	Bike        *string  `json:"bike"`
	Depot       *string  `json:"depot"`
	Bikes       int      `json:"bikes"`
	Changes     int      `json:"changes"`
	ByList      int      `json:"changes_priced_by_list"`
	Later       int      `json:"changes_priced_later"`
	NoPrice     int      `json:"changes_without_price"`
	Jobs        int      `json:"jobs"`
	Paid        *float64 `json:"paid"`
	Listed      *float64 `json:"listed"`
	Parts       *float64 `json:"parts"`
	Minutes     int64    `json:"minutes"`
	Typical     int64    `json:"minutes_of_schedule"`
	Untimed     int      `json:"without_minutes"`
	Work        *float64 `json:"work"` // null where no hour's cost was given
	Cost        *float64 `json:"cost"`
	Distance    *float64 `json:"distance"`
	Estimated   *float64 `json:"distance_estimated"` // of distance
	Per1000Km   *float64 `json:"per_1000_km"`
	HireDays    *int     `json:"hire_days"` // null where of no bike known
	WithoutDays int      `json:"bikes_without_hire_days"`
	PerHireDay  *float64 `json:"per_hire_day"`
	PricePerDay *float64 `json:"price_per_hire_day"`
}

func costOf(c *wear.Costs, l *wear.CostLine) costJSON {
	out := costJSON{
		Kind: textOf(l.Kind), Model: textOf(l.Model), Bikes: l.Bikes, Changes: l.Spent.Changes, ByList: l.Spent.ByList,
		Later: l.Spent.Later, NoPrice: l.Spent.NoPrice, Jobs: l.Spent.Jobs, Paid: moneyOf(l.Spent.Paid), Listed: moneyOf(l.Spent.Listed),
		Parts: moneyOf(l.Spent.Parts()), Minutes: l.Spent.Minutes, Typical: l.Spent.Typical, Untimed: l.Spent.Untimed,
		Cost: moneyOf(l.Spent.Cost(c.Hour)), Distance: figureOf(metresOf(l.Way), 2), Estimated: figureOf(metresOf(l.Est), 2), WithoutDays: l.Blind,
	}
	switch c.By {
	case wear.ByBike:
		out.Bike = textOf(l.Name)
	case wear.ByDepot:
		out.Depot = textOf(l.Name)
	}
	if c.Hour > 0 {
		out.Work = moneyOf(l.Spent.Work(c.Hour))
	}
	if v, ok := l.PerWay(c.Hour); ok {
		out.Per1000Km = figureOf(v/100, 4)
	}
	if v, ok := l.PerDay(c.Hour); ok {
		out.HireDays, out.PerHireDay = &l.Days, figureOf(v/100, 4)
	}
	if v, ok := l.FarePerDay(); ok {
		out.PricePerDay = figureOf(v/100, 4)
	}
	return out
}

// moneyOf is an amount of hundredths in the book's currency.
func moneyOf(hundredths int64) *float64 { return figureOf(float64(hundredths)/100, 2) }

// CostsJSON writes what parts and work cost as one JSON object, all lines.
func CostsJSON(w io.Writer, c wear.Costs, s Style) error {
	lines := []costJSON{}
	for i := range c.Lines {
		lines = append(lines, costOf(&c, &c.Lines[i]))
	}
	total := costOf(&c, &c.Total)
	total.Bike, total.Depot = nil, nil
	var hour *float64
	if c.Hour > 0 {
		hour = moneyOf(c.Hour)
	}
	_, idle := worked(c.Lines)
	return writeJSON(w, struct {
		envelope
		From  *string    `json:"from"`
		To    *string    `json:"to"`
		By    string     `json:"by"`
		Hour  *float64   `json:"hour"`
		Lines []costJSON `json:"lines"`
		Total costJSON   `json:"total"`
		Notes []string   `json:"notes"`
	}{enclose(nil), isoTime(c.From, s.zone()), isoTime(c.To, s.zone()), string(c.By), hour, lines, total, Style{}.costNotes(c, idle)})
}

// CostsCSV writes what parts and work cost as CSV, without the total.
func CostsCSV(w io.Writer, c wear.Costs) error {
	out := newSheet(w, "kind", "model", "bike", "depot", "bikes", "changes", "changes_priced_by_list", "changes_without_price", "jobs",
		"parts", "minutes", "minutes_of_schedule", "work", "cost", "distance", "per_1000_km", "hire_days", "per_hire_day", "price_per_hire_day")
	for i := range c.Lines {
		j := costOf(&c, &c.Lines[i])
		days := ""
		if j.HireDays != nil {
			days = strconv.Itoa(*j.HireDays)
		}
		out.row(cell(orEmpty(j.Kind)), cell(orEmpty(j.Model)), cell(orEmpty(j.Bike)), cell(orEmpty(j.Depot)),
			strconv.Itoa(j.Bikes), strconv.Itoa(j.Changes), strconv.Itoa(j.ByList), strconv.Itoa(j.NoPrice), strconv.Itoa(j.Jobs),
			some(j.Parts), strconv.FormatInt(j.Minutes, 10), strconv.FormatInt(j.Typical, 10), some(j.Work), some(j.Cost),
			some(j.Distance), some(j.Per1000Km), days, some(j.PerHireDay), some(j.PricePerDay))
	}
	return out.done()
}
