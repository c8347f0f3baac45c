package wear

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// SetupState is how a bike's chain guide is set up.
type SetupState struct {
	Setup    GuideSetup // what holds: the newest word on each point; At is that of the last record
	Set      Instant    // when the guide, or the ring it was set for, last changed; Ever = never
	Checked  Instant    // when the parking-lot check last passed whole; Ever = never
	CheckDue bool
	Why      []string   // why it is due
	Warnings []string   // what does not look right; nothing here stops a bike
	Angles   []CogAngle // of the chain, at both ends of the cassette; nil where something is not known
}

// setupWork are the kinds whose fit or work makes the check due again.
var setupWork = []string{"ring", "crank", "cassette", "bottom-bracket", "guide"}

// SetupOf is the state of a bike's guide from its dated records: none void, none
// dated after the case, in whatever order. ok is false where there is none.
func SetupOf(c Case, records []GuideSetup, s *Schedule) (st SetupState, ok bool) {
	list := ordered(records, func(x, y GuideSetup) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) },
		func(g GuideSetup) bool { return g.Void || g.At > c.Today })
	if len(list) == 0 {
		return st, false
	}
	st.Set, st.Checked = Ever, Ever
	lot := Ever
	for _, g := range list {
		if g.sets() {
			st.Set = g.At
		}
		if g.Lot != nil {
			if lot = g.At; g.Lot.passed() {
				st.Checked = g.At
			}
		}
		st.Setup = g.over(st.Setup)
	}
	a := newAssessor(&c, s)
	st.due(a, lot)
	st.warn(a)
	return st, true
}

// lotPoint is one point of the check in words.
type lotPoint struct {
	of string
	is Answer
}

func (l ParkingLot) points() []lotPoint {
	return []lotPoint{{"shifting through the range", l.Shifts}, {"no rub at either end of the cassette", l.NoRub}, {"clearance through the travel", l.Clear}}
}

func (l ParkingLot) passed() bool {
	return l.Shifts == Passed && l.NoRub == Passed && l.Clear == Passed
}

// due says why the parking-lot check must be done, lot being when it last was.
func (st *SetupState) due(a *assessor, lot Instant) {
	if st.Setup.Lot == nil {
		st.ask("the parking-lot check is not recorded")
		return
	}
	for _, p := range st.Setup.Lot.points() {
		switch p.is {
		case Failed:
			st.ask(fmt.Sprintf("%s failed on %s", p.of, a.day(lot)))
		case NotAnswered:
			st.ask(p.of + " was not checked")
		}
	}
	if st.Set > lot {
		st.ask("the guide was set on " + a.day(st.Set) + ", after the check")
	}
	for _, w := range a.setupWork(lot) {
		st.ask(w)
	}
	// Work of the check's own day may have come after it; another ring tells.
	if on := a.ringTeeth(); !st.CheckDue && st.Setup.Ring != 0 && on != 0 && on != st.Setup.Ring {
		st.ask(fmt.Sprintf("it was done with a ring of %d teeth, %d are on", st.Setup.Ring, on))
	}
}

func (st *SetupState) ask(why string) {
	st.CheckDue = true
	st.Why = append(st.Why, why)
}

// setupWork is the work on the bike after an instant that moves the chain's
// line or length, oldest first.
func (a *assessor) setupWork(since Instant) []string {
	var list []Anchor
	for _, parts := range [][]PartCase{a.c.Past, a.c.Parts} {
		for i := range parts {
			if !slices.Contains(setupWork, parts[i].Part.Kind) {
				continue
			}
			if at, why := a.lastWork(&parts[i]); at > since && at <= a.c.Today {
				list = append(list, Anchor{At: at, Why: why})
			}
		}
	}
	slices.SortFunc(list, func(x, y Anchor) int { return cmp.Or(cmp.Compare(x.At, y.At), strings.Compare(x.Why, y.Why)) })
	var words []string
	for _, w := range list {
		words = append(words, w.Why+" on "+a.day(w.At))
	}
	return words
}
