package report

import (
	"fmt"
	"io"
	"strings"

	"pawl/wear"
)

// WhyPage is how a figure came about, down to the rides.
type WhyPage struct {
	Explanation wear.Explanation
	Today       wear.Instant
	Bikes       map[wear.ID]string // names for the stays
	Rides       []RideLine         // those that the figure counts, newest last
	Earlier     int                // how many more there are before them
	NoPlot      bool               // leave out the plot of a forecast
	Warnings    []string
}

// Why writes to a terminal how a figure came about.
func Why(w io.Writer, d WhyPage, s Style) error {
	p := &whyPage{duePage: duePage{page: page{Style: s}, today: d.Today}, e: &d.Explanation, bikes: d.Bikes}
	p.answer()
	p.forecast(d.NoPlot)
	p.counted()
	p.said()
	p.life()
	p.ahead()
	p.changes()
	p.rides(d)
	p.footnotes(d.Warnings)
	p.gap()
	p.para("", wear.Caution+".")
	return p.to(w)
}

type whyPage struct {
	duePage
	e     *wear.Explanation
	bikes map[wear.ID]string
}

// head starts a section.
func (p *whyPage) head(text string) {
	p.gap()
	p.painted("", text, p.bold)
}

// answer is the finding in full, its reasons, its rule and the limit's source.
func (p *whyPage) answer() {
	f := &p.e.Finding
	p.painted("", brief(f.Bike, longName)+", "+brief(f.Part, longName)+": "+f.Title, p.bold)
	p.para(p.verdict(f.Verdict)+"  ", p.figures(f)+p.marks(f.Notes))
	for i, r := range f.Reasons {
		lead := "  because  "
		if i > 0 {
			lead = "  and      "
		}
		p.para(lead, r.Text)
	}
	for _, fact := range [][2]string{
		{"rule", p.e.Rule}, {"source", f.Source}, {"do", f.Advice}, {"to clear", whatClears(f)}, {"caution", f.Caution},
	} {
		if fact[1] != "" {
			p.para("  "+fact[0]+strings.Repeat(" ", 9-width(fact[0])), fact[1])
		}
	}
}

// whatClears is empty unless the finding stops the bike.
func whatClears(f *wear.Finding) string {
	if f.Verdict != wear.Stop {
		return ""
	}
	return f.Clears + "; " + wear.StopCaution
}

// counted is what each count adds up to, ground by ground.
func (p *whyPage) counted() {
	if len(p.e.Counts) == 0 {
		return
	}
	p.head("Counted " + p.since())
	for _, c := range p.e.Counts {
		p.count(c)
	}
}

// since is the moment that the job counts from, and why that one.
func (p *whyPage) since() string {
	if r, ok := lastRead(p.e); ok {
		return "since the reading of " + p.fullDay(r.At)
	}
	out := "since the bike's first ride"
	if p.e.Anchor.At != wear.Ever {
		out = "since " + p.fullDay(p.e.Anchor.At)
	}
	if p.e.Anchor.At != wear.Ever && p.e.Anchor.Why != "" {
		out += " (" + brief(p.e.Anchor.Why, longName) + ")"
	}
	return out
}

// lastRead is the reading from which the load of a part that was measured
// counts; ok is false where the job counts from something else.
func lastRead(e *wear.Explanation) (r wear.Reading, ok bool) {
	if e.Forecast == nil || len(e.Forecast.Weights) == 0 {
		return r, false
	}
	return e.Forecast.Weights[len(e.Forecast.Weights)-1].Reading, true
}

func (p *whyPage) count(c wear.CountLine) {
	// A count shows like a finding by count with the same figures.
	f := wear.Finding{Basis: wear.ByCount, Used: c.Used, Limit: c.Limit, Unit: c.Unit, Data: c.Data}
	text := p.amount(c.Used, c.Unit)
	if _, read := lastRead(p.e); read {
		if text = p.load(c.Used, c.Unit); c.Used == 0 {
			p.para("  "+strings.ReplaceAll(c.By, "_", " ")+"  ", "nothing was ridden since")
			return
		}
	} else if c.Limit != 0 {
		text = p.used(&f) + ", " + share(c.Share) + " used"
	}
	if d := data(&f); d != "" {
		text += ", " + d
	}
	if c.Formula != "" {
		text += ", " + c.Formula
	}
	if c.Decides && len(p.e.Counts) > 1 {
		text += ": this one decides"
	}
	p.para("  "+strings.ReplaceAll(c.By, "_", " ")+"  ", text)
	p.grounds(c)
}

func (p *whyPage) grounds(c wear.CountLine) {
	if len(c.Grounds) == 0 {
		return
	}
	rows := make([][]string, len(c.Grounds))
	for i, g := range c.Grounds {
		rows[i] = []string{
			"", g.Ground.String(), number(float64(g.Rides), 0), p.amount(g.Amount, c.Unit),
			"× " + hundredths(g.Factor), "= " + p.amount(g.Used, c.Unit),
		}
	}
	p.table([]column{
		{title: "  "}, {title: "ground"}, {title: "rides", right: true}, {title: "as ridden", right: true},
		{title: "factor", right: true}, {title: "counts", right: true},
	}, rows)
}

// said is what tools, eyes and hands said of the part.
func (p *whyPage) said() {
	p.history(p.e.Readings, p.e.Looks, p.e.SignOffs)
}

// life is where the part was and what it did there.
func (p *whyPage) life() {
	lines := make([]StayLine, len(p.e.Stays))
	for i, st := range p.e.Stays {
		lines[i] = StayLine{Stay: st.Stay, Bike: p.bikes[st.Stay.Host], Total: st.Sum}
	}
	p.stays(lines)
}

// ahead is how left and date came about; a forecast has told it.
func (p *whyPage) ahead() {
	if p.e.Forecast != nil {
		return
	}
	r := p.e.Recent
	ridden := r.Unit != "" && r.Days > 0
	if ridden || len(p.e.How) > 0 {
		p.head("Ahead")
	}
	if ridden {
		p.para("  ", fmt.Sprintf("ridden lately: %s in %s, that is %s a day; last ride %s",
			p.amount(r.Used, r.Unit), plural(int(r.Days), "day", "days"), p.perDay(r), p.fullDay(r.Last)))
	}
	if p.e.Method != "" && p.when(&p.e.Finding) != "" {
		p.para("  ", "the date comes by "+p.e.Method)
	}
	for _, step := range p.e.How {
		p.para("  ", step)
	}
}

// changes is what would change the verdict.
func (p *whyPage) changes() {
	list := p.e.Changes
	if f := p.e.Forecast; f != nil && len(list) > 0 && list[0] == f.Turn {
		list = list[1:]
	}
	if len(list) > 0 {
		p.head("What would change it")
	}
	for _, c := range list {
		p.para("  ", c)
	}
}

// perDay is the daily use, as fine as a small figure needs.
func (p *whyPage) perDay(r wear.Recent) string {
	m := p.measure(r.Unit, r.PerDay)
	if v := r.PerDay / m.by; v < 10 {
		return hundredths(v) + " " + m.unit
	}
	return p.amount(r.PerDay, r.Unit)
}

// rides is the rides behind the figure.
func (p *whyPage) rides(d WhyPage) {
	if len(d.Rides) == 0 {
		return
	}
	p.head("Rides behind it")
	if d.Earlier > 0 {
		p.line("  after ", plural(d.Earlier, "earlier one", "earlier ones"), " not shown here")
	}
	rows := make([][]string, len(d.Rides))
	for i, r := range d.Rides {
		rows[i] = p.rideRow(r)
	}
	p.table(filled(p.rideColumns(), rows))
	p.para("", "~ estimated")
}
