package wear

import (
	"fmt"
	"strings"
)

// Interval is when a job is due. It says itself.
type Interval struct {
	First     []Count // after a fit, or after work on what the job depends on
	Then      []Count // from one sign-off to the next
	Soon      []Count // instead of Then, after one of SoonAfter
	SoonAfter []Event
	After     []Event // due at once
	Expect    []Count // what such a part lasts: asks for a look or a reading
	Reading   *Limit
}

// Limit is where a reading says change, and where it says stop.
type Limit struct {
	Of        ReadingOf
	New       float64 // what a new part reads
	Due       float64
	Stop      float64 // 0 = no hard limit
	FleetStop float64 // hard limit of hired bikes; 0 = as Stop
	Stamped   bool    // a figure stamped on the part goes before Stop
}

// Unit is % or mm.
func (l Limit) Unit() string {
	if l.Of == Elongation {
		return "%"
	}
	return "mm"
}

// Rises reports whether the reading grows with wear.
func (l Limit) Rises() bool { return l.Due > l.New }

// Reached reports whether v is at limit or worse.
func (l Limit) Reached(v, limit float64) bool {
	if l.Rises() {
		return v >= limit
	}
	return v <= limit
}

// Share is how far a reading has come from new to Due, 0 to 1 and beyond.
func (l Limit) Share(v float64) float64 { return max(0, (v-l.New)/(l.Due-l.New)) }

// hard is the limit that stops the bike; ok is false where there is none.
func (l Limit) hard(fleet bool) (limit float64, ok bool) {
	if fleet && l.FleetStop != 0 {
		return l.FleetStop, true
	}
	return l.Stop, l.Stop != 0
}

// stamped moves the limits to the figure stamped on the part, of which there may be none.
func (l *Limit) stamped(mm float64) *Limit {
	if !l.Stamped || !(mm > 0) {
		return l
	}
	margin, own := l.Due-l.Stop, *l
	own.Stop, own.Due = mm, mm+margin
	own.New = max(l.New, own.Due+margin)
	return &own
}

// with returns iv with the fields that v gives in their place.
func (iv Interval) with(v Interval) Interval {
	lists := []struct{ to, from *[]Count }{{&iv.First, &v.First}, {&iv.Then, &v.Then}, {&iv.Soon, &v.Soon}, {&iv.Expect, &v.Expect}}
	for _, l := range lists {
		if *l.from != nil {
			*l.to = *l.from
		}
	}
	if v.SoonAfter != nil {
		iv.SoonAfter = v.SoonAfter
	}
	if v.After != nil {
		iv.After = v.After
	}
	if v.Reading != nil {
		iv.Reading = v.Reading
	}
	return iv
}

// String says the interval: "after 1 ride of 1 h, at the latest 5 h, then every
// 25 h"; "every 25,000 turns of the crank and after every wet or mud ride".
func (iv Interval) String() string {
	s := iv.sayCounts()
	if len(iv.After) > 0 {
		s = join(s, " and ", sayEvents(iv.After))
	}
	if len(iv.Soon) > 0 {
		after := "when sooner"
		if len(iv.SoonAfter) > 0 {
			after = saySoon(iv.SoonAfter)
		}
		s = join(s, "; ", "every "+sayCounts(iv.Soon, " or ")+" "+after)
	}
	if iv.Reading != nil {
		s = join(s, "; ", iv.Reading.String())
	}
	if len(iv.Expect) > 0 {
		s = join(s, "; ", "expected at "+sayCounts(iv.Expect, " or "))
	}
	if s == "" {
		return "when a look says replace"
	}
	return s
}

func (iv Interval) sayCounts() string {
	var s string
	if len(iv.First) > 0 {
		s = "after " + sayCounts(iv.First, ", at the latest ")
	}
	if len(iv.Then) == 0 {
		return s
	}
	every := "every " + sayCounts(iv.Then, " or ")
	if len(iv.Then) > 1 {
		every += ", whichever comes first"
	}
	return join(s, ", then ", every)
}

// String says the limit: "at 0.5 %, stop at 1 %".
func (l Limit) String() string {
	s := fmt.Sprintf("at %g %s", l.Due, l.Unit())
	if l.Stop != 0 {
		s += fmt.Sprintf(", stop at %g %s", l.Stop, l.Unit())
	} else if l.FleetStop != 0 {
		s += fmt.Sprintf(", stop at %g %s in a fleet", l.FleetStop, l.Unit())
	}
	return s
}

func join(a, sep, b string) string {
	if a == "" {
		return b
	}
	return a + sep + b
}

// sayEvents says events that make a job due, wet and mud in one.
func sayEvents(es []Event) string {
	var words []string
	for _, e := range es {
		words = append(words, e.clause())
	}
	s := strings.Join(words, " and ")
	return strings.ReplaceAll(s, "after every wet ride and after every mud ride", "after every wet or mud ride")
}

func saySoon(es []Event) string {
	var words []string
	for _, e := range es {
		switch e.Kind {
		case EventWet, EventMud:
			words = append(words, "after a "+e.String())
		case EventChainPast:
			words = append(words, e.clause())
		default:
			words = append(words, e.String())
		}
	}
	s := strings.Join(words, " or ")
	return strings.ReplaceAll(s, "after a wet ride or after a mud ride", "after a wet or mud ride")
}
