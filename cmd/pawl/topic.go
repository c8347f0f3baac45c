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
	t, err := template.New(name+".txt").Funcs(lessons{s}.funcs()).ParseFS(topicFiles, "help/"+name+".txt")
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
		"item": item, "job": l.job, "caution": l.caution, "limit": l.limit, "motored": l.motored,
		"factors": l.factors, "first": l.firstChecks, "indoor": l.indoor,
		"lengths": lengths, "error": toolError, "torque": wear.Torque,
		"stop": wear.Stop.Words, "order": wear.Order.Words,
		"nothing": func() string { return wear.Caution },
	}
}

// labelWidth is how wide the first column of the pages' lists is.
const labelWidth = 20

// item is a line of a list: what, and what is said of it.
func item(what, said string) string {
	return strings.TrimRight(hang(helpWidth, fmt.Sprintf("  %-*s ", labelWidth, what), said), "\n")
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

// caution is the caution that goes with a job, as a line of a list.
func (l lessons) caution(label, kind, job string) (string, error) {
	j, err := l.find(kind, job)
	if err != nil {
		return "", err
	}
	_, said, labelled := strings.Cut(j.Caution, ": ")
	if !labelled {
		said = j.Caution
	}
	return item(label, said), nil
}

// limit is where a reading of a kind makes its change due, and where it does
// for some parts and bikes.
func (l lessons) limit(kind string) (string, error) {
	j, err := l.find(kind, "change")
	if err != nil {
		return "", err
	}
	if j.Interval.Reading == nil {
		return "", fmt.Errorf("kind %q: has no limit", kind)
	}
	said := j.Interval.Reading.String()
	for _, v := range j.Variants {
		if v.Interval.Reading != nil {
			words := make([]string, len(v.Is))
			for i, c := range v.Is {
				words[i] = string(c)
			}
			said += "; " + strings.Join(words, " or ") + ": " + v.Interval.Reading.String()
		}
	}
	return said, nil
}

// motored says what a mid-drive wears faster, and by how much.
func (l lessons) motored() string {
	var times []float64
	kinds := map[float64][]string{}
	for _, k := range l.s.Kinds() {
		if f := k.MidMotor; f != 1 {
			if kinds[f] == nil {
				times = append(times, f)
			}
			kinds[f] = append(kinds[f], k.Name)
		}
	}
	said := make([]string, len(times))
	for i, f := range times {
		said[i] = fmt.Sprintf("%s count %s times", strings.Join(kinds[f], ", "), wear.Thousands(f))
	}
	return strings.Join(said, "; ")
}

// outdoors are the grounds in the order of the table.
var outdoors = []wear.Ground{wear.Dry, wear.Unmarked, wear.Dusty, wear.Gritty, wear.Wet, wear.Mud}

// factors is a table of the ground factors: a row for all kinds with the same.
func (l lessons) factors() string {
	const cell, names = 9, helpWidth - 6*9
	head := strings.Repeat(" ", names)
	for _, g := range outdoors {
		head += fmt.Sprintf("%*s", cell, g)
	}
	lines := []string{head}
	rows, families := l.groups()
	for i, row := range rows {
		who := strings.Join(families[i], ", ")
		if row == plain {
			who = "all others"
		}
		first, rest, _ := strings.Cut(strings.TrimRight(hang(names, "  ", who), "\n"), "\n")
		line := fmt.Sprintf("%-*s", names, first)
		for _, f := range row {
			line += fmt.Sprintf("%*s", cell, wear.Thousands(f))
		}
		lines = append(lines, line)
		if rest != "" {
			lines = append(lines, rest)
		}
	}
	return strings.Join(lines, "\n")
}

// plain is the row of the kinds that all grounds wear alike; it comes last.
var plain = [6]float64{1, 1, 1, 1, 1, 1}

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
	if i := slices.Index(rows, plain); i >= 0 {
		rows, families = append(slices.Delete(rows, i, i+1), plain), append(slices.Delete(families, i, i+1), nil)
	}
	return rows, families
}

// indoor is a line that says what a ground of indoor riding spares.
func (l lessons) indoor(ground, what string) (string, error) {
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
	return item(ground, what+"; spared: "+strings.Join(names, ", ")), nil
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
		rules[i] = "  " + r + ":\n" + strings.TrimRight(hang(helpWidth, "    ", strings.Join(kinds[r], ", ")), "\n")
	}
	return strings.Join(rules, "\n")
}

// lengths are how long a chain is at an elongation in per cent, as a ruler and
// a caliper find it.
func lengths(percent float64) string {
	long := func(pitches float64) float64 { return pitches * wear.Pitch * (1 + percent/100) }
	return fmt.Sprintf("%.1f mm over 24 pitches, %.1f mm over 10", long(24), long(10))
}

// toolError is what an error of a tool in mm is in per cent of a length.
func toolError(mm float64, pitches int) string {
	percent := 100 * mm / (float64(pitches) * wear.Pitch)
	return fmt.Sprintf("over at least %[2]d pitches: its error of %[1]g mm is %[3]g %% there", mm, pitches, math.Round(percent*100)/100)
}
