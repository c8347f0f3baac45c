package main

import (
	"embed"
	"fmt"
	"math"
	"slices"
	"strings"
	"text/template"

	"pawl/wear"
)

// topic is a page of pawl help that teaches.
type topic struct{ name, short string }

var topics = []topic{
	{"wear", "how wear is counted, and what a verdict means"},
	{"ground", "what each ground is, and how much faster it wears"},
	{"tools", "how to measure and look, and what to type then"},
	{"torque", "how to treat bolts, and what to beware of"},
}

func topicList() string {
	var b strings.Builder
	for _, t := range topics {
		fmt.Fprintf(&b, "  %-18s %s\n", "pawl help "+t.name, t.short)
	}
	return b.String()
}

// The pages. Figures stand in them as {{…}} and come from the schedule.
//
//go:embed help/*.txt
var topicFiles embed.FS

// topicPage is the page of a topic with the figures of a schedule.
func topicPage(name string, s *wear.Schedule) (string, error) {
	t, err := template.New(name + ".txt").Funcs(lessons{s}.funcs()).ParseFS(topicFiles, "help/"+name+".txt")
	if err != nil {
		return "", fmt.Errorf("topic %q: %w", name, err)
	}
	var b strings.Builder
	if err := t.Execute(&b, s); err != nil {
		return "", fmt.Errorf("topic %q: %w", name, err)
	}
	return fill(b.String()), nil
}

// lessons are the figures of a schedule in the words of the pages.
type lessons struct{ s *wear.Schedule }

func (l lessons) funcs() template.FuncMap {
	return template.FuncMap{
		"job": l.job, "rule": l.rule, "caution": l.caution, "limit": l.limit, "motored": l.motored, "mid": l.mid,
		"factors": l.factors, "first": l.firstChecks, "spared": l.spared,
		"length": length, "error": toolError, "torque": wear.Torque,
		"stop": func() string { return wear.Stop.Words() }, "order": func() string { return wear.Order.Words() },
		"nothing": func() string { return wear.Caution },
	}
}

// labelWidth is how wide the first column of the pages' lists is.
const labelWidth = 20

// item is a line of a list: what, and what is said of it.
func item(what, said string) string {
	first := fmt.Sprintf("  %-*s ", labelWidth, what)
	return strings.TrimRight(hang(first, strings.Repeat(" ", labelWidth+3), said), "\n")
}

func (l lessons) find(kind, job string) (*wear.Job, error) {
	k, ok := l.s.Kind(kind)
	if !ok {
		return nil, fmt.Errorf("kind %q: not in the schedule", kind)
	}
	j, ok := k.Job(job)
	if !ok {
		return nil, fmt.Errorf("job %q: not of kind %q", job, kind)
	}
	return j, nil
}

// job is a line that says when a job is due.
func (l lessons) job(kind, job string) (string, error) {
	j, err := l.find(kind, job)
	if err != nil {
		return "", err
	}
	return item(kind+": "+job, j.Interval.String()), nil
}

// rule is when a job is due, with what differs for some parts and bikes.
func (l lessons) rule(kind, job string) (string, error) {
	j, err := l.find(kind, job)
	if err != nil {
		return "", err
	}
	return j.Rule(), nil
}

// caution is the caution that goes with a job, as a line of a list.
func (l lessons) caution(kind, job string) (string, error) {
	j, err := l.find(kind, job)
	if err != nil {
		return "", err
	}
	return item(kind, strings.TrimPrefix(j.Caution, kind+": ")), nil
}

// limit is where a reading of a kind makes its change due.
func (l lessons) limit(kind string) (string, error) {
	j, err := l.find(kind, "change")
	if err != nil || j.Interval.Reading == nil {
		return "", fmt.Errorf("kind %q: has no limit: %w", kind, err)
	}
	return j.Interval.Reading.String(), nil
}

// motored are the kinds that a mid-drive wears faster.
func (l lessons) motored() string {
	var names []string
	for _, k := range l.s.Kinds() {
		if k.MidMotor != 1 {
			names = append(names, k.Name)
		}
	}
	return strings.Join(names, ", ")
}

// mid is by how much a mid-drive wears a kind faster.
func (l lessons) mid(kind string) (string, error) {
	k, ok := l.s.Kind(kind)
	if !ok {
		return "", fmt.Errorf("kind %q: not in the schedule", kind)
	}
	return wear.Thousands(k.MidMotor), nil
}

// outdoors are the grounds in the order of the table.
var outdoors = []wear.Ground{wear.Dry, wear.Unmarked, wear.Dusty, wear.Gritty, wear.Wet, wear.Mud}

// factors is a table of the ground factors: a row for all kinds with the same.
func (l lessons) factors() string {
	head := ""
	for _, g := range outdoors {
		head += fmt.Sprintf("%9s", g)
	}
	lines := []string{head}
	rows, families := l.groups()
	for i, row := range rows {
		figures := ""
		for _, f := range row {
			figures += fmt.Sprintf("%9s", wear.Thousands(f))
		}
		names := strings.Join(families[i], ", ")
		if i > 0 && !slices.ContainsFunc(row[:], func(f float64) bool { return f != 1 }) {
			names = "all others"
		}
		lines = append(lines, figures, strings.TrimRight(hang("    ", "    ", names), "\n"))
	}
	return strings.Join(lines, "\n")
}

// groups are the different rows of outdoor factors, and the families of kinds
// that have them, in the order of the schedule.
func (l lessons) groups() (rows [][6]float64, families [][]string) {
	for _, k := range l.s.Kinds() {
		var row [6]float64
		for i, g := range outdoors {
			row[i] = k.Factors[g]
		}
		i := slices.Index(rows, row)
		if i < 0 {
			i = len(rows)
			rows, families = append(rows, row), append(families, nil)
		}
		if !slices.Contains(families[i], k.Family) {
			families[i] = append(families[i], k.Family)
		}
	}
	return rows, families
}

// spared are the kinds that riding indoors does not wear, as a line of a list.
func (l lessons) spared(ground string) (string, error) {
	g, err := wear.ParseGround(ground)
	if err != nil {
		return "", err
	}
	var names []string
	for _, k := range l.s.Kinds() {
		if k.Factors[g] == 0 {
			names = append(names, k.Name)
		}
	}
	return strings.Join(names, ", "), nil
}

// firstChecks are the torque checks that a fit or work asks for, kinds with the
// same rule on one line.
func (l lessons) firstChecks() string {
	var rules []string
	kinds := map[string][]string{}
	for _, k := range l.s.Kinds() {
		for _, j := range k.Jobs {
			if j.Act != wear.ActCheck || len(j.Interval.First) == 0 {
				continue
			}
			r := j.Interval.String()
			if kinds[r] == nil {
				rules = append(rules, r)
			}
			kinds[r] = append(kinds[r], k.Name)
		}
	}
	for i, r := range rules {
		names := strings.TrimSpace(hang("    ", "    ", strings.Join(kinds[r], ", ")))
		rules[i] = "  " + r + ":\n    " + names
	}
	return strings.Join(rules, "\n")
}

// length is how long so many pitches of chain are at an elongation in per cent.
func length(pitches int, percent float64) string {
	return fmt.Sprintf("%.1f mm", float64(pitches)*wear.Pitch*(1+percent/100))
}

// toolError is what an error of a tool in mm is in per cent of a length.
func toolError(mm float64, pitches int) string {
	percent := 100 * mm / (float64(pitches) * wear.Pitch)
	return fmt.Sprintf("%g mm in %d pitches is %g %%", mm, pitches, math.Round(percent*100)/100)
}
