package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// wholeBike is a bike with a part of every kind after a season without care.
func wholeBike(t *testing.T) wear.Case {
	t.Helper()
	var parts []wear.PartCase
	for i, k := range wear.Default().Kinds() {
		id := wear.ID(100 + i)
		parts = append(parts, wear.PartCase{
			Part:  wear.Part{ID: id, Kind: k.Name, Name: k.Name + "-1"},
			Stays: []wear.Stay{{Part: id, Host: 3, From: wear.Ever, To: wear.Never}},
		})
		if k.Name == "guide" {
			parts[i].Looks = []wear.Look{{Part: id, Bike: 3, At: on(t, "2026-05-12 22:00"), Word: wear.Unsafe, Note: "tab cracked"}}
		}
	}
	var sums wear.Sums
	s := &sums[wear.Wet]
	s.Rides, s.Long = 28, 28
	s.Recorded[wear.Distance] = wear.Distance.Stored(588_000)
	s.Recorded[wear.Moving] = wear.Moving.Stored(42 * 3600)
	s.Estimated[wear.Turns] = wear.Turns.Stored(145_600)
	s.Estimated[wear.Braking] = wear.Braking.Stored(8_400_000)
	return wear.Case{
		Bike: wear.Bike{ID: 3, Name: "Kestrel 3", Speeds: 12, Guide: true}, Today: on(t, "2026-05-14 18:00"), Parts: parts,
		Lines: map[wear.ID]wear.Timeline{3: {{From: wear.Ever, Sums: sums, Ring: 32}}},
		Use:   wear.Use{Sums: sums, Days: 84, Last: on(t, "2026-05-11 09:00")}, First: on(t, "2026-02-20 09:00"),
	}
}

func TestEveryJobOfTheScheduleIsShown(t *testing.T) {
	c := wholeBike(t)
	findings := wear.Assess(c, wear.Default())
	require.Greater(t, len(findings), 40)
	for _, s := range []Style{{Width: 40}, {Width: 80}, {Width: 120, Colour: true}} {
		out := due(t, DueList{Today: c.Today, Findings: findings, All: true}, s)
		narrow(t, out, s.Width)
		words := unwrap(escapes.ReplaceAllString(out, ""))
		for i := range findings {
			f := &findings[i]
			if f.Verdict >= wear.Due {
				assert.Contains(t, words, f.Part+": "+f.Title)
				assert.Contains(t, words, sentence(f.Advice))
			}
		}
		assert.Contains(t, words, "A look said unsafe: tab cracked.")
	}
}

func TestEveryFigureIsExplained(t *testing.T) {
	c := wholeBike(t)
	findings := wear.Assess(c, wear.Default())
	for i := range findings {
		e, err := wear.Explain(c, wear.Default(), findings[i].PartID, findings[i].Job)
		require.NoError(t, err)
		page := WhyPage{Explanation: e, Today: c.Today, Bikes: map[wear.ID]string{3: "Kestrel 3"}}
		for _, w := range []int{40, 80} {
			var b strings.Builder
			require.NoError(t, Why(&b, page, Style{Width: w}))
			narrow(t, b.String(), w)
			words := unwrap(b.String())
			assert.Contains(t, words, findings[i].Title)
			assert.Contains(t, words, "source "+unwrap(findings[i].Source))
			assert.Contains(t, words, wear.Caution)
		}
	}
}
