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
	EventCrash                      // a part of the bike ended in a crash
	EventChainPast                  // the chain measured past Value %
	EventSharePast                  // the part measured past Value of its limit
	EventNthChain                   // that many worn chains since the part was fitted
)

// Event is one event of the schedule with its figure.
type Event struct {
	Kind  EventKind
	Value float64
}

var plainEvents = map[string]EventKind{
	"fitted": EventFitted, "wet ride": EventWet, "mud ride": EventMud,
	"new chain": EventNewChain, "crash": EventCrash,
}

// ParseEvent reads an event as the schedule writes it.
func ParseEvent(s string) (Event, error) {
	if k, ok := plainEvents[s]; ok {
		return Event{Kind: k}, nil
	}
	var v float64
	if n, _ := fmt.Sscanf(s, "chain past %g %%", &v); n == 1 && v > 0 {
		return Event{EventChainPast, v}, nil
	}
	if n, _ := fmt.Sscanf(s, "past %g %% of the limit", &v); n == 1 && v > 0 && strings.HasSuffix(s, "of the limit") {
		return Event{EventSharePast, v / 100}, nil
	}
	if s == "third worn chain" {
		return Event{EventNthChain, 3}, nil
	}
	return Event{}, fmt.Errorf("event %q: not one of fitted, wet ride, mud ride, new chain, crash, third worn chain, "+
		"chain past N %%, past N %% of the limit", s)
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
	case EventCrash:
		return "after a crash"
	case EventChainPast:
		return fmt.Sprintf("when the chain measures past %g %%", e.Value)
	case EventNthChain:
		return "with the third worn chain"
	}
	return e.String()
}
