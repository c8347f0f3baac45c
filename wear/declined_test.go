package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A finding says that its job was declined until it is done, whatever its
// verdict.
func TestFindingsSayWhatWasDeclined(t *testing.T) {
	for name, c := range map[string]struct {
		kind, job string
		happens   func(w *world, p *PartCase)
		want      Instant
		verdict   Verdict
	}{
		"never":           {"fork", "lowers", func(*world, *PartCase) {}, 0, Due},
		"before it's due": {"fork", "service", func(w *world, p *PartCase) { w.decline(p, 2, "service") }, days(2), Fine},
		"not asked again": {"fork", "lowers", func(w *world, p *PartCase) { w.decline(p, 2, "lowers") }, days(2), Fine},
		"asked again": {"fork", "lowers", func(w *world, p *PartCase) {
			w.decline(p, 2, "lowers")
			w.ride(3, Dry, hours(60))
		}, days(2), Due},
		"twice": {"fork", "lowers", func(w *world, p *PartCase) {
			w.decline(p, 2, "lowers")
			w.decline(p, 3, "lowers")
		}, days(3), Fine},
		"another job":      {"fork", "lowers", func(w *world, p *PartCase) { w.decline(p, 2, "service") }, 0, Due},
		"safety work":      {"guide-bolts", "check", func(w *world, p *PartCase) { w.decline(p, 1.5, "check") }, days(1.5), Stop},
		"a look on a stop": {"guide", "look", func(w *world, p *PartCase) { w.look(p, 2, Unsafe); w.decline(p, 3, "look") }, days(3), Stop},
		"done since":       {"fork", "lowers", func(w *world, p *PartCase) { w.decline(p, 2, "lowers"); w.signoff(p, 3, "lowers") }, 0, Fine},
		"done with more":   {"fork", "lowers", func(w *world, p *PartCase) { w.decline(p, 2, "lowers"); w.signoff(p, 3, "service") }, 0, Fine},
		"looked at since":  {"guide", "look", func(w *world, p *PartCase) { w.decline(p, 2, "look"); w.look(p, 3, Good) }, 0, Fine},
		"void":             {"fork", "lowers", func(w *world, p *PartCase) { w.decline(p, 2, "lowers"); p.SignOffs[0].Void = true }, 0, Due},
		"done the same moment": {"fork", "lowers", func(w *world, p *PartCase) {
			w.decline(p, 2, "lowers")
			w.signoff(p, 2, "lowers")
		}, 0, Fine},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, 30)
			p := w.fit(c.kind, days(0))
			w.ride(1, Dry, hours(26)).ride(1.1, Dry, hours(26))
			c.happens(w, p)
			f := w.judged(c.kind, c.job)
			assert.Equal(t, c.want, f.Declined)
			assert.Equal(t, c.verdict, f.Verdict)
		})
	}
}

func TestANewPartWasNotDeclined(t *testing.T) {
	w := newWorld(t, 30)
	chain := w.fit("chain", days(0))
	w.read(chain, 5, 0.6)
	w.decline(chain, 6, "change")
	require.Equal(t, days(6), w.judged("chain", "change").Declined)
	w.off(chain, days(7), Worn)
	w.fit("chain", days(7))
	for _, f := range Assess(w.build(), Default()) {
		assert.Zero(t, f.Declined, f.Job)
	}
}

func TestRemindLeavesOutWhatTheAssessorCallsDeclined(t *testing.T) {
	w := newWorld(t, 30)
	fork, guide := w.fit("fork", days(0)), w.fit("guide", Ever)
	w.ride(1, Dry, hours(60))
	w.look(guide, 2, Good)
	r := newReminding()
	told := func() []string {
		r.findings, r.now = Assess(w.build(), Default()), w.today
		r.p.Consent.Given = days(0)
		return r.jobs()
	}
	assert.Equal(t, []string{"enduro fork lowers due"}, told())
	w.decline(fork, 3, "lowers")
	assert.Empty(t, told())
	w.look(guide, 4, Unsafe)
	w.decline(guide, 5, "look")
	assert.Equal(t, []string{"enduro guide look stop"}, told())
}
