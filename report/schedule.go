package report

import (
	"io"
	"strings"

	"pawl/wear"
)

// JobLine is a job of the schedule.
type JobLine struct {
	Kind   string `json:"kind"`
	Job    string `json:"job"`
	Title  string `json:"title"`
	Rule   string `json:"rule"` // as the rule says itself
	Source string `json:"source"`
}

// JobLines is the jobs of kinds in their order. A rule that differs for some
// parts or bikes says so behind the rule for the others.
func JobLines(kinds []wear.Kind) []JobLine {
	var lines []JobLine
	for _, k := range kinds {
		for _, j := range k.Jobs {
			rule := j.Interval.String()
			for _, v := range j.Variants {
				if elsewhere(v, k) {
					continue
				}
				rule += ". " + conditions(v.Is) + ": " + v.Interval.String()
			}
			lines = append(lines, JobLine{k.Name, j.Name, j.Title, rule, j.Source})
		}
	}
	return lines
}

// elsewhere reports whether a variant is only for parts at the bike's other end.
func elsewhere(v wear.Variant, k wear.Kind) bool {
	other := map[string]wear.Condition{"front": wear.IsRear, "rear": wear.IsFront}[k.Position]
	return len(v.Is) == 1 && v.Is[0] == other
}

// conditions joins the conditions of a variant, one of which is enough.
func conditions(is []wear.Condition) string {
	words := make([]string, len(is))
	for i, c := range is {
		words[i] = string(c)
	}
	return strings.Join(words, " or ")
}

// Schedule writes jobs to a terminal, in the order in which they come.
func Schedule(w io.Writer, jobs []JobLine, s Style) error {
	p := &page{Style: s}
	cols := []column{
		{title: "kind", least: 10}, {title: "job", least: 8},
		{title: "when", least: 20}, {title: "source", least: 12},
	}
	rows := make([][]string, len(jobs))
	for i, j := range jobs {
		rows[i] = []string{clean(j.Kind), clean(j.Job), brief(j.Rule, longNote), brief(j.Source, longNote)}
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
	out := newSheet(w, "kind", "job", "title", "rule", "source")
	for _, j := range jobs {
		out.row(cell(j.Kind), cell(j.Job), cell(j.Title), cell(j.Rule), cell(j.Source))
	}
	return out.done()
}
