package wear

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// randomWorld is a bike with a random past: parts that were changed, measured,
// looked at, signed off and declined, and rides on any ground.
func randomWorld(t *testing.T, r *rapid.T) *world {
	const end = 200.0
	w := newWorld(t, end)
	w.bike.Fleet = rapid.Bool().Draw(r, "fleet")
	for range rapid.IntRange(0, 60).Draw(r, "rides") {
		g := Ground(rapid.IntRange(0, int(NGrounds)-1).Draw(r, "ground"))
		w.ride(rapid.Float64Range(0, end).Draw(r, "day"), g, hours(rapid.Float64Range(0.2, 6).Draw(r, "hours")))
	}
	for _, kind := range []string{"frame", "chain", "ring", "cassette", "guide", "guide-bolts", "front-pads", "rear-tyre", "rotor", "fork"} {
		if Default().kind(kind) == nil || rapid.IntRange(0, 4).Draw(r, "lacks") == 0 {
			continue
		}
		from := Instant(Ever)
		for at := rapid.Float64Range(20, 400).Draw(r, "life"); at < end; at += rapid.Float64Range(20, 400).Draw(r, "life") {
			p := w.fit(kind, from)
			randomFacts(w, r, p, at)
			w.off(p, days(at), Worn)
			from = days(at)
		}
		randomFacts(w, r, w.fit(kind, from), end)
	}
	for range rapid.IntRange(0, 2).Draw(r, "incidents") {
		w.happened(rapid.SampledFrom(Happenings).Draw(r, "what"), rapid.Float64Range(0, end).Draw(r, "day"), nil)
	}
	return w
}

// randomFacts are of a part until a day.
func randomFacts(w *world, r *rapid.T, p *PartCase, end float64) {
	from := 0.0
	if s := p.Stays[0].From; s != Ever {
		from = float64(s-days(0)) / Day
	}
	k := Default().kind(p.Part.Kind)
	for range rapid.IntRange(0, 5).Draw(r, "facts") {
		day := rapid.Float64Range(from, end).Draw(r, "day")
		switch job := rapid.SampledFrom(k.Jobs).Draw(r, "job"); rapid.IntRange(0, 4).Draw(r, "sort") {
		case 0:
			w.decline(p, day, job.Name)
		case 1:
			w.look(p, day, rapid.SampledFrom(Words).Draw(r, "word"))
		case 2:
			w.signoff(p, day, job.Name)
		default:
			if k.Measurable() != "" {
				w.read(p, day, rapid.Float64Range(0, 2.5).Draw(r, "value"))
			}
		}
	}
}

// What is asked for alone is what is said of it among all.
func TestAssessOnlySaysWhatAssessDoes(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		c := randomWorld(t, r).build()
		for _, want := range [][]Verdict{{Stop}, {Due}, {Stop, Due}, {Order}, {Due, Fine}} {
			all := Assess(c, Default())
			all = slices.DeleteFunc(all, func(f Finding) bool { return !slices.Contains(want, f.Verdict) })
			only := AssessOnly(c, Default(), want...)
			if len(all) == 0 {
				assert.Empty(t, only)
				continue
			}
			assert.Equal(t, all, only, "%v", want)
		}
	})
}

// The bound that spares a forecast never says of a part that has as likely as not
// come to its limit that it has not.
func TestSurelyShortIsNeverWrong(t *testing.T) {
	short := 0
	rapid.Check(t, func(r *rapid.T) {
		c := randomWorld(t, r).build()
		a := newAssessor(&c, Default())
		for _, p := range a.views {
			f := a.forecast(p)
			if f == nil || f.post == nil {
				continue
			}
			for _, load := range []float64{f.now, f.last + (f.now-f.last)/3, 2 * f.now, 10 * f.now} {
				if f.surelyShort(load) {
					short++
					assert.Less(t, f.curve.at(load), 0.5)
				}
			}
		}
	})
	assert.Positive(t, short)
}
