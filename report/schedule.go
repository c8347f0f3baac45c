package report

import (
	"io"

	"pawl/wear"
)

// JobLine is a job of the schedule, or what an override puts in its place.
type JobLine struct {
	Kind   string `json:"kind"`
	Job    string `json:"job"` // empty = ground factors or a policy
	Title  string `json:"title"`
	Rule   string `json:"rule"` // as the rule says itself; of an override what it changes
	Source string `json:"source"`
	For    string `json:"for"`   // the model, bike or part of an override; empty = all
	Scope  string `json:"scope"` // of an override; empty = shipped
}

// JobLines are the lines of the schedule in force; names has bikes and parts.
func JobLines(lines []wear.InForceLine, names map[wear.ID]string) []JobLine {
	jobs := make([]JobLine, len(lines))
	for i, l := range lines {
		jobs[i] = JobLine{Kind: l.Kind, Job: l.Job, Title: l.Title, Rule: l.Rule, Source: l.Source, Scope: string(l.Scope)}
		switch l.Scope {
		case wear.ForBike, wear.ForPart:
			jobs[i].For = names[l.Of]
		case wear.ForModel:
			jobs[i].For = l.Key
		}
	}
	return jobs
}

// says is the rule as a list shows it, an override with whom it is for.
func (j JobLine) says() string {
	switch {
	case j.Scope == "":
		return j.Rule
	case j.For == "":
		return "here: " + j.Rule
	}
	return "for " + j.For + ": " + j.Rule
}

// Schedule writes jobs to a terminal, in the order in which they come.
func Schedule(w io.Writer, jobs []JobLine, s Style) error {
	p := &page{Style: s}
	jobs, window, err := cut(s.Pages, jobs, manyRows)
	if err != nil {
		return err
	}
	cols := []column{
		{title: "kind", least: 10}, {title: "job", least: 8},
		{title: "when", least: 20}, {title: "source", least: 12},
	}
	rows := make([][]string, len(jobs))
	for i, j := range jobs {
		rows[i] = []string{clean(j.Kind), clean(j.Job), brief(j.says(), longNote), brief(j.Source, longNote)}
		if i > 0 && j.Kind == jobs[i-1].Kind {
			rows[i][0] = ""
		}
		if s.width() < wideEnough {
			rows[i][3] = ""
		}
	}
	p.table(filled(cols, rows))
	p.gap()
	p.para("", "The maker's manual wins over every figure here.")
	p.rest(window, "job", "jobs", "--csv")
	return p.to(w)
}

// ScheduleJSON writes jobs as one JSON object.
func ScheduleJSON(w io.Writer, jobs []JobLine, warnings []string) error {
	return writeJSON(w, struct {
		envelope
		Jobs []JobLine `json:"jobs"`
	}{enclose(warnings), list(jobs)})
}

// ScheduleCSV writes jobs as CSV.
func ScheduleCSV(w io.Writer, jobs []JobLine) error {
	out := newSheet(w, "kind", "job", "title", "rule", "source", "scope", "for")
	for _, j := range jobs {
		out.row(cell(j.Kind), cell(j.Job), cell(j.Title), cell(j.Rule), cell(j.Source), cell(j.Scope), cell(j.For))
	}
	return out.done()
}
