package wear

// Act is the sort of work that a job is.
type Act string

// The acts. Work by a spanner (change, service) restarts the jobs that depend
// on it; change is the one that fits a new part.
const (
	ActClean   Act = "clean"
	ActMeasure Act = "measure"
	ActLook    Act = "look"
	ActCheck   Act = "check"
	ActChange  Act = "change"
	ActService Act = "service"
)

// Work reports whether the act takes the part apart, so that what depends on it
// must be checked afresh.
func (a Act) Work() bool { return a == ActChange || a == ActService }

// Inspects reports whether the act only finds out how the part is.
func (a Act) Inspects() bool { return a == ActMeasure || a == ActLook || a == ActCheck }
