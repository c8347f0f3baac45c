package report

import (
	"io"
	"slices"
	"strings"

	"pawl/wear"
)

// TripPage is whether bikes will last a trip.
type TripPage struct {
	Today    wear.Instant
	Trip     wear.Trip
	Bikes    []TripBike
	All      bool // list what is far from its limit too
	Warnings []string
}

// TripBike is one bike on a trip, what does not last first.
type TripBike struct {
	Bike    string
	Retired bool
	Lines   []wear.TripLine
}

// Trip writes to a terminal what will last a trip, what will not, and what to
// do before.
func Trip(w io.Writer, d TripPage, s Style) error {
	p := &tripPage{duePage: duePage{page: page{Style: s}, today: d.Today}, trip: d.Trip, all: d.All}
	p.line(p.bold("The trip: " + p.tripText(d.Trip)))
	p.para("", "What is not said of it is taken to be as the bike was ridden lately.")
	for _, b := range d.Bikes {
		p.bike(b)
	}
	p.footnotes(d.Warnings)
	p.gap()
	p.para("", wear.Caution+".")
	return p.to(w)
}

type tripPage struct {
	duePage
	trip wear.Trip
	all  bool
}

// tripText is the trip as given.
func (s Style) tripText(t wear.Trip) string {
	out := []string{figure(t.Days) + " days"}
	if t.Days == 1 {
		out[0] = "1 day"
	}
	if t.Distance > 0 {
		out = append(out, s.distance(t.Distance))
	}
	if t.Climb > 0 {
		out = append(out, s.height(t.Climb)+" up")
	}
	if t.Moving > 0 {
		out = append(out, hours(t.Moving))
	}
	return strings.Join(out, ", ")
}

func (p *tripPage) bike(b TripBike) {
	p.gap()
	p.painted("", brief(b.Bike, longName), p.bold)
	var now, no, yes []*wear.TripLine
	for i := range b.Lines {
		switch l := &b.Lines[i]; {
		case l.Finding.Verdict >= wear.Due:
			now = append(now, l)
		case l.Lasts:
			yes = append(yes, l)
		default:
			no = append(no, l)
		}
	}
	switch {
	case b.Retired:
		p.line("  retired: it goes on no trip")
		return
	case len(now)+len(no) == 0:
		p.line("  nothing falls due on it")
	}
	p.dueNow(now)
	p.fallsDue(no)
	p.lasts(yes)
}

// dueNow are jobs that are due before it starts.
func (p *tripPage) dueNow(list []*wear.TripLine) {
	if len(list) == 0 {
		return
	}
	p.line("  due now, do before it  ", plural(len(list), "job", "jobs"))
	for _, l := range list {
		f := &l.Finding
		text := brief(f.Part, longName) + ": " + f.Title
		if f.Verdict == wear.Stop {
			text += " (" + f.Verdict.Words() + ")"
		}
		if p.again(l) {
			text += ", and again on the way"
		}
		p.para("    "+p.paint(signs[f.Verdict].shape, signs[f.Verdict].colour)+" ", text)
	}
}

// again reports whether the trip alone is longer than the job's interval; a
// first check's limit is not that.
func (p *tripPage) again(l *wear.TripLine) bool {
	f := &l.Finding
	return !strings.HasPrefix(f.Rule, "after ") && f.Act != wear.ActChange && f.Limit > 0 && l.Unit == f.Unit && l.Adds >= f.Limit
}

// fallsDue are jobs that will, or may well, fall due before the end.
func (p *tripPage) fallsDue(list []*wear.TripLine) {
	if len(list) == 0 {
		return
	}
	p.gap()
	p.line("  may not last  ", plural(len(list), "job", "jobs"))
	for _, l := range list {
		f := &l.Finding
		p.painted("    "+p.paint(signs[wear.Due].shape, signs[wear.Due].colour)+" ",
			brief(f.Part, longName)+": "+f.Title+" – "+odds(l), p.bold)
		p.para("      ", sentence(p.why(l))+p.marks(f.Notes))
		p.para("      ", sentence(p.before(l)))
	}
}

// odds says how likely a job is not to fall due on the trip: of a part that is
// measured in per cent, of what counts yes or no.
func odds(l *wear.TripLine) string {
	switch {
	case measurable(l):
		return likelihood(1-l.Chance) + " likely to last"
	case l.Lasts:
		return "yes"
	}
	return "no"
}

// measurable reports whether the line rests on a forecast of readings.
func measurable(l *wear.TripLine) bool {
	return l.Finding.Act == wear.ActChange && l.Finding.LoadUnit != ""
}

// why is what is used now and at the end.
func (p *tripPage) why(l *wear.TripLine) string {
	f := &l.Finding
	if measurable(l) || l.Unit != f.Unit || f.Limit == 0 {
		return l.Text
	}
	out := p.amount(f.Used, f.Unit) + " now, about " + p.amount(p.rounded(l.After*f.Limit, f.Unit), f.Unit) + " at the end, limit " + p.limit(f)
	if l.Day > 0 && p.trip.Days > 1 {
		out += ": due on about day " + number(l.Day, 0)
	}
	return out
}

// before is what to do before the trip.
func (p *tripPage) before(l *wear.TripLine) string {
	switch f := &l.Finding; {
	case measurable(l) && f.Basis != wear.ByReading:
		return "before it: measure, it was not measured yet"
	case f.Act == wear.ActChange:
		return "before it: " + f.Title + ", or take a new one along"
	case p.again(l):
		return "before it, and again on the way: " + f.Title
	case f.Act == wear.ActLook || f.Act == wear.ActCheck || f.Act == wear.ActMeasure:
		return "before it: " + f.Title
	default:
		return "before it, or on the way: " + f.Title
	}
}

// half is the share of its limit from which a job that lasts is named.
const half = 0.5

// lasts are the jobs that do not fall due, a line each; without all those that
// are far from it are only counted.
func (p *tripPage) lasts(list []*wear.TripLine) {
	if len(list) == 0 {
		return
	}
	p.gap()
	p.line("  will last  ", plural(len(list), "job", "jobs"))
	near := list
	if !p.all {
		near = slices.DeleteFunc(slices.Clone(list), func(l *wear.TripLine) bool { return l.After < half })
	}
	if len(near) > 0 {
		p.lastsTable(near)
	}
	if rest := len(list) - len(near); rest > 0 {
		p.line("    ", plural(rest, "job", "jobs"), " not half way to the limit at the end (--all)")
	}
}

func (p *tripPage) lastsTable(list []*wear.TripLine) {
	rows := make([][]string, len(list))
	for i, l := range list {
		odds := "yes"
		if measurable(l) {
			odds = likelihood(1 - l.Chance)
		}
		rows[i] = []string{"  ", brief(l.Finding.Part, longName) + " " + clean(l.Finding.Job), odds, share(l.After)}
	}
	p.table([]column{
		{title: "  "}, {title: "part and job", least: 12}, {title: "lasts", right: true}, {title: "used at the end", right: true},
	}, rows)
}
