package wear

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"
)

// group is those of a job's figures that an override puts in the place of the
// schedule's together.
type group uint8

const (
	figFirst group = iota
	figThen
	figSoon
	figAfter
	figExpect
	figReading
	figTorque
	nFigures
)

// override is a setting as it is applied: figures of one job of a kind, its
// ground factors, or policies of the bike.
type override struct {
	kind, job string // kind may be a family: pads; job is empty for factors and policies
	figures   Interval
	reading   *rawReading
	torque    float64 // N·m; 0 = not given
	advice    string
	minutes   int
	factors   [NGrounds]*float64
	runOut    *bool
	leadDays  float64 // 0 = not given
	said      string  // the source as it was written

	set Setting // where it came from
}

// of reports whether the override is of that kind of part.
func (o *override) of(k *Kind) bool { return o.kind == k.Name || o.kind == k.Family }

// holds reports whether the override holds for a part.
func (o *override) holds(p *partView, bike ID) bool {
	if o.kind == "" || !o.of(p.kind) {
		return false
	}
	switch o.set.Scope {
	case ForKind:
		return true
	case ForModel:
		return strings.EqualFold(o.set.Key, p.pc.Part.Model)
	case ForBike:
		return o.set.Of == bike
	case ForPart:
		return o.set.Of == p.pc.Part.ID
	}
	return false
}

// source says whence the figures of the override come.
func (o *override) source() string {
	switch {
	case o.said != "" && o.set.File != "":
		return o.said + " (" + o.set.File + ")"
	case o.said != "":
		return o.said
	case o.set.File != "":
		return "set in " + o.set.File
	}
	return "set for this " + string(o.set.Scope)
}

// scopeRank orders the scopes, widest first.
var scopeRank = map[Scope]int{ForBook: 0, ForKind: 1, ForModel: 2, ForBike: 3, ForPart: 4}

// inForce parses the settings of the schedule that hold: the widest first, then
// the oldest, each block only in its newest form. Those that cannot be read are
// named in wrong.
func inForce(settings []Setting) (list []*override, wrong []Setting) {
	settings = ordered(settings, func(x, y Setting) int {
		return cmp.Or(cmp.Compare(scopeRank[x.Scope], scopeRank[y.Scope]), cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID))
	}, func(s Setting) bool { return s.Void || s.Name != SettingSchedule })
	for _, s := range settings {
		same := func(o *override) bool {
			return o.set.Scope == s.Scope && o.set.Of == s.Of && strings.EqualFold(o.set.Key, s.Key)
		}
		if s.Text == "" {
			list = slices.DeleteFunc(list, same)
			continue
		}
		parsed, err := parseText(s.Text)
		if err != nil {
			wrong = append(wrong, s)
			continue
		}
		// What a later one does not name stays as an earlier one said.
		list = slices.DeleteFunc(list, func(o *override) bool { return same(o) && o.set.Text == s.Text })
		o := *parsed
		o.set = s
		list = append(list, &o)
	}
	return list, wrong
}

// texts keeps overrides that were parsed: a book has few, a fleet many bikes.
var texts struct {
	sync.Mutex
	known map[string]*override
}

const mostTexts = 1000

// parseText reads the text of one setting; nobody may change what it returns.
func parseText(text string) (*override, error) {
	texts.Lock()
	defer texts.Unlock()
	if o, ok := texts.known[text]; ok {
		return o, nil
	}
	var raw rawOverrides
	if err := decodeStrict([]byte(text), "setting", &raw); err != nil {
		return nil, err
	}
	blocks, err := raw.blocks()
	if err == nil && len(blocks) != 1 {
		err = fmt.Errorf("%d blocks in one setting", len(blocks))
	}
	if err != nil {
		return nil, err
	}
	if texts.known == nil || len(texts.known) >= mostTexts {
		texts.known = map[string]*override{}
	}
	texts.known[text] = blocks[0].over
	return blocks[0].over, nil
}

// override puts the settings in force: policies on the bike, the rest on each
// part that it holds for.
func (a *assessor) override() {
	if len(a.c.Settings) == 0 {
		return
	}
	list, wrong := inForce(a.c.Settings)
	for _, o := range list {
		a.policy(o)
	}
	for _, p := range a.views {
		for _, s := range wrong {
			if s.Scope != ForPart || s.Of == p.pc.Part.ID {
				p.remarks = append(p.remarks, "an override of "+cmp.Or(s.File, "the book")+" cannot be read and is left out")
			}
		}
		for _, o := range list {
			if o.holds(p, a.c.Bike.ID) {
				p.over = append(p.over, o)
			}
		}
		// Of one scope the kind itself goes before its family.
		slices.SortStableFunc(p.over, func(x, y *override) int {
			return cmp.Or(cmp.Compare(scopeRank[x.set.Scope], scopeRank[y.set.Scope]), boolInt(x.kind == p.kind.Name)-boolInt(y.kind == p.kind.Name))
		})
		p.weigh()
	}
}

// policy applies what holds for the bike as a whole.
func (a *assessor) policy(o *override) {
	if o.set.Scope != ForBook && (o.set.Scope != ForBike || o.set.Of != a.c.Bike.ID) {
		return
	}
	if o.runOut != nil {
		a.runOut, a.runOutBy = *o.runOut, o
	}
	if o.leadDays > 0 {
		s := *a.s
		s.LeadDays = o.leadDays
		a.s = &s
	}
}

// weigh gives the part ground factors of its own where an override has some.
func (p *partView) weigh() {
	for _, o := range p.over {
		if o.job != "" {
			continue
		}
		k := *p.kind
		var said []string
		for g, f := range o.factors {
			if f != nil {
				k.Factors[g] = *f
				said = append(said, fmt.Sprintf("%s %g", Ground(g), *f))
			}
		}
		p.kind = &k
		p.remarks = append(p.remarks, "ground factors "+strings.Join(said, ", ")+": "+o.source())
	}
}

// rule is a job's figures as they hold for one part.
type rule struct {
	Interval
	advice, source string
	from           *[nFigures]*override // nil = all as the schedule has them
	torque         float64
	minutes        int
	notes          []string
	said           string // by Job.say; "" = not worked out
}

// at returns what holds for the part of one of its kind's jobs; nobody may change it.
func (p *partView) at(j *Job) *rule {
	r := j.resolve(&p.setting)
	own := false
	for _, o := range p.over {
		if o.job != j.Name {
			continue
		}
		if !own {
			mine := *r
			mine.said, r, own = "", &mine, true
		}
		r.apply(o)
	}
	return r
}

// apply puts an override's figures in the place of those before.
func (r *rule) apply(o *override) {
	next := r.Interval.with(o.figures)
	if o.reading != nil && r.Reading != nil {
		l := o.reading.on(*r.Reading)
		next.Reading = &l
	}
	if err := next.check(); err != nil {
		r.notes = append(r.notes, fmt.Sprintf("an override of %s does not fit the wider ones and is left out: %v", cmp.Or(o.set.File, "the book"), err))
		return
	}
	r.Interval = next
	if r.from == nil {
		r.from = new([nFigures]*override)
	} else {
		was := *r.from
		r.from = &was
	}
	for _, f := range o.gives() {
		r.from[f] = o
	}
	if o.torque > 0 {
		r.torque = o.torque
	}
	r.advice = cmp.Or(o.advice, r.advice)
	r.minutes = cmp.Or(o.minutes, r.minutes)
}

// gives are the groups of figures that the override has.
func (o *override) gives() []group {
	var list []group
	for f, has := range [nFigures]bool{
		figFirst: o.figures.First != nil, figThen: o.figures.Then != nil, figSoon: o.figures.Soon != nil || o.figures.SoonAfter != nil,
		figAfter: o.figures.After != nil, figExpect: o.figures.Expect != nil, figReading: o.reading != nil, figTorque: o.torque > 0,
	} {
		if has {
			list = append(list, group(f))
		}
	}
	return list
}

// sourceOf says whence a group of figures comes.
func (r *rule) sourceOf(f group) string {
	if r.from != nil && r.from[f] != nil {
		return r.from[f].source()
	}
	return r.source
}
