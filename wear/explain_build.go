package wear

import (
	"fmt"
	"math"
	"slices"
)

// How dates come about.
const (
	methodForecast = "forecast from the readings and what such parts last"
	methodUnread   = "forecast from what such parts last: it was not measured yet"
	methodPace     = "what is left, at the pace of recent riding"
	methodDays     = "days left"
)

// Explain shows how the verdict on one job of a part came about. An empty job
// means the part's most urgent one. It errs where the bike has no such part, or
// the part no such job.
func Explain(c Case, s *Schedule, part ID, job string) (Explanation, error) {
	if c.retired() {
		return Explanation{}, fmt.Errorf("bike %q: retired, nothing of it is due", c.Bike.Name)
	}
	a := newAssessor(&c, s)
	i := slices.IndexFunc(a.views, func(p *partView) bool { return p.pc.Part.ID == part })
	if i < 0 {
		return Explanation{}, fmt.Errorf("part %d: not on bike %q", part, c.Bike.Name)
	}
	p := a.views[i]
	fs := urgent(nil, a.part(p))
	n := slices.IndexFunc(fs, func(f Finding) bool { return job == "" || f.Job == job })
	if n < 0 {
		return Explanation{}, fmt.Errorf("job %q: no such job of %s", job, p.pc.Part.Name)
	}
	a.detail = true
	return a.explain(p, a.jobOf(p, fs[n].Job), fs[n]), nil
}

func (a *assessor) jobOf(p *partView, name string) *Job {
	if j, ok := p.kind.Job(name); ok {
		return j
	}
	for _, j := range a.implied(p) {
		if j.Name == name {
			return j
		}
	}
	return nil
}

func (a *assessor) explain(p *partView, job *Job, f Finding) Explanation {
	j := a.judge(p, job)
	e := Explanation{
		Finding: f, Rule: f.Rule, Anchor: j.anchor, Counts: j.lines,
		Readings: p.readings, Looks: p.looks, SignOffs: p.signoffsOf(job),
		How: j.how,
	}
	e.Stays, e.Life = a.life(p)
	e.Recent = a.recently(j)
	if e.Forecast = j.forecastTold(); e.Forecast != nil {
		e.How = append(e.How, e.Forecast.says(j)...)
	}
	e.Method = j.method(e.Forecast)
	e.How = append(e.How, j.sayDate(e.Recent)...)
	e.Changes = j.changes()
	if e.Forecast != nil {
		e.Changes = append([]string{e.Forecast.Turn}, e.Changes...)
	}
	return e
}

// explainLine adds what each ground put into a count.
func (j *judge) explainLine(l *CountLine, of CountOf, u *usage) {
	c := counting{of: of, factors: j.a.weights(j.p.kind, j.p.stay.Host)}
	for g := range NGrounds {
		if u.amount[g] == 0 && u.rides[g] == 0 {
			continue
		}
		f := c.factor(g)
		l.Grounds = append(l.Grounds, GroundUse{Ground: g, Rides: u.rides[g], Amount: u.amount[g], Factor: f, Used: f * u.amount[g]})
	}
	if u.opening > 0 {
		j.how = append(j.how, fmt.Sprintf("%s of it came with the part, its ground unmarked", about(of, u.opening)))
	}
	if of.Derived() || j.p.bent(of) && j.a.bendLately() != 1 {
		l.Formula = j.p.formula(j.a, of)
	}
}

// formula says a derived count with the teeth of the ring now on the bike.
func (p *partView) formula(a *assessor, of CountOf) string {
	as := &a.s.Assumed
	ring := float64(a.ringTeeth())
	if ring == 0 {
		ring = as.Ring
	}
	switch of {
	case CountTurns:
		return fmt.Sprintf("turns × (1/ring + 1/cog) / (1/32 + 1/21), × %s as the bike is ridden", Thousands(a.bendLately()))
	case CountIdler:
		return fmt.Sprintf("turns × %g / %g", ring, p.teeth(as.Idler))
	case CountPulley:
		return fmt.Sprintf("turns × %g / %g", ring, p.teeth(as.Pulley))
	}
	return fmt.Sprintf("turns × %s × %g / %g", Thousands(p.busyShare), ring, p.busyTeeth)
}

func (p *partView) signoffsOf(job *Job) []SignOff {
	var list []SignOff
	for _, s := range p.signoffs {
		if s.Job == job.Name || slices.Contains(job.DoneBy, s.Job) {
			list = append(list, s)
		}
	}
	return list
}

// life is what the part did on each of its stays, and all together with what
// it had done before.
func (a *assessor) life(p *partView) (stays []StayUse, life Load) {
	for _, st := range p.stays {
		u := StayUse{Stay: st, Sum: Done(a.c.Lines[st.Host], st), Opening: st.Opening != Load{}}
		life = life.Add(u.Sum.Total()).Add(st.Opening)
		stays = append(stays, u)
	}
	return stays, life
}

// recently is the bike's use of the last weeks in the unit of the deciding count.
func (a *assessor) recently(j *judge) Recent {
	r := Recent{Days: a.c.Use.Days, Last: a.c.Use.Last}
	if j.best < 0 {
		return r
	}
	l := &j.lines[j.best]
	r.Unit = l.Unit
	if of := countOf(l); of == CountDays {
		r.Used, r.PerDay = r.Days, 1
	} else if r.Days > 0 {
		u := a.recent(j.p, of)
		r.Used, r.PerDay = u.used, u.used/r.Days
	}
	return r
}

// method is how the date came about.
func (j *judge) method(f *Forecast) string {
	switch {
	case f != nil && len(f.Weights) > 0:
		return methodForecast
	case f != nil:
		return methodUnread
	case j.best >= 0 && countOf(&j.lines[j.best]) == CountDays:
		return methodDays
	}
	return methodPace
}

// sayDate tells the steps from what is left to the date.
func (j *judge) sayDate(r Recent) []string {
	if j.best < 0 {
		return nil
	}
	l := &j.lines[j.best]
	of := countOf(l)
	days, ok := j.daysLeft(l)
	switch {
	case l.Share >= 1:
		return []string{"the limit is reached"}
	case !ok:
		return []string{"the bike was not ridden in the last 12 weeks: no date"}
	case of == CountDays:
		return []string{fmt.Sprintf("%.0f days left", days)}
	}
	p := j.a.pace(j.p, of)
	s := p.over(days)
	steps := []string{
		fmt.Sprintf("%s left", about(of, l.Limit-l.Used)),
		fmt.Sprintf("%s in the last %.0f days, ground factors included", about(of, r.Used), r.Days),
		fmt.Sprintf("about %s a day, newer weeks weigh more, × ÷ %.2f: about %.0f days", about(of, p.perDay), math.Exp(normal90*s), days),
	}
	switch days := math.Round(math.Abs(p.ahead)); {
	case days < 1:
	case p.ahead > 0:
		steps = append(steps, fmt.Sprintf("this week is %.0f days before its usual use", days))
	default:
		steps = append(steps, fmt.Sprintf("this week is %.0f days behind its usual use, which is still to come", days))
	}
	return steps
}

// changes says what would change the verdict.
func (j *judge) changes() []string {
	var list []string
	if j.f.Clears != "" {
		list = append(list, j.f.Clears)
	}
	inspected := j.job.Act == ActChange && j.p.kind.Inspected()
	switch of := j.p.kind.Measurable(); {
	case inspected && of != "" && j.iv.Reading != nil:
		list = append(list, fmt.Sprintf("a new reading of its %s", of), "a look that says replace, or a new part")
	case inspected:
		list = append(list, "a look that says replace, or a new part")
	case j.job.Act == ActLook:
		list = append(list, "a look, or a sign-off of "+j.job.Name)
	case j.job.Act == ActMeasure:
		list = append(list, "a reading, or a sign-off of "+j.job.Name)
	default:
		list = append(list, "a sign-off of "+j.job.Name)
	}
	for _, k := range j.job.RestartedBy {
		list = append(list, "work on the "+k+" starts it afresh")
	}
	return list
}
