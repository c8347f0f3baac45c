package wear

// Range is a figure with its spread: below P10 in one case of ten, below P50 in
// half of them, below P90 in nine of ten. Nil where it is not known.
type Range struct{ P10, P50, P90 *float64 }

// Dates is a day with its spread; nil where it is not known.
type Dates struct{ P10, P50, P90 *Instant }

// Reason is one line of why a verdict is what it is.
type Reason struct {
	Basis Basis
	Text  string // whole in itself, lower case, no full stop
}

// Finding is the verdict on one job of one part, with what it rests on.
type Finding struct {
	Bike, Part, Kind, Job string // names
	Title                 string // what is to be done: "clean and lube the chain"
	BikeID, PartID        ID
	Act                   Act // what sort of work the job is
	Verdict               Verdict
	Safety                bool
	Seen                  bool // of a stop: somebody saw or measured it, or it happened; else a check was missed

	Below       float64 // of a reading that only says it is below this; Used is then 0; 0 = Used is known
	Expects     bool    // the count tells only what such parts last: a look or a reading makes it due, never the day
	Used, Limit float64 // in Unit; Limit is 0 where the job has none (a look, an event)
	Unit        string  // turns, m, s, J, days, rides, idler turns, pulley turns, contacts, %, mm
	Share       float64 // of the way to the limit; at least 1 where the verdict is due or stop
	Basis       Basis
	Data        Data
	Since       Instant // what Used counts from; Ever = the bike's first ride, none yet
	Left        Range   // in Unit; 0 once reached
	Date        Dates   // when the limit is reached; Today once it is
	LoadLeft    Range   // of a part that is measured: what it bears until the limit, in LoadUnit
	LoadUnit    string  // turns, m, J; empty where nothing is measured
	Chance      float64 // that the limit is reached within the lead time, 0 to 1

	Advice   string   // what to do, in words
	Clears   string   // the cheapest act that clears a stop; empty unless Verdict is Stop
	Caution  string   // what to mind while doing it
	Source   string   // where the limit comes from
	Torque   float64  // N·m, the maker's figure that an override gives; 0 = not given
	Minutes  int      // typical bench time; 0 = not given
	Rule     string   // the job's rule, saying itself: "after 1 ride, then every 25 h"
	Reasons  []Reason // the first one decides
	Declined Instant  // when somebody last chose not to have it done, and it has not been since; 0 = never
	Notes    []string // what the reader must know of the data: what was lacking or assumed
}

// Worst returns the most urgent verdict of the findings.
func Worst(fs []Finding) Verdict {
	worst := Fine
	for i := range fs {
		worst = max(worst, fs[i].Verdict)
	}
	return worst
}
