package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pawl/wear"
)

// Bounds of a card.
const (
	longAdvice   = 300 // columns of advice
	longCaution  = 700 // columns of a caution
	cardSignOffs = 8   // sign-offs shown
)

// cardView is what the template shows, every text clean and bounded.
type cardView struct {
	Shop, Bike, Owner, Motor string
	Today, Visit             string
	Worst                    cardSign
	Jobs                     []cardJob
	Sum                      string
	Take                     []string
	Readings                 []cardReading
	Setup                    *cardSetup
	Order                    []cardLine
	SignOffs, Declined       []cardLine
	Minds                    []string
	Caution                  string
	OrderSign                cardSign
}

// cardSign is a verdict: its word, then a shape, then the shape's colour.
type cardSign struct{ Word, Shape, Colour string }

// cardJob is one row of what to do.
type cardJob struct {
	N                            int
	Sign                         cardSign
	Title, Part, Why, Do, Clears string
	Torque, See, Minutes         string
}

// cardReading is a blank for a reading.
type cardReading struct {
	N                     int // of the job
	Part, Of, Limit, Unit string
}

type cardLine struct{ What, Text string }

func (s Style) card(c CardPage) cardView {
	v := cardView{
		Shop: brief(c.Shop, longName), Bike: brief(c.Bike.Name, longName), Owner: brief(c.Owner, longName),
		Today: s.fullDay(c.Today), Worst: cardSignOf(wear.Worst(c.Findings)), Caution: wear.Caution + ".", OrderSign: cardSignOf(wear.Order),
		Setup: s.cardSetup(c.Setup), Readings: s.cardReadings(&c), Order: s.cardOrder(&c),
		SignOffs: s.cardSignOffs(&c, false), Declined: s.cardSignOffs(&c, true),
	}
	if c.Bike.Motor != wear.NoMotor {
		v.Motor = "E-bike: take the battery out first."
	}
	if c.Visit != 0 {
		v.Visit = s.fullDay(c.Visit)
	}
	for _, p := range c.Parts {
		v.Take = append(v.Take, brief(p, longName))
	}
	s.cardJobs(&v, &c)
	return v
}

// cardSignOf is a verdict as the card shows it, in CSS's notation of the colour.
func cardSignOf(v wear.Verdict) cardSign {
	out := cardSign{Word: v.Words(), Shape: signs[v].shape, Colour: "#000000"}
	var r, g, b uint8
	if n, _ := fmt.Sscanf(signs[v].colour, "%d;%d;%d", &r, &g, &b); n == 3 {
		out.Colour = fmt.Sprintf("#%02x%02x%02x", r, g, b)
	}
	return out
}

// cardJobs adds the rows, the cautions that they refer to and the minutes in sum.
func (s Style) cardJobs(v *cardView, c *CardPage) {
	p := &duePage{page: page{Style: s}, today: c.Today}
	minutes, unsaid := 0, 0
	for i, f := range c.jobs() {
		row := cardJob{
			N: i + 1, Sign: cardSignOf(f.Verdict), Title: sentenceStart(brief(f.Title, longName*2)), Part: brief(f.Part, longName),
			Why: p.cardWhy(f), Do: sentence(brief(f.Advice, longAdvice)), Torque: cardTorque(f), See: v.see(f),
		}
		if f.Verdict == wear.Stop {
			row.Clears = sentence(brief(cmp.Or(f.Clears, wear.StopCaution), longAdvice))
		}
		if f.Minutes > 0 {
			row.Minutes = strconv.Itoa(f.Minutes)
			minutes += f.Minutes
		} else {
			unsaid++
		}
		v.Jobs = append(v.Jobs, row)
	}
	v.Sum = cardSum(len(v.Jobs), minutes, unsaid)
}

// cardSum is the jobs and their time: "12 jobs, about 2:05 h".
func cardSum(jobs, minutes, unsaid int) string {
	if jobs == 0 {
		return ""
	}
	out := plural(jobs, "job", "jobs")
	if minutes > 0 {
		out += ", about " + number(float64(minutes), 0) + " min"
		if minutes >= 60 {
			out += " (" + clockHours(float64(minutes)*60) + " h)"
		}
	}
	if unsaid > 0 {
		out += ", " + plural(unsaid, "job", "jobs") + " without a usual time"
	}
	return out
}

// cardWhy is in one line why a job is to be done: the figures where they tell,
// else the reasons.
func (p *duePage) cardWhy(f *wear.Finding) string {
	out := brief(because(f), longAdvice)
	if used := p.used(f); used != "" && counts(f) && f.Verdict != wear.Stop {
		switch {
		case f.Basis == wear.ByReading:
			used = p.reads(f, used)
		case f.Unit == "rides":
			used = p.amount(f.Used, f.Unit) + ", limit " + number(f.Limit, 0)
		}
		out = used
		if d := data(f); d != "" {
			out += ", " + d
		}
	}
	if f.Declined != 0 {
		out = strings.TrimPrefix(out+"; declined on "+p.fullDay(f.Declined), "; ")
	}
	return out
}

// torqueRule is the rule that stands beside every torque.
func torqueRule() string {
	k, _ := wear.Default().Kind("guide-bolts")
	if j, ok := k.Job("check"); ok {
		return j.Caution
	}
	return ""
}

// torqued reports whether a torque is set in a job: the schedule gives one, or
// its caution or its advice speaks of the maker's.
func torqued(f *wear.Finding) bool {
	return f.Torque > 0 || f.Caution != "" && f.Caution == torqueRule() || strings.Contains(f.Advice, "maker's figure")
}

func cardTorque(f *wear.Finding) string {
	switch {
	case !torqued(f):
		return ""
	case f.Torque > 0:
		return "maker's " + torque(f.Torque)
	}
	return "maker's figure"
}

// see is the numbers of the cautions of a job, each caution being listed once.
func (v *cardView) see(f *wear.Finding) string {
	list := []string{f.Caution}
	if torqued(f) {
		list = append(list, torqueRule())
	}
	if f.Verdict == wear.Stop {
		list = append(list, wear.StopCaution)
	}
	var nos []int
	for _, text := range list {
		if text = sentence(brief(text, longCaution)); text == "" {
			continue
		}
		i := slices.Index(v.Minds, text)
		if i < 0 {
			i = len(v.Minds)
			v.Minds = append(v.Minds, text)
		}
		if !slices.Contains(nos, i+1) {
			nos = append(nos, i+1)
		}
	}
	return strings.Trim(strings.ReplaceAll(fmt.Sprint(nos), " ", ", "), "[]")
}

// sentenceStart has a capital letter.
func sentenceStart(text string) string { return strings.TrimSuffix(sentence(text), ".") }
