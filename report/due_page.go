package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pawl/wear"
)

// dueRows is how many jobs of many bikes a page shows where nobody says.
const dueRows = 40

// shownBeside is how many lines are shown of what is beside the jobs: bikes that are
// held, parts that are watched; and how many notes.
const (
	shownBeside = 20
	shownNotes  = 5
)

// dueGroup are the jobs of one verdict in the order in which they are shown.
type dueGroup struct {
	verdict wear.Verdict
	head    string // of those that take a line each
	jobs    []*wear.Finding
	from    int // of all jobs of the list, those before it
}

// dueGroups are the jobs that the list shows, the most urgent first. The last group
// is that of what is fine, also where it is empty.
func (p *duePage) dueGroups(d DueList, fs []*wear.Finding) []dueGroup {
	var list []dueGroup
	from := 0
	for _, v := range []wear.Verdict{wear.Stop, wear.Due, wear.Order, wear.Fine} {
		g := dueGroup{verdict: v, head: p.verdict(v), jobs: ofVerdict(fs, v), from: from}
		if v == wear.Fine && !d.All {
			g.head, g.jobs = "coming next", slices.DeleteFunc(g.jobs, far)
		}
		if v < wear.Due {
			slices.SortStableFunc(g.jobs, soonest)
		}
		from += len(g.jobs)
		list = append(list, g)
	}
	return list
}

// pageOf is the page of all jobs. Who asks for one bike sees all of it.
func (p *duePage) pageOf(d DueList, list []dueGroup) (window, error) {
	last := list[len(list)-1]
	usual := dueRows
	if d.Bikes <= 1 {
		usual = math.MaxInt
	}
	return p.Pages.window(last.from+len(last.jobs), usual)
}

// totals says before a page of a long list what all of it comes to.
func (p *duePage) totals(d DueList, list []dueGroup, w window) {
	if !w.part() {
		return
	}
	var parts []string
	for _, g := range list {
		if len(g.jobs) == 0 {
			continue
		}
		word, _, _ := strings.Cut(g.verdict.Words(), ":")
		if g.verdict == wear.Fine && !d.All {
			word = g.head
		}
		parts = append(parts, fmt.Sprintf("%s %s on %s", word, plural(len(g.jobs), "job", "jobs"), plural(bikesOf(g.jobs), "bike", "bikes")))
	}
	p.para("", p.bold("of "+plural(d.Bikes, "bike", "bikes"))+": "+strings.Join(parts, "; ")+".")
}

func bikesOf(fs []*wear.Finding) int {
	bikes := map[urgency]bool{}
	for _, f := range fs {
		bikes[urgency{0, f.BikeID, f.Bike}] = true
	}
	return len(bikes)
}

// due adds what the page shows of a group.
func (p *duePage) due(g dueGroup, w window) {
	from, to := max(w.from-g.from, 0), min(w.to-g.from, len(g.jobs))
	if from >= to {
		return
	}
	if g.verdict >= wear.Due {
		p.group(g, from, to)
		return
	}
	p.gap()
	p.line(g.head, "  ", plural(len(g.jobs), "job", "jobs"))
	p.compact(g.jobs[from:to])
}

// quiet says that nothing is due where that was asked and is so.
func (p *duePage) quiet(d DueList, fs []*wear.Finding) {
	has := func(v wear.Verdict) bool {
		return slices.ContainsFunc(fs, func(f *wear.Finding) bool { return f.Verdict == v })
	}
	switch {
	case has(wear.Stop) || has(wear.Due):
	case len(d.Only) == 0:
		p.nothing(fs)
	default:
		p.noneOf(d.Only, has)
	}
}

// noneOf says of which of the verdicts that were asked for there is no job.
func (p *duePage) noneOf(asked []wear.Verdict, has func(wear.Verdict) bool) {
	var words []string
	for _, v := range asked {
		if !has(v) {
			words = append(words, v.Words())
		}
	}
	if len(words) > 0 {
		p.gap()
		p.para("", p.bold("No job is "+strings.Join(words, " or ")+"."))
	}
}

// more says that a list beside the jobs goes on.
func (p *page) more(n int) { p.line("  and ", number(float64(n), 0), " more") }

// Wanted returns what keeps of one bike's findings those that a list of many can
// show: a fleet's findings in full would fill the memory. A machine is told what is
// not fine; a person also what comes next, and of each bike the next of all.
func Wanted(all, machine bool) func([]wear.Finding) []wear.Finding {
	if all {
		return func(fs []wear.Finding) []wear.Finding { return fs }
	}
	return func(fs []wear.Finding) []wear.Finding {
		next := -1
		for i := range fs {
			if f := &fs[i]; !machine && !over(f) && (next < 0 || soonest(f, &fs[next]) < 0) {
				next = i
			}
		}
		var kept []wear.Finding
		for i := range fs {
			if f := &fs[i]; f.Verdict > wear.Fine || i == next || !machine && !far(f) {
				kept = append(kept, *f)
			}
		}
		return kept
	}
}
