package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"pawl/wear"
)

// widestBar is how many columns the bar of the busiest cog takes at most.
const widestBar = 24

// Cogs writes where turns and wear of a cassette went to a terminal.
func Cogs(w io.Writer, c wear.Cogs, s Style) error {
	p := &page{Style: s}
	p.painted("", brief(c.Bike.Name, longName)+": turns and wear per cog", p.bold)
	p.cogs(c)
	return p.to(w)
}

// cogs adds what is known of a cassette.
func (p *page) cogs(c wear.Cogs) {
	p.para("  ", sentence(drive(c)))
	p.cogShares(c)
	if c.Known > 0 {
		p.para("  ", bend(c.Bend))
		if c.Limit > 0 {
			p.para("  ", fmt.Sprintf("Wear of a cog: how often each tooth met the chain, wet and mud counting more, of %s (%s). A count says what to expect, never that the part is worn.",
				number(c.Limit, 0), c.Source))
		}
	}
	for _, n := range c.Notes {
		p.para("  ", sentence(n))
	}
}

// cogShares adds a line for each cog where any is known, and how the ring suits.
func (p *page) cogShares(c wear.Cogs) {
	p.para("  ", p.told(c))
	if c.Known <= 0 {
		return
	}
	p.gap()
	p.cogTable(c)
	p.gap()
	if text := suits(c); text != "" {
		p.para("  ", text)
	}
}

// drive is ring, cassette and wheel in words.
func drive(c wear.Cogs) string {
	cogs := c.Gearing.Cogs
	out := fmt.Sprintf("%s from %d to %d (%s)", plural(len(cogs), "cog", "cogs"), cogs[0], cogs[len(cogs)-1], c.Cassette.Name)
	if c.Gearing.Ring > 0 {
		out += fmt.Sprintf(", a ring of %d", c.Gearing.Ring)
	}
	if c.Gearing.Wheel > 0 {
		out += ", " + number(1000*c.Gearing.Wheel, 0) + " mm round the wheel"
	}
	return out
}

// told says how much of the turns is known and how, and what no cog explains.
func (p *page) told(c wear.Cogs) string {
	out := number(c.Turns, 0) + " turns of the crank"
	switch c.Data {
	case wear.DataEstimated:
		out += " (estimated)"
	case wear.DataMixed:
		out += " (in part estimated)"
	}
	if c.Turns <= 0 {
		return out + "."
	}
	out += ", " + share(c.Known/c.Turns) + " of them on a known cog"
	switch {
	case c.Known <= 0:
	case c.Recorded >= c.Known:
		out += " by recorded gear changes"
	case c.Recorded > 0:
		out += ", " + share(c.Recorded/c.Known) + " of those by recorded gear changes, the rest from speed and cadence"
	default:
		out += " from speed and cadence"
	}
	if c.Lost > 0 {
		out += "; " + small(c.Lost/c.Turns) + " in a gear that no cog explains, left out"
	}
	return out + "."
}

// cogTable adds a line and a bar for each cog.
func (p *page) cogTable(c wear.Cogs) {
	cols := []column{{title: "cog", right: true}, {title: "turns", right: true}, {title: "share", right: true}, {title: ""},
		{title: "work", right: true}, {title: "contacts", right: true}, {title: "worn", right: true}}
	most := 0.0
	for _, l := range c.Lines {
		most = max(most, l.Share)
	}
	rows := make([][]string, len(c.Lines))
	for i, l := range c.Lines {
		worn := ""
		if c.Limit > 0 {
			worn = small(l.Worn)
		}
		rows[i] = []string{strconv.Itoa(l.Teeth), number(l.Turns, 0), small(l.Share), "",
			small(l.WorkShare), number(l.Contacts, 0), worn}
	}
	room := p.width() - len(gutter)*(len(cols)-1)
	for i, n := range natural(cols, rows) {
		if i != 3 {
			room -= n
		}
	}
	for i, l := range c.Lines {
		rows[i][3] = bar(l.Share/most, min(room, widestBar))
	}
	p.table(filled(cols, rows))
}

// eighths are the parts of a block.
var eighths = []rune(" ▏▎▍▌▋▊▉")

// bar is a share of the widest bar, exact to an eighth of a column; what is not
// nothing is seen.
func bar(share float64, widest int) string {
	n := int(math.Round(share * float64(8*max(widest, 0))))
	if share > 0 && widest > 0 {
		n = max(n, 1)
	}
	out := strings.Repeat("█", n/8)
	if n%8 > 0 {
		out += string(eighths[n%8])
	}
	return out
}

// small is a share in per cent, with a decimal below ten; what is not nothing is
// not shown as nothing.
func small(v float64) string {
	switch {
	case v > 0 && v < 0.0005:
		return "< 0.1 %"
	case v > 0 && v < 0.0995:
		return number(100*v, 1) + " %"
	}
	return share(v)
}

// suits says whether the ring's size suits the rider.
func suits(c wear.Cogs) string {
	ends := fmt.Sprintf("%s of the work is on the two largest cogs, %s on the two smallest", small(c.Largest), small(c.Least))
	switch c.Suit {
	case wear.SuitSmaller:
		return "A smaller ring would suit: " + ends + "."
	case wear.SuitLarger:
		return "A larger ring would suit: " + ends + "."
	case wear.SuitWell:
		return "The ring suits: " + ends + "."
	}
	return ""
}

// bend says what the gears do to the chain.
func bend(weight float64) string {
	return fmt.Sprintf("A turn of the crank wears the chain %s times as much as on 32/21, by how far its links bend.", hundredths(weight))
}

// CogsCSV writes the cogs as CSV in SI units.
func CogsCSV(w io.Writer, c wear.Cogs) error {
	out := newSheet(w, "bike", "cassette", "teeth", "turns", "work", "share", "work_share", "contacts", "worn")
	for _, l := range c.Lines {
		out.row(cell(c.Bike.Name), cell(c.Cassette.Name), strconv.Itoa(l.Teeth), amount(l.Turns), amount(l.Work),
			amount(l.Share), amount(l.WorkShare), amount(l.Contacts), amount(l.Worn))
	}
	return out.done()
}
