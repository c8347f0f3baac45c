package wear

import (
	_ "embed"
	"sync"
)

//go:embed schedule.toml
var defaultSchedule []byte

// Schedule is every job of every kind.
type Schedule struct {
	LeadDays    float64 // how far ahead a part is to be ordered
	MissedHours float64 // riding past a first check of safety work until it stops the bike
	FleetTimes  float64 // of a safety inspection's interval at which a hired bike stops
	EarlyShare  float64 // of the way to the limit below which a reading gives no rate
	Assumed     Assumed
	kinds       []Kind
	index       map[string]int
	restarts    map[string]bool // see restarting
	carries     map[string]bool // see carrying
}

// Assumed are teeth taken where a bike's sheet says nothing.
type Assumed struct {
	Ring, Idler, Pulley float64
	BusyCog             float64 // teeth of the cog that wears first
	BusyShare           float64 // of all turns on it
}

var parseDefault = sync.OnceValues(func() (*Schedule, error) {
	return ParseSchedule(defaultSchedule, "schedule.toml")
})

// Default is the schedule that pawl ships, parsed once. Callers share it and
// must not change it.
func Default() *Schedule {
	s, err := parseDefault()
	if err != nil {
		panic(err) // the file is part of the program and every test reads it
	}
	return s
}

// say says the job's rule with an interval that holds for it.
func (j *Job) say(iv Interval) string {
	return iv.String() + j.evidence
}

// Kinds lists the kinds in the order of the schedule. The list is shared.
func (s *Schedule) Kinds() []Kind { return s.kinds }

// Kind returns the kind of that name.
func (s *Schedule) Kind(name string) (Kind, bool) {
	if k := s.kind(name); k != nil {
		return *k, true
	}
	return Kind{}, false
}

func (s *Schedule) kind(name string) *Kind {
	if i, ok := s.index[name]; ok {
		return &s.kinds[i]
	}
	return nil
}

// Work reports whether a sign-off took the part apart, so that what depends on
// it starts afresh.
func (s *Schedule) Work(kind string, o SignOff) bool {
	if o.Fitted != 0 {
		return true
	}
	if k := s.kind(kind); k != nil {
		if j, ok := k.Job(o.Job); ok {
			return j.Act.Work()
		}
	}
	return o.Job == string(ActChange) || o.Job == string(ActService)
}
