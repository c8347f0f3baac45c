package wear

import (
	"cmp"
	"slices"
)

// Hold is whether a bike has to stay in today, and what keeps it.
type Hold struct {
	Held  bool
	Why   string // what keeps it, one line; "" where nothing does
	By    string // who held it back; "" = a stop does
	Clear string // the cheapest act that lets it go out

	// Lifted is a release that lets the bike out in spite of a stop, until its
	// end; the verdict stays. Nil = none is in force.
	Lifted *Status
}

// Release is the release in force today that lifts a stop: one with a name and
// an end. Nil = there is none.
func (c Case) Release() *Status {
	is, s := c.Standing()
	if is != InService || s == nil || s.By == "" || s.Until == 0 {
		return nil
	}
	return s
}

// HoldOf says whether a bike has to stay in: whoever held it back, or a stop
// among its findings of today. A release lifts the stops that were there when it
// was given, which are those among the findings of that instant (then); a stop
// that came later, a crash, a recall or an unsafe look after it holds the bike
// all the same. A retired bike is not held: it is gone.
func HoldOf(c Case, today, then []Finding) Hold {
	is, status := c.Standing()
	switch is {
	case Retired:
		return Hold{}
	case Held:
		return Hold{Held: true, Why: join("held back", ": ", status.Reason), By: status.By, Clear: "release it once that is put right"}
	}
	h := Hold{Lifted: c.Release()}
	for i := range today {
		f := &today[i]
		if f.Verdict != Stop || h.Lifted != nil && c.lifts(h.Lifted, f, then) {
			continue
		}
		h.Held, h.Lifted = true, nil
		h.Why, h.Clear = stopWhy(f), f.Clears
		return h
	}
	if Worst(today) != Stop {
		h.Lifted = nil
	}
	return h
}

func stopWhy(f *Finding) string {
	why := f.Part + ", " + f.Title
	if len(f.Reasons) > 0 {
		why = f.Part + ": " + f.Reasons[0].Text
	}
	return why
}

// lifts reports whether a release was given in view of a stop of today.
func (c Case) lifts(r *Status, f *Finding, then []Finding) bool {
	known := slices.ContainsFunc(then, func(o Finding) bool {
		return o.Verdict == Stop && o.samePart(f) && o.Job == f.Job
	})
	return known && !c.newCause(r, f.PartID)
}

// newCause reports whether the bike crashed or was recalled, or a part was found
// unsafe, after a release was given; of the same instant what was entered later.
func (c Case) newCause(r *Status, part ID) bool {
	after := func(at Instant, id uint64) bool {
		return cmp.Or(cmp.Compare(at, r.At), cmp.Compare(id, r.ID)) > 0 && at <= c.Today
	}
	for _, i := range c.Incidents {
		if !i.Void && (i.What == Crashed || i.What == Recalled) && after(i.At, i.ID) {
			return true
		}
	}
	for i := range c.Parts {
		if c.Parts[i].Part.ID != part {
			continue
		}
		for _, l := range c.Parts[i].Looks {
			if !l.Void && l.Word == Unsafe && after(l.At, l.ID) {
				return true
			}
		}
	}
	return false
}

// AsOf is the case as it was known at an instant at which the spans of its bike
// are cut (a sign-off, a look, a reading, an incident or a fit); at another, the
// rides of that span count in full. Of that very instant declined work is left out.
func (c Case) AsOf(at Instant) Case {
	old := c
	c.Today, c.Parts, c.Past = at, nil, nil
	c.Lines = make(map[ID]Timeline, len(old.Lines))
	for id, tl := range old.Lines {
		c.Lines[id] = tl.within(Ever, at)
	}
	for _, list := range [][]PartCase{old.Past, old.Parts} {
		for _, pc := range list {
			c.take(pc.asOf(at))
		}
	}
	c.Settings = until(old.Settings, func(s Setting) bool { return s.At <= at })
	c.Incidents = until(old.Incidents, func(i Incident) bool { return i.At <= at })
	return c
}
