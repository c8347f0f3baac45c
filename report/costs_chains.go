package report

import (
	"fmt"
	"io"

	"pawl/wear"
)

// ChainCosts is whether changing chains at 0.5 % or at 0.75 % costs less, over
// the cassettes and rings of so many bikes.
type ChainCosts struct {
	Bikes  int
	Result wear.PolicyResult
}

// wornKinds are what the costs are made of, in the order of the result.
var wornKinds = [3]string{"chain", "cassette", "ring"}

// moneyCaution ends the answer.
const moneyCaution = "It is an estimate of money alone: a chain at the limit in force stays due, one past 1 % skips and breaks."

// CostsOfChains writes the answer to a terminal, with what it rests on.
func CostsOfChains(w io.Writer, c ChainCosts, s Style) error {
	r := &c.Result
	p := &page{Style: s}
	p.painted("", r.Says(), p.bold)
	if !r.Own {
		p.para("", "It rests on common practice only: too few chains, cassettes and rings of these bikes were measured and worn out to tell.")
	}
	p.gap()
	p.chainTable(r)
	p.gap()
	for _, kind := range r.Lacking {
		p.para("", fmt.Sprintf("No price of a %s is known: pawl part stock %s --price 24.50, or --%s-price 24.50.", kind, kind, kind))
	}
	if len(r.Lacking) == 0 {
		per := p.wayPerKm()
		p.para("", fmt.Sprintf("Over %s 0.5 %% costs %s than 0.75 %%, in eight cases of ten between %s and %s.", p.perWay(),
			saves(r.Saves.P50*per), saves(r.Saves.P10*per), saves(r.Saves.P90*per)))
	}
	p.gap()
	p.line("It rests on")
	for _, text := range r.Rests {
		p.para("  ", text)
	}
	p.gap()
	p.line("It takes for granted that")
	for _, text := range r.Assumed {
		p.para("  ", text)
	}
	p.gap()
	p.para("", moneyCaution)
	return p.to(w)
}

func (p *page) chainTable(r *wear.PolicyResult) {
	cols := []column{{title: p.perWay()}}
	for _, l := range r.Limits {
		cols = append(cols, column{title: fmt.Sprintf("at %g %%", l.Limit), right: true}, column{title: "cost", right: true})
	}
	var rows [][]string
	for k, kind := range wornKinds {
		row := []string{kind + "s"}
		for i := range r.Limits {
			row = append(row, number(r.Limits[i].Parts[k]*p.wayPerKm(), 2), p.costOfKind(r, i, k))
		}
		rows = append(rows, row)
	}
	if len(r.Lacking) == 0 {
		all, in := []string{"all, median"}, []string{"80 % range"}
		for i := range r.Limits {
			all = append(all, "", money(r.Limits[i].Cost.P50*p.wayPerKm()))
			in = append(in, "", ranged(r.Limits[i].Cost, p.wayPerKm()))
		}
		rows = append(rows, all, in)
	}
	p.table(cols, rows)
}

// costOfKind is what the parts of a kind cost; unknown where no price is known.
func (s Style) costOfKind(r *wear.PolicyResult, limit, kind int) string {
	if r.Prices[kind] == 0 && r.Limits[limit].Parts[kind] > 0 {
		return unknown
	}
	return money(r.Limits[limit].Each[kind] * s.wayPerKm())
}

// ranged is the range of an amount of hundredths.
func ranged(v wear.Spread, per float64) string {
	return money(v.P10*per) + " to " + money(v.P90*per)
}

// saves says by how much something is cheaper or dearer.
func saves(hundredths float64) string {
	if hundredths < 0 {
		return money(-hundredths) + " more"
	}
	return money(hundredths) + " less"
}

type chainCostJSON struct {
	Limit     *float64            `json:"limit"`
	Parts     map[string]*float64 `json:"parts_per_1000_km"`
	Each      map[string]*float64 `json:"cost_of_parts"`
	Per1000Km *spreadJSON         `json:"per_1000_km"` // null where a price is not known
}

type spreadJSON struct {
	P10 *float64 `json:"p10"`
	P50 *float64 `json:"p50"`
	P90 *float64 `json:"p90"`
}

func spreadOf(v wear.Spread) *spreadJSON {
	return &spreadJSON{figureOf(v.P10/100, 4), figureOf(v.P50/100, 4), figureOf(v.P90/100, 4)}
}

// CostsOfChainsJSON writes the answer as one JSON object, money in the book's
// currency.
func CostsOfChainsJSON(w io.Writer, c ChainCosts) error {
	r := &c.Result
	out := struct {
		envelope
		Bikes   int                 `json:"bikes"`
		Limits  []chainCostJSON     `json:"limits"`
		Saves   *spreadJSON         `json:"saves"`  // what 0.5 % costs less over 1,000 km
		Chance  *float64            `json:"chance"` // that it does
		Prices  map[string]*float64 `json:"prices"`
		Lacking []string            `json:"lacking"`
		Own     bool                `json:"own_parts"`
		Says    string              `json:"says"`
		Rests   []string            `json:"rests_on"`
		Assumed []string            `json:"assumed"`
		Caution string              `json:"caution"`
	}{envelope: enclose(nil), Bikes: c.Bikes, Prices: map[string]*float64{}, Lacking: list(r.Lacking), Own: r.Own,
		Says: r.Says(), Rests: list(r.Rests), Assumed: list(r.Assumed), Caution: moneyCaution}
	told := len(r.Lacking) == 0
	for i := range r.Limits {
		l := chainCostJSON{Limit: figureOf(r.Limits[i].Limit, 2), Parts: map[string]*float64{}, Each: map[string]*float64{}}
		for k, kind := range wornKinds {
			l.Parts[kind] = figureOf(r.Limits[i].Parts[k], 4)
			if l.Each[kind] = nil; r.Prices[k] > 0 {
				l.Each[kind], out.Prices[kind] = figureOf(r.Limits[i].Each[k]/100, 4), moneyOf(r.Prices[k])
			}
		}
		if told {
			l.Per1000Km = spreadOf(r.Limits[i].Cost)
		}
		out.Limits = append(out.Limits, l)
	}
	if told {
		out.Saves, out.Chance = spreadOf(r.Saves), figureOf(r.Chance, 4)
	}
	return writeJSON(w, out)
}
