package wear

import "slices"

// Traces are the facts of a part that is off its bike on which findings of that
// bike still rest.
type Traces struct {
	Stays    bool // when it was on
	Readings bool // how fast such parts wear there; without any it leaves none
	SignOffs bool // what was done to it
}

// Traces says what of a part that is off its bike [Assess] still looks at, as long
// as no declined work is judged again: chains are counted, a crash that ended a part
// asks for a look, a measured part tells how fast the next one wears, work on some
// kinds makes jobs of others start afresh, and with which wheel a part came tells
// whether anybody worked on it.
func (s *Schedule) Traces(p Part) Traces {
	t := Traces{SignOffs: s.restarts[p.Kind] || slices.Contains(setupWork, p.Kind)}
	t.Stays = t.SignOffs || s.carries[p.Kind] || p.Kind == "chain" || p.End != nil && p.End.Cause == Crash
	if k := s.kind(p.Kind); k != nil {
		t.Readings = k.Measurable() != ""
	}
	return t
}

// restarting are the kinds of which work makes a job of another kind start afresh.
func restarting(kinds []Kind) map[string]bool {
	by := map[string]bool{}
	for i := range kinds {
		for j := range kinds[i].Jobs {
			for _, k := range kinds[i].Jobs[j].RestartedBy {
				by[k] = true
			}
		}
	}
	return by
}

// carrying are the kinds that carry parts of another.
func carrying(kinds []Kind) map[string]bool {
	by := map[string]bool{}
	for i := range kinds {
		by[kinds[i].CarriedBy] = true
	}
	delete(by, "")
	return by
}

// Mark is what tells sign-offs, or looks, of one part from each other for
// [Assess]: of those with one mark only the newest counts, as long as the part has
// been on one bike, nothing of it was declined, and no incident asks what was seen
// in its moment.
type Mark struct {
	What                     string // the job, or the word
	Witness, Torqued, Fitted bool
}

// Mark is that of a sign-off.
func (s *SignOff) Mark() Mark {
	return Mark{What: s.Job, Witness: s.Witness, Torqued: s.Torque != 0, Fitted: s.Fitted != 0}
}

// Mark is that of a look.
func (l *Look) Mark() Mark { return Mark{What: string(l.Word)} }
