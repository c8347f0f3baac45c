package wear

import "fmt"

// assumed puts down what is taken for granted.
func (r *PolicyResult) assumed(m *policyModel, ask PolicyAsk) {
	say := func(format string, args ...any) { r.Assumed = append(r.Assumed, fmt.Sprintf(format, args...)) }
	say("chains are changed as they come to the limit; a new one reads %g %%, and past %g %% chains wear %g times as fast (give or take; common practice, no published source)",
		chainStart, chainKnee, chainFaster)
	if c, ring := &m.teeth[policyCassette], &m.teeth[policyRing]; c.assumes() || ring.assumes() {
		t := c
		if !c.assumes() {
			t = ring
		}
		say("teeth wear %g times as fast while the chain is past 0.5 %%, as the schedule then looks so much sooner; about two cases in three lie between %.1f and %.1f (common practice, no published source)",
			t.faster, t.faster/1.42, t.faster*1.42)
	}
	for _, k := range []int{policyCassette, policyRing} {
		if t := &m.teeth[k]; !t.none && !t.known[0] && !t.known[1] {
			say("what the schedule expects of a %s holds for chains changed at 0.5 %%", policyKinds[k])
		}
	}
	for k, u := range m.facts.use {
		if u.silent > 0 {
			say("%s with rides that do not tell their load wear as the others do", plural(int64(u.silent), policyKinds[k]))
		}
	}
	if ask.Hour > 0 {
		say("changing takes what the schedule has; an hour at the stand costs %s", hundredths(ask.Hour))
	} else {
		say("work is not counted: it makes each change dearer")
	}
	say("measuring, cleaning and looks cost the same at both limits, and a skipping chain costs nothing")
}
