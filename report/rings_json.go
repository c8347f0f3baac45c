package report

import (
	"io"
	"strconv"

	"pawl/wear"
)

type ringsJSON struct {
	Ring      *float64       `json:"ring"`
	Cogs      []int          `json:"cogs"`
	Speeds    *float64       `json:"speeds"`
	Wheel     *float64       `json:"wheel"`      // m
	ChainLine *float64       `json:"chain_line"` // mm
	Usual     []betweenJSON  `json:"usual_chain_lines"`
	First     []string       `json:"first"`
	Together  []string       `json:"together"`
	Rings     []ringJSON     `json:"rings"`
	Refused   []refusalJSON  `json:"refused"`
	Questions []questionJSON `json:"questions"`
	Cautions  []string       `json:"cautions"`
}

type betweenJSON struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

type ringJSON struct {
	Model     *string    `json:"model"`
	Teeth     int        `json:"teeth"`
	Same      bool       `json:"same"`
	Percent   *float64   `json:"percent"`
	Speed     *float64   `json:"speed"` // m/s
	Gears     []gearJSON `json:"gears"`
	Chain     *chainJSON `json:"chain"`
	Radius    *float64   `json:"radius"`     // mm
	Move      *float64   `json:"move"`       // mm
	ChainLine *float64   `json:"chain_line"` // mm
	Notes     []string   `json:"notes"`
}

type gearJSON struct {
	Cog int      `json:"cog"`
	Was *float64 `json:"was"` // m
	Now *float64 `json:"now"` // m
}

type chainJSON struct {
	Pitches int      `json:"pitches"`
	Exact   *float64 `json:"exact"`
}

type refusalJSON struct {
	Model *string `json:"model"`
	Teeth int     `json:"teeth"`
	Why   string  `json:"why"`
}

type questionJSON struct {
	About string  `json:"about"`
	Ask   string  `json:"ask"`
	Do    *string `json:"do"`
}

func ringsOf(d RingsPage) ringsJSON {
	out := ringsJSON{
		Ring: positive(float64(d.Query.Ring)), Cogs: list(d.Query.Cogs), Speeds: positive(float64(d.Query.Speeds)),
		Wheel: positive(d.Query.Wheel), ChainLine: positive(d.Query.Line), Usual: []betweenJSON{}, First: list(d.Advice.First),
		Together: list(d.Advice.Together), Rings: []ringJSON{}, Refused: []refusalJSON{}, Questions: []questionJSON{},
		Cautions: list(d.Cautions),
	}
	for _, l := range d.Advice.Lines {
		out.Usual = append(out.Usual, betweenJSON{l.From, l.To})
	}
	for _, c := range d.Advice.Choices {
		out.Rings = append(out.Rings, ringOf(d.Query, c))
	}
	for _, r := range d.Advice.Refused {
		out.Refused = append(out.Refused, refusalJSON{textOf(r.Model), r.Teeth, r.Why})
	}
	for _, q := range d.Advice.Questions {
		out.Questions = append(out.Questions, questionJSON{q.About, q.Ask, textOf(d.Do[q.About])})
	}
	return out
}

func ringOf(q wear.RingQuery, c wear.RingChoice) ringJSON {
	out := ringJSON{
		Model: textOf(c.Model), Teeth: c.Teeth, Same: c.Same, Speed: positive(c.Speed), Gears: []gearJSON{},
		Radius: figureOf(c.Radius, 2), ChainLine: positive(c.Line), Notes: list(c.Notes),
	}
	if q.Ring != 0 {
		out.Percent, out.Move = figureOf(c.Percent, 2), figureOf(c.Move, 2)
	}
	for _, g := range c.Gears {
		out.Gears = append(out.Gears, gearJSON{g.Cog, positive(g.Was), positive(g.Now)})
	}
	if c.Chain != nil {
		out.Chain = &chainJSON{c.Chain.Pitches, figureOf(c.Chain.Exact, 2)}
	}
	return out
}

// RingsJSON writes which rings fit a bike as one JSON object.
func RingsJSON(w io.Writer, d RingsPage) error {
	return writeJSON(w, struct {
		envelope
		Bike string `json:"bike"`
		ringsJSON
	}{enclose(nil), d.Bike, ringsOf(d)})
}

// RingsCSV writes the rings that fit, and those that do not, as CSV: mm, m/s, per cent.
func RingsCSV(w io.Writer, d RingsPage) error {
	out := newSheet(w, "bike", "model", "teeth", "fits", "percent", "speed", "chain_pitches", "radius", "move", "chain_line", "why_not")
	for _, c := range d.Advice.Choices {
		j := ringOf(d.Query, c)
		chain := ""
		if c.Chain != nil {
			chain = strconv.Itoa(c.Chain.Pitches)
		}
		out.row(cell(d.Bike), cell(c.Model), strconv.Itoa(c.Teeth), yesNo(true), some(j.Percent), some(j.Speed), chain,
			some(j.Radius), some(j.Move), some(j.ChainLine), "")
	}
	for _, r := range d.Advice.Refused {
		out.row(cell(d.Bike), cell(r.Model), strconv.Itoa(r.Teeth), yesNo(false), "", "", "", "", "", "", cell(r.Why))
	}
	return out.done()
}
