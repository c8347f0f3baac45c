package report

import (
	"io"

	"pawl/wear"
)

type cogsJSON struct {
	Bike     string    `json:"bike"`
	Cassette string    `json:"cassette"`
	Since    *string   `json:"since"`
	Ring     *float64  `json:"ring"`
	Wheel    *float64  `json:"wheel"` // m
	Turns    *float64  `json:"turns"`
	Known    *float64  `json:"known"`    // turns
	Recorded *float64  `json:"recorded"` // turns
	NoCog    *float64  `json:"no_cog"`   // turns
	Rough    bool      `json:"rough"`
	Data     string    `json:"data"`
	Limit    *float64  `json:"limit"` // contacts
	Source   *string   `json:"source"`
	Bend     *float64  `json:"chain_weight"`
	Largest  *float64  `json:"work_two_largest"`
	Least    *float64  `json:"work_two_smallest"`
	Suit     *string   `json:"ring_suits"` // "suits", "smaller", "larger"; null = not known
	Cogs     []cogJSON `json:"cogs"`
	Notes    []string  `json:"notes"`
}

type cogJSON struct {
	Teeth     int      `json:"teeth"`
	Turns     *float64 `json:"turns"`
	Work      *float64 `json:"work"`
	Share     *float64 `json:"share"`
	WorkShare *float64 `json:"work_share"`
	Contacts  *float64 `json:"contacts"`
	Worn      *float64 `json:"worn"`
}

func (s Style) cogsOf(c wear.Cogs) cogsJSON {
	out := cogsJSON{
		Bike: c.Bike.Name, Cassette: c.Cassette.Name, Since: isoTime(c.Since, s.zone()),
		Ring: positive(float64(c.Gearing.Ring)), Wheel: positive(c.Gearing.Wheel),
		Turns: figureOf(c.Turns, 3), Known: figureOf(c.Known, 3), Recorded: figureOf(c.Recorded, 3), NoCog: figureOf(c.Lost, 3),
		Rough: c.Rough, Data: string(c.Data), Limit: positive(c.Limit), Source: textOf(c.Source), Bend: figureOf(c.Bend, 4),
		Suit: textOf(string(c.Suit)), Cogs: []cogJSON{}, Notes: list(c.Notes),
	}
	if c.Suit != wear.SuitUnknown {
		out.Largest, out.Least = figureOf(c.Largest, 4), figureOf(c.Least, 4)
	}
	for _, l := range c.Lines {
		out.Cogs = append(out.Cogs, cogJSON{l.Teeth, figureOf(l.Turns, 3), figureOf(l.Work, 0), figureOf(l.Share, 4),
			figureOf(l.WorkShare, 4), figureOf(l.Contacts, 1), figureOf(l.Worn, 4)})
	}
	return out
}

// CogsJSON writes the cogs as one JSON object.
func CogsJSON(w io.Writer, c wear.Cogs, s Style) error {
	return writeJSON(w, struct {
		envelope
		cogsJSON
	}{enclose(nil), s.cogsOf(c)})
}
