package wear

import (
	"cmp"
	"slices"
)

// RemindRules say how often a person is written to.
type RemindRules struct {
	Every Instant // ms between two messages to one person; a new stop goes out at once
	Again Instant // ms after which a finding that still stands is told again
}

// Remind decides which findings a person is to be told of now, most urgent
// first: none where he is not to be written to. Findings are those of all his
// bikes; earlier are the messages to him. The order of neither matters.
//
//   - Without consent that holds, or without an address, nothing is ever told.
//   - What is fine is not told, nor what was offered and declined, unless it is
//     a stop.
//   - A visit of today or later silences all of its bike but a stop; a void or
//     a past one, kept or missed, silences nothing.
//   - A finding is new unless a message less than rules.Again ago told it with
//     the same verdict or a worse one, and its job was not done since. So a
//     stop that only eased and came back is not told twice, as nobody worked on
//     it (a reading may waver about the limit); one that comes back after the
//     work or the look that cleared it is told at once, and so is a part found
//     unsafe anew. Only new findings are told.
//   - Within rules.Every of the last message only a new stop is told, and then
//     everything new with it.
//   - A message that waits or is being tried will come: it counts as told from
//     now on, however old it is. One that was sent counts from when it was
//     sent. One that was rejected or withdrawn told nothing.
func Remind(p Person, findings []Finding, visits []Visit, earlier []Message, r RemindRules, now Instant) []Finding {
	if _, ok := PlainEmail(p.Email); !ok || !p.Consent.Holds(now) {
		return nil
	}
	h := hear(earlier, r, now)
	var fresh []Finding
	for i := range findings {
		if f := &findings[i]; f.tellable() && !f.awaited(visits, now) && !h.knows(f) {
			fresh = append(fresh, *f)
		}
	}
	if h.quiet && Worst(fresh) < Stop {
		return nil
	}
	slices.SortFunc(fresh, func(x, y Finding) int {
		return cmp.Or(byUrgency(x, y), cmp.Compare(x.BikeID, y.BikeID), cmp.Compare(x.PartID, y.PartID))
	})
	return fresh
}

// tellable reports whether the finding is anything to write of.
func (f *Finding) tellable() bool {
	return f.Verdict == Stop || f.Verdict > Fine && f.Declined == 0
}

// awaited reports whether the finding can be left to a visit of today or later.
func (f *Finding) awaited(visits []Visit, now Instant) bool {
	return f.Verdict != Stop && slices.ContainsFunc(visits, func(v Visit) bool {
		return v.Bike == f.BikeID && !v.Void && v.At >= now
	})
}

// heard is what a person knows of messages.
type heard struct {
	quiet bool      // the last is too young for another
	tells []Mention // of those less than RemindRules.Again ago
}

func hear(earlier []Message, r RemindRules, now Instant) heard {
	var h heard
	for i := range earlier {
		m := &earlier[i]
		at := m.told()
		h.quiet = h.quiet || at > now-r.Every
		if at > now-r.Again {
			h.tells = append(h.tells, m.Tells...)
		}
	}
	return h
}

// told is when the person came to know what the message tells: Ever where he
// never will, Never where it is still on its way.
func (m *Message) told() Instant {
	switch m.State {
	case Rejected, Withdrawn:
		return Ever
	case Accepted:
		return max(m.At, m.Ended)
	}
	return Never
}

// knows reports whether a finding is no news.
func (h *heard) knows(f *Finding) bool {
	return slices.ContainsFunc(h.tells, func(t Mention) bool {
		same := t.Bike == f.BikeID && t.Part == f.PartID && t.Job == f.Job
		doneSince := t.Since != 0 && f.Since > t.Since
		return same && !doneSince && t.Verdict >= f.Verdict
	})
}
