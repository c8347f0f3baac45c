package report

import (
	"io"
	"strconv"
	"strings"

	"pawl/wear"
)

// VisitLine is a visit and what it will do.
type VisitLine struct {
	Day    wear.Instant
	Owner  string
	Plan   wear.VisitPlan
	Note   string
	Missed bool
}

func (l VisitLine) jobs() string {
	titles := make([]string, len(l.Plan.Findings))
	for i, f := range l.Plan.Findings {
		titles[i] = f.Title
	}
	return strings.Join(titles, "; ")
}

// Visits writes visits to a terminal, day by day.
func Visits(w io.Writer, lines []VisitLine, s Style) error {
	p := &page{Style: s}
	if len(lines) == 0 {
		p.line("No visits.")
		return p.to(w)
	}
	shown, window, err := cut(s.Pages, lines, fewRows)
	if err != nil {
		return err
	}
	last := ""
	for _, l := range shown {
		head := s.dayOf(l.Day)
		if l.Missed {
			head += ", missed"
		}
		if head != last {
			if last != "" {
				p.gap()
			}
			p.painted("", head, p.bold)
			last = head
		}
		p.visit(l)
	}
	p.gap()
	p.para("", plural(len(lines), "visit", "visits")+", about "+number(float64(minutesAhead(lines)), 0)+" minutes of known work ahead")
	p.rest(window, "visit", "visits", "--csv")
	return p.to(w)
}

// minutesAhead is the known work of the visits that were not missed.
func minutesAhead(lines []VisitLine) int {
	minutes := 0
	for _, l := range lines {
		if !l.Missed {
			minutes += l.Plan.Minutes
		}
	}
	return minutes
}

func (p *page) visit(l VisitLine) {
	who := ""
	if l.Owner != "" {
		who = " of " + brief(l.Owner, longName)
	}
	p.para("  ", brief(l.Plan.Bike, longName)+who+": "+plural(len(l.Plan.Findings), "job", "jobs")+", about "+number(float64(l.Plan.Minutes), 0)+" min")
	if len(l.Plan.Findings) > 0 {
		p.para("    ", l.jobs())
	}
	if len(l.Plan.Parts) > 0 {
		p.para("    parts: ", strings.Join(l.Plan.Parts, ", "))
	}
	if l.Note != "" {
		p.para("    note: ", brief(l.Note, longNote))
	}
}

type visitJSON struct {
	Day     *string  `json:"day"`
	Bike    string   `json:"bike"`
	Owner   *string  `json:"owner"`
	Minutes int      `json:"minutes"`
	Jobs    []string `json:"jobs"`
	Parts   []string `json:"parts"`
	Note    *string  `json:"note"`
	Missed  bool     `json:"missed"`
}

// VisitsJSON writes them as one JSON object.
func VisitsJSON(w io.Writer, lines []VisitLine, s Style) error {
	out := make([]visitJSON, len(lines))
	for i, l := range lines {
		jobs := []string{}
		for _, f := range l.Plan.Findings {
			jobs = append(jobs, f.Part+":"+f.Job)
		}
		day := s.dayOf(l.Day)
		out[i] = visitJSON{&day, l.Plan.Bike, textOf(l.Owner), l.Plan.Minutes, jobs, list(l.Plan.Parts), textOf(l.Note), l.Missed}
	}
	return writeJSON(w, struct {
		envelope
		Visits []visitJSON `json:"visits"`
	}{enclose(nil), out})
}

// VisitsCSV writes them as CSV.
func VisitsCSV(w io.Writer, lines []VisitLine, s Style) error {
	out := newSheet(w, "day", "bike", "owner", "minutes", "jobs", "parts", "note", "missed")
	for _, l := range lines {
		out.row(s.dayOf(l.Day), cell(l.Plan.Bike), cell(l.Owner), strconv.Itoa(l.Plan.Minutes), cell(l.jobs()),
			cell(strings.Join(l.Plan.Parts, "; ")), cell(l.Note), yesNo(l.Missed))
	}
	return out.done()
}
