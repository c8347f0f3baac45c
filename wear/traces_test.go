package wear

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// unmarked are the facts of whose mark no later one is.
func unmarked[T any](facts []T, mark func(*T) Mark) []T {
	var kept []T
	for i := range facts {
		later := func(o T) bool { return mark(&o) == mark(&facts[i]) }
		if !slices.ContainsFunc(facts[i+1:], later) {
			kept = append(kept, facts[i])
		}
	}
	return kept
}

// tracesOnly is a case without the facts that its parts leave no traces of, and
// where nothing happened to the bike, without those that later ones have overtaken.
func tracesOnly(c Case) Case {
	var past []PartCase
	for _, pc := range c.Past {
		traces := Default().Traces(pc.Part)
		pc.Looks = nil
		if !traces.Readings {
			pc.Readings = nil
		}
		if !traces.SignOffs {
			pc.SignOffs = nil
		}
		if traces.Stays || len(pc.Readings) > 0 {
			past = append(past, pc)
		}
	}
	c.Past = past
	c.Parts = slices.Clone(c.Parts)
	for i := range c.Parts {
		pc := &c.Parts[i]
		if !Default().Traces(pc.Part).Readings {
			pc.Readings = nil
		}
		if len(c.Incidents) == 0 {
			pc.Looks, pc.SignOffs = unmarked(pc.Looks, (*Look).Mark), unmarked(pc.SignOffs, (*SignOff).Mark)
		}
	}
	return c
}

// What leaves no traces changes no finding and no state of the guide.
func TestTracesAreEnough(t *testing.T) {
	spared, past := 0, 0
	rapid.Check(t, func(r *rapid.T) {
		w := randomWorld(t, r)
		causes := rapid.SampledFrom(Causes)
		for _, p := range w.parts {
			if p.Part.End != nil {
				p.Part.End.Cause = causes.Draw(r, "cause")
			}
			p.SignOffs = slices.DeleteFunc(p.SignOffs, func(s SignOff) bool { return s.Declined })
			for i := range p.SignOffs {
				o := &p.SignOffs[i]
				o.Torque, o.Witness = float64(rapid.IntRange(0, 2).Draw(r, "torque"))*5, rapid.Bool().Draw(r, "witness")
				o.Fitted = ID(rapid.IntRange(0, 1).Draw(r, "fitted"))
			}
			sortFacts(p)
		}
		c := w.build()
		brief := tracesOnly(c)
		past, spared = past+len(c.Past), spared+len(c.Past)-len(brief.Past)
		assert.Equal(t, Assess(c, Default()), Assess(brief, Default()))
		setup := []GuideSetup{{ID: 1, Bike: w.bike.ID, At: days(rapid.Float64Range(0, 200).Draw(r, "set up")), Ring: 32}}
		want, ok := SetupOf(c, setup, Default())
		have, same := SetupOf(brief, setup, Default())
		assert.Equal(t, ok, same)
		assert.Equal(t, want, have)
	})
	assert.Greater(t, spared, past/20, "of %d parts", past)
}

func TestTraces(t *testing.T) {
	crashed := &End{Cause: Crash}
	for _, c := range []struct {
		part Part
		want Traces
	}{
		{Part{Kind: "chain"}, Traces{Stays: true, Readings: true}},
		{Part{Kind: "front-pads"}, Traces{Readings: true}},
		{Part{Kind: "rear-tyre"}, Traces{Stays: true, Readings: true, SignOffs: true}}, // its work restarts the sealant
		{Part{Kind: "ring"}, Traces{Stays: true, SignOffs: true}},
		{Part{Kind: "cassette"}, Traces{Stays: true, SignOffs: true}}, // its work asks for the guide's check
		{Part{Kind: "pedals"}, Traces{}},
		{Part{Kind: "front-wheel"}, Traces{Stays: true}}, // with which its tyre came
		{Part{Kind: "pedals", End: crashed}, Traces{Stays: true}},
		{Part{Kind: "no such kind"}, Traces{}},
	} {
		assert.Equal(t, c.want, Default().Traces(c.part), c.part.Kind)
	}
}

// sortFacts puts looks and sign-offs in the order of a book.
func sortFacts(p *PartCase) {
	slices.SortFunc(p.Looks, func(x, y Look) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) })
	slices.SortFunc(p.SignOffs, func(x, y SignOff) int { return cmp.Or(cmp.Compare(x.At, y.At), cmp.Compare(x.ID, y.ID)) })
}
