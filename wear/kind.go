package wear

import (
	"slices"
	"strings"
	"sync/atomic"
)

// Kind is a sort of part and what it needs doing.
type Kind struct {
	Name      string // chain, front-pads, …
	Family    string // pads for front-pads; else Name
	Position  string // front, rear or empty
	Title     string // chain guide, front brake pads
	CarriedBy string // the kind of wheel that carries it; "" = it sits on the bike itself
	Factors   [NGrounds]float64
	MidMotor  float64 // by what a mid-drive motor multiplies the counts; 1 = not
	Jobs      []Job
}

// Job is one thing that a kind needs doing.
type Job struct {
	Name        string // within the kind: clean, measure, look, check, change, …
	Act         Act
	Title       string
	Safety      bool
	Interval    Interval // where no condition holds
	Variants    []Variant
	Evidence    []Event  // incidents that ask for a look; no override takes them away
	evidence    string   // the same in words, for its rule
	RestartedBy []string // kinds whose fit or service makes the job start afresh
	DoneBy      []string // jobs of the same kind that include this one
	Advice      string
	Caution     string
	Source      string
	Minutes     int

	resolved []atomic.Pointer[rule] // by the variants that hold, as bits; see resolve
}

// CarriedBy is the kind of wheel that carries parts of a kind; ok is false
// where such a part sits on the bike itself.
func CarriedBy(kind string) (wheelKind string, ok bool) {
	if k := Default().kind(kind); k != nil && k.CarriedBy != "" {
		return k.CarriedBy, true
	}
	return "", false
}

// Carries reports whether parts of a kind carry others: whether it is a wheel.
func Carries(kind string) bool { return Default().carries[kind] }

// Job returns the kind's job of that name.
func (k *Kind) Job(name string) (*Job, bool) {
	for i := range k.Jobs {
		if k.Jobs[i].Name == name {
			return &k.Jobs[i], true
		}
	}
	return nil, false
}

// Measurable reports what a tool can measure of the kind; "" = nothing.
func (k *Kind) Measurable() ReadingOf {
	for i := range k.Jobs {
		if r := k.Jobs[i].Interval.Reading; r != nil {
			return r.Of
		}
	}
	return ""
}

// Inspected reports whether a part of the kind can be measured or has a look
// among its jobs: then a count alone never condemns it.
func (k *Kind) Inspected() bool {
	return k.Measurable() != "" || k.has(ActLook)
}

// has reports whether one of the kind's jobs is of that sort.
func (k *Kind) has(act Act) bool {
	for i := range k.Jobs {
		if k.Jobs[i].Act == act {
			return true
		}
	}
	return false
}

// Variant is what differs from a job's interval where one of its conditions holds.
type Variant struct {
	Is       []Condition
	Interval Interval // zero fields stay as they are
	NoAfter  bool     // the events of the job do not hold
	Advice   string
	Source   string
}

// Condition is a property of a part or its bike, in the schedule's words.
type Condition string

// The conditions.
const (
	IsFront     Condition = "front"
	IsRear      Condition = "rear"
	IsWaxed     Condition = "wax"
	IsSintered  Condition = "sintered"
	IsSteel     Condition = "steel"
	IsAluminium Condition = "aluminium"
	IsMineral   Condition = "mineral"
	IsElevenUp  Condition = "11-speed up"
	IsNarrow    Condition = "narrow-wide"
	IsEBike     Condition = "e-bike"
	IsLocked    Condition = "threadlock"
	IsRunOut    Condition = RunOutTogether
)

var conditions = []Condition{IsFront, IsRear, IsWaxed, IsSintered, IsSteel, IsAluminium,
	IsMineral, IsElevenUp, IsNarrow, IsEBike, IsLocked, IsRunOut}

// setting is what the conditions of one part are judged by.
type setting struct {
	position string
	part     Part
	narrow   bool // of the ring on the bike
	motor    Motor
	runOut   bool // chain, ring and cassette are run out together
	speeds   int  // 0 = not known: the stricter limit is taken
}

func (s *setting) holds(c Condition) bool {
	switch c {
	case IsFront, IsRear:
		return s.position == string(c)
	case IsElevenUp:
		return s.speeds == 0 || s.speeds >= 11
	case IsNarrow:
		return s.narrow
	case IsRunOut:
		return s.runOut
	case IsEBike:
		return s.motor == MidMotor
	}
	return strings.EqualFold(s.part.Material, string(c)) || strings.EqualFold(s.part.Treated, string(c))
}

// holds reports whether one of the variant's conditions holds.
func (v *Variant) holds(s *setting) bool { return slices.ContainsFunc(v.Is, s.holds) }

// at returns the job's interval and advice for one part.
func (j *Job) at(s setting) (Interval, string) {
	r := j.resolve(&s)
	return r.Interval, r.advice
}

// mostResolved is up to how many variants a job's rules are kept.
const mostResolved = 6

// resolve returns what the schedule says of the job for one part. Parts for which
// the same variants hold share it, so nobody may change it.
func (j *Job) resolve(s *setting) *rule {
	if len(j.Variants) > mostResolved || j.resolved == nil {
		return j.work(func(v *Variant) bool { return v.holds(s) })
	}
	of := 0
	for i := range j.Variants {
		if j.Variants[i].holds(s) {
			of |= 1 << i
		}
	}
	if r := j.resolved[of].Load(); r != nil {
		return r
	}
	i := -1
	r := j.work(func(*Variant) bool { i++; return of&(1<<i) != 0 })
	r.said = j.say(r.Interval)
	j.resolved[of].Store(r)
	return r
}

// work puts the variants that hold in the place of what they differ from.
func (j *Job) work(holds func(*Variant) bool) *rule {
	r := &rule{Interval: j.Interval, advice: j.Advice, source: j.Source, minutes: j.Minutes}
	for i := range j.Variants {
		v := &j.Variants[i]
		if !holds(v) {
			continue
		}
		r.Interval = r.Interval.with(v.Interval)
		if v.NoAfter {
			r.After = v.Interval.After
		}
		if v.Advice != "" {
			r.advice = v.Advice
		}
		if v.Source != "" {
			r.source = v.Source
		}
	}
	return r
}
