package report

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"pawl/wear"
)

// Plan is the work of a week, depot by depot.
type Plan struct {
	Today  wear.Instant
	Depots []wear.DepotWork
}

// shownJobs is how many sorts of jobs of a depot are told one by one.
const shownJobs = 4

// WeekPlan writes the week's work to a terminal: each depot's minutes, jobs and
// parts, then its bikes, one visit each.
func WeekPlan(w io.Writer, plan Plan, s Style) error {
	p := &planPage{page{Style: s}, plan}
	if len(plan.Depots) == 0 {
		p.line("Nothing will be due within a week.")
		p.gap()
		p.para("", wear.Caution+".")
		return p.to(w)
	}
	p.totals()
	var rows []planRow
	for i := range plan.Depots {
		d := &plan.Depots[i]
		for k := range d.Works {
			rows = append(rows, planRow{d, &d.Works[k]})
		}
	}
	shown, win, err := cut(p.Pages, rows, fewRows)
	if err != nil {
		return err
	}
	p.rows(shown)
	p.rest(win, "bike", "bikes", "--csv")
	p.gap()
	p.para("", fmt.Sprintf("Minutes are typical bench times of the schedule. Along: as likely as not due within %d days, and done at the same visit.", wear.FleetMonth))
	p.gap()
	p.para("", wear.Caution+".")
	return p.to(w)
}

type planPage struct {
	page
	plan Plan
}

type planRow struct {
	depot *wear.DepotWork
	work  *wear.BikeWork
}

// totals tells what each depot's week comes to.
func (p *planPage) totals() {
	cols := []column{
		{title: "depot", least: 6}, {title: "bikes", right: true}, {title: "hours", right: true},
		{title: "the most of it", least: 20}, {title: "parts to have ready", least: 18},
	}
	var rows [][]string
	for i := range p.plan.Depots {
		d := &p.plan.Depots[i]
		rows = append(rows, []string{
			cmp.Or(brief(d.Name, longName), unknown), number(float64(len(d.Works)), 0), figure(float64(d.Minutes) / 60), jobsWords(d.Jobs), partsWords(d.Parts),
		})
	}
	p.table(filled(cols, rows))
}

// jobsWords are the sorts of jobs that take the most time.
func jobsWords(jobs []wear.JobMinutes) string {
	var said []string
	for i, j := range jobs {
		if i == shownJobs {
			said = append(said, "and "+plural(len(jobs)-i, "other job", "other jobs"))
			break
		}
		said = append(said, fmt.Sprintf("%s × %s %s, %s min", number(float64(j.N), 0), j.Kind, j.Job, number(float64(j.Minutes), 0)))
	}
	return strings.Join(said, "; ")
}

// partsWords are how many of each kind: "4 chain, 2 rear-pads", the most first.
func partsWords(parts map[string]int) string {
	kinds := sortedKinds(parts)
	slices.SortStableFunc(kinds, func(x, y string) int { return parts[y] - parts[x] })
	said := make([]string, len(kinds))
	for i, k := range kinds {
		said[i] = fmt.Sprintf("%s %s", number(float64(parts[k]), 0), k)
	}
	return strings.Join(said, ", ")
}

func sortedKinds(parts map[string]int) []string {
	var kinds []string
	for k := range parts {
		kinds = append(kinds, k)
	}
	slices.Sort(kinds)
	return kinds
}

func (p *planPage) rows(shown []planRow) {
	var last *wear.DepotWork
	for _, r := range shown {
		if r.depot != last {
			p.gap()
			p.painted("", cmp.Or(brief(r.depot.Name, longName), "no depot")+": "+p.depotLine(r.depot), p.bold)
			last = r.depot
		}
		p.work(r.work)
	}
}

func (p *planPage) depotLine(d *wear.DepotWork) string {
	text := fmt.Sprintf("%s, %s h", plural(len(d.Works), "visit", "visits"), figure(float64(d.Minutes)/60))
	if d.Saved > 0 {
		text += fmt.Sprintf("; %s a second one within four weeks", plural(d.Saved, "spares", "spare"))
	}
	return text
}

func (p *planPage) work(w *wear.BikeWork) {
	worst := wear.Worst(w.Now)
	head := fmt.Sprintf("%s, %d min", brief(w.Bike.Name, longName), w.Minutes)
	switch {
	case worst >= wear.Due:
		head += ", " + worst.Words() + " " + signs[worst].shape
	}
	if w.Hold.Lifted != nil {
		head += ", released until " + p.day(w.Hold.Lifted.Until, p.plan.Today)
	} else if w.Hold.Held && worst != wear.Stop {
		head += ", held"
	}
	if w.Visit != 0 {
		head += ", comes on " + p.day(w.Visit, p.plan.Today)
	}
	p.para("  ", head)
	p.para("    now    ", workWords(w.Now))
	if len(w.Along) > 0 {
		p.para("    along  ", workWords(w.Along))
	}
	if len(w.Parts) > 0 {
		p.para("    parts  ", strings.Join(w.Parts, ", "))
	}
}

// workWords names jobs as sign-offs do.
func workWords(fs []wear.Finding) string {
	said := make([]string, len(fs))
	for i := range fs {
		said[i] = fs[i].Kind + ":" + fs[i].Job
	}
	return strings.Join(said, ", ")
}

type jobMinutesJSON struct {
	Kind    string `json:"kind"`
	Job     string `json:"job"`
	Title   string `json:"title"`
	N       int    `json:"n"`
	Minutes int    `json:"minutes"`
}

type workJSON struct {
	Bike    string   `json:"bike"`
	Verdict string   `json:"verdict"`
	Held    bool     `json:"held"`
	Now     []string `json:"now"`
	Along   []string `json:"along"`
	Minutes int      `json:"minutes"`
	Parts   []string `json:"parts"`
	Visit   *string  `json:"visit"`
}

type depotWorkJSON struct {
	Depot   *string          `json:"depot"`
	Minutes int              `json:"minutes"`
	Spared  int              `json:"visits_spared"`
	Parts   map[string]int   `json:"parts"`
	Jobs    []jobMinutesJSON `json:"jobs"`
	Bikes   []workJSON       `json:"bikes"`
}

// PlanJSON writes the week's work as one JSON object.
func PlanJSON(w io.Writer, plan Plan, s Style) error {
	depots := make([]depotWorkJSON, len(plan.Depots))
	for i := range plan.Depots {
		d := &plan.Depots[i]
		depots[i] = depotWorkJSON{Depot: textOf(d.Name), Minutes: d.Minutes, Spared: d.Saved, Parts: d.Parts, Jobs: []jobMinutesJSON{}, Bikes: []workJSON{}}
		for _, j := range d.Jobs {
			depots[i].Jobs = append(depots[i].Jobs, jobMinutesJSON(j))
		}
		for k := range d.Works {
			depots[i].Bikes = append(depots[i].Bikes, s.workJSON(&d.Works[k]))
		}
	}
	return writeJSON(w, struct {
		envelope
		Today  *string         `json:"today"`
		Depots []depotWorkJSON `json:"depots"`
	}{enclose(nil), isoTime(plan.Today, s.zone()), depots})
}

func (s Style) workJSON(w *wear.BikeWork) workJSON {
	out := workJSON{Bike: w.Bike.Name, Verdict: wear.Worst(w.Now).String(), Held: w.Hold.Held, Now: partJobs(w.Now), Along: partJobs(w.Along), Minutes: w.Minutes, Parts: list(w.Parts)}
	if w.Visit != 0 {
		day := s.dayOf(w.Visit)
		out.Visit = &day
	}
	return out
}

func partJobs(fs []wear.Finding) []string {
	out := make([]string, len(fs))
	for i := range fs {
		out[i] = fs[i].Part + ":" + fs[i].Job
	}
	return out
}

// PlanCSV writes the week's work as CSV, a line each bike.
func PlanCSV(w io.Writer, plan Plan, s Style) error {
	out := newSheet(w, "depot", "bike", "verdict", "held", "minutes", "now", "along", "parts", "visit")
	for i := range plan.Depots {
		d := &plan.Depots[i]
		for k := range d.Works {
			b := &d.Works[k]
			visit := ""
			if b.Visit != 0 {
				visit = s.dayOf(b.Visit)
			}
			out.row(cell(d.Name), cell(b.Bike.Name), wear.Worst(b.Now).String(), yesNo(b.Hold.Held), strconv.Itoa(b.Minutes),
				cell(strings.Join(partJobs(b.Now), " ")), cell(strings.Join(partJobs(b.Along), " ")), cell(strings.Join(b.Parts, " ")), visit)
		}
	}
	return out.done()
}
