package wear

import (
	"fmt"
	"strings"
)

// EventKind is what sort of thing happened to a part or its bike.
type EventKind uint8

// The events that a job can follow.
const (
	EventFitted    EventKind = iota // the part was fitted and not measured since
	EventWet                        // a ride in the wet
	EventMud                        // a ride in mud
	EventNewChain                   // another chain was fitted
	EventCrash                      // the bike crashed, or a part of it ended in a crash
	EventRecall                     // the bike was recalled by its maker
	EventStrike                     // something hit the bike
	EventDrops                      // the chain dropped Value times in Within hours of riding
	EventChainPast                  // the chain measured past Value %
	EventSharePast                  // the part measured past Value of its limit
	EventNthChain                   // that many worn chains since the part was fitted
)

// Event is one event of the schedule with its figure.
type Event struct {
	Kind   EventKind
	Value  float64
	Within float64
}

var plainEvents = map[string]EventKind{
	"fitted": EventFitted, "wet ride": EventWet, "mud ride": EventMud,
	"new chain": EventNewChain, "crash": EventCrash, "recall": EventRecall, "strike": EventStrike,
}

// ParseEvent reads an event as the schedule writes it.
func ParseEvent(s string) (Event, error) {
	if k, ok := plainEvents[s]; ok {
		return Event{Kind: k}, nil
	}
	var v float64
	if n, _ := fmt.Sscanf(s, "chain past %g %%", &v); n == 1 && v > 0 {
		return Event{Kind: EventChainPast, Value: v}, nil
	}
	if n, _ := fmt.Sscanf(s, "past %g %% of the limit", &v); n == 1 && v > 0 && strings.HasSuffix(s, "of the limit") {
		return Event{Kind: EventSharePast, Value: v / 100}, nil
	}
	if s == "third worn chain" {
		return Event{Kind: EventNthChain, Value: 3}, nil
	}
	var times int
	if n, _ := fmt.Sscanf(s, "%d drops within %g h", &times, &v); n == 2 && times > 0 && v > 0 && strings.HasSuffix(s, " h") {
		return Event{Kind: EventDrops, Value: float64(times), Within: v}, nil
	}
	return Event{}, fmt.Errorf("event %q: not one of fitted, wet ride, mud ride, new chain, crash, recall, strike, third worn chain, "+
		"chain past N %%, past N %% of the limit, N drops within N h", s)
}

// String says the event after "after", "when" or alone, in the schedule's words.
func (e Event) String() string {
	switch e.Kind {
	case EventChainPast:
		return fmt.Sprintf("chain past %g %%", e.Value)
	case EventSharePast:
		return fmt.Sprintf("past %g %% of the limit", e.Value*100)
	case EventNthChain:
		return "third worn chain"
	case EventDrops:
		return fmt.Sprintf("%g drops within %g h", e.Value, e.Within)
	}
	for s, k := range plainEvents {
		if k == e.Kind {
			return s
		}
	}
	return fmt.Sprintf("event %d", uint8(e.Kind))
}

// clause says the event within a rule: "after every wet ride".
func (e Event) clause() string {
	switch e.Kind {
	case EventFitted:
		return "when fitted"
	case EventWet, EventMud:
		return "after every " + e.String()
	case EventNewChain:
		return "with each new chain"
	case EventCrash, EventRecall, EventStrike, EventDrops:
		if e.Kind == EventDrops {
			return "after " + e.String()
		}
		return "after a " + e.String()
	case EventChainPast:
		return fmt.Sprintf("when the chain measures past %g %%", e.Value)
	case EventNthChain:
		return "with the third worn chain"
	}
	return e.String()
}
