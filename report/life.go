package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"pawl/wear"
)

// LifeLine is how long the parts of one kind and model last.
type LifeLine struct {
	Kind, Model string
	By          wear.CountOf // in what their life is told
	Least, Most float64      // what the schedule expects of them
	Parts       int
	Result      wear.LifeResult
	Refused     *wear.LifeError // why there are no figures; nil = there are
}

func (l LifeLine) name() string {
	return strings.TrimSpace(clean(l.Kind) + " " + brief(l.Model, longName))
}

// PartLife writes how long parts last to a terminal; closely says how each
// figure came about.
func PartLife(w io.Writer, lines []LifeLine, closely bool, s Style) error {
	p := &page{Style: s}
	lines, window, err := cut(s.Pages, lines, manyRows)
	if err != nil {
		return err
	}
	var known, refused []LifeLine
	for _, l := range lines {
		if l.Refused == nil {
			known = append(known, l)
		} else {
			refused = append(refused, l)
		}
	}
	p.lifeTable(known)
	if closely {
		for _, l := range known {
			p.life(l)
		}
	}
	p.unknownLife(refused, closely)
	p.gap()
	p.para("", "Only parts that wore out or broke tell how long such parts last; what still runs, or ended otherwise, is known to have lasted so far. "+
		"A life never condemns a part: the reading or the look does.")
	p.rest(window, "kind or model", "kinds and models", "--csv")
	return p.to(w)
}

func (p *page) lifeTable(lines []LifeLine) {
	if len(lines) == 0 {
		return
	}
	cols := []column{
		{title: "part", least: 10}, {title: "failed", right: true}, {title: "half outlast", least: 10},
		{title: "90 % interval", least: 8}, {title: "B10", least: 8}, {title: "schedule", least: 8},
	}
	rows := make([][]string, len(lines))
	for i, l := range lines {
		rows[i] = p.lifeRow(l)
	}
	p.table(filled(cols, rows))
	p.gap()
	p.para("", "Half outlast: the median, with its interval. B10: the load by which a tenth have failed, told from ten failures on. Schedule: what it expects.")
}

func (p *page) lifeRow(l LifeLine) []string {
	r := l.Result
	row := []string{
		l.name(), fmt.Sprintf("%d of %d", r.Failures, r.Failures+r.Censored), p.lasts(r.Median.At, l.By.Unit()), p.between(r.Median, l.By.Unit()), "",
		p.expected(l),
	}
	if r.B10 != nil {
		row[4] = p.lasts(r.B10.At, l.By.Unit())
	}
	if r.Rough {
		row[2] += ", rough"
	}
	return row
}

// lasts is a load as people remember it: in three figures.
func (s Style) lasts(v float64, unit string) string {
	m := s.measure(unit, v)
	return m.write(three(v/m.by)) + " " + m.unit
}

// three is a figure rounded to three figures.
func three(v float64) float64 {
	if v <= 0 {
		return v
	}
	p := math.Pow(10, math.Floor(math.Log10(v))-2)
	return math.Round(v/p) * p
}

// between is the interval of a figure.
func (s Style) between(b wear.LifeBand, unit string) string {
	m := s.measure(unit, max(b.From, b.At, b.To))
	if b.To == 0 {
		return "from " + m.write(three(b.From/m.by)) + " " + m.unit + " on"
	}
	return m.write(three(b.From/m.by)) + " to " + m.write(three(b.To/m.by)) + " " + m.unit
}

// expected is what the schedule expects.
func (s Style) expected(l LifeLine) string {
	if l.Least == l.Most {
		return s.lasts(l.Least, l.By.Unit())
	}
	return s.between(wear.LifeBand{From: l.Least, To: l.Most}, l.By.Unit())
}

// life adds how the figures of one kind and model came about.
func (p *page) life(l LifeLine) {
	r, unit := l.Result, l.By.Unit()
	p.gap()
	p.painted("", l.name(), p.bold)
	p.para("  ended       ", endings(r.Endings))
	p.para("  median      ", p.lasts(r.Median.At, unit)+", 90 % interval "+p.between(r.Median, unit))
	if r.B10 != nil {
		p.para("  B10         ", p.lasts(r.B10.At, unit)+", 90 % interval "+p.between(*r.B10, unit))
	} else {
		p.para("  B10         ", "not told from fewer than 10 failures")
	}
	p.para("  Weibull     ", fmt.Sprintf("shape %s ± %s, scale %s ± %s", number(r.Shape, 2), number(r.ShapeErr, 2),
		p.lasts(r.Scale, unit), p.lasts(r.ScaleErr, unit)))
	p.para("  expectation ", fmt.Sprintf("%s with a log-sd of %s, where the schedule has %s; an override's expect puts it in force",
		p.lasts(r.Prior.Median, unit), number(r.Prior.LogSD, 2), p.expected(l)))
	p.para("  method      ", r.Method)
	for _, n := range r.Notes {
		p.para("  note        ", clean(n))
	}
}

// endings is how many ended by each cause: "7 worn, 1 crash, 3 running".
func endings(list []wear.Ending) string {
	var out []string
	for _, e := range list {
		cause := string(e.Cause)
		if cause == "" {
			cause = "still running"
		}
		out = append(out, fmt.Sprintf("%d %s", e.N, cause))
	}
	return strings.Join(out, ", ")
}

// unknownLife adds those of which too few have failed.
func (p *page) unknownLife(lines []LifeLine, closely bool) {
	if len(lines) == 0 {
		return
	}
	p.gap()
	p.line("Too few have worn out or broken to say")
	idle := 0
	for _, l := range lines {
		if l.Result.Failures == 0 && !closely {
			idle++
			continue
		}
		text := endings(l.Result.Endings)
		if text == "" {
			text = "none was ridden yet"
		}
		p.para("  "+l.name()+"  ", fmt.Sprintf("%s; the schedule's %s holds", text, p.expected(l)))
	}
	if idle > 0 {
		p.line("  ", plural(idle, "kind or model", "kinds or models"), " of which none has")
	}
	p.para("  ", sentence(lines[0].Refused.Hint()))
}
