package report

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// trailCase is a bike of the shipped trail sheet after a season in which only
// some of its jobs were done.
func trailCase(t *testing.T) wear.Case {
	t.Helper()
	sheet, ok := wear.SheetByName("trail")
	require.True(t, ok)
	today := on(t, "2026-05-14 18:00")
	c := wear.Case{
		Bike: sheet.Dress(wear.Bike{ID: 3, Name: "Kestrel 3"}), Today: today, First: on(t, "2026-02-20 09:00"),
		Lines: map[wear.ID]wear.Timeline{3: {{From: wear.Ever, Ring: 32}, {From: on(t, "2026-03-02 00:00"), Sums: seasonSums(), Ring: 32}, {From: today - 1, Ring: 32}}},
		Use:   wear.Use{Sums: seasonSums(), Days: 84, Last: on(t, "2026-05-11 09:00")},
	}
	for i, p := range sheet.Parts {
		p.ID, p.Name = wear.ID(100+i), p.Kind+"-1"
		c.Parts = append(c.Parts, wear.PartCase{
			Part: p, Stays: []wear.Stay{{Part: p.ID, Host: 3, From: wear.Ever, To: wear.Never, Came: true}}, SignOffs: seasonWork(today)[p.Kind],
		})
		tell(t, &c.Parts[i])
	}
	return c
}

// seasonSums are 42 h of riding, part of it in the wet.
func seasonSums() (sums wear.Sums) {
	for g, share := range map[wear.Ground]float64{wear.Wet: 0.25, wear.Unmarked: 0.75} {
		s := &sums[g]
		s.Rides, s.Long = int64(28*share), int64(20*share)
		s.Recorded[wear.Distance] = wear.Distance.Stored(588_000 * share)
		s.Recorded[wear.Moving] = wear.Moving.Stored(42 * 3600 * share)
		s.Estimated[wear.Turns] = wear.Turns.Stored(145_600 * share)
		s.Estimated[wear.Braking] = wear.Braking.Stored(2_400_000 * share)
	}
	return sums
}

// seasonWork is what was done just before the day of the card, by kind.
func seasonWork(today wear.Instant) map[string][]wear.SignOff {
	out := map[string][]wear.SignOff{}
	for _, w := range [][2]string{
		{"pedals", "check"}, {"fork", "service"},
	} {
		out[w[0]] = append(out[w[0]], wear.SignOff{At: today - 1, Job: w[1], By: "Ada", Torque: 6, Minutes: 5})
	}
	return out
}

// tell adds what tools and eyes said of a part.
func tell(t *testing.T, pc *wear.PartCase) {
	t.Helper()
	at, id := on(t, "2026-03-01 20:00"), pc.Part.ID
	switch pc.Part.Kind {
	case "chain":
		pc.Readings = []wear.Reading{{Part: id, Bike: 3, At: at, Of: wear.Elongation, Value: 0.21, Tool: "caliper", Pitches: 10}}
	case "rear-pads":
		pc.Readings = []wear.Reading{{Part: id, Bike: 3, At: on(t, "2026-05-12 20:00"), Of: wear.Lining, Value: 0.9, Tool: "caliper"}}
	case "guide":
		pc.Looks = []wear.Look{{Part: id, Bike: 3, At: on(t, "2026-05-12 22:00"), Word: wear.Unsafe, Note: "tab cracked", By: "Ada"}}
	}
}

// trailCard is the card of that bike: every box of it has something to say.
func trailCard(t *testing.T) CardPage {
	t.Helper()
	c := trailCase(t)
	setup := someSetup(t)
	findings := wear.Assess(c, wear.Default())
	for i := range findings {
		if findings[i].Kind == "ring-bolts" {
			findings[i].Torque = 10 // as a maker's figure in the shop's schedule gives it
		}
	}
	page := CardPage{
		Shop: "Ridge Road Cycles", Bike: c.Bike, Owner: "Ines Falk", Today: c.Today, Visit: on(t, "2026-05-16 22:00"),
		Findings: findings, Setup: &setup, Parts: []string{"rear brake pads, organic", "chain guide, ISCG-05", "tubeless sealant, 2 × 60 ml"},
	}
	for _, w := range []struct {
		part, job, day string
		nm             float64
	}{
		{"caliper-bolts-1", "check", "2026-05-14 17:00", 6}, {"pedals-1", "check", "2026-05-14 16:30", 35}, {"fork-1", "service", "2026-05-02 12:00", 0},
		{"axles-1", "check", "2026-05-14 16:40", 12}, {"chain-1", "clean", "2026-04-02 20:00", 0},
	} {
		page.SignOffs = append(page.SignOffs, CardSignOff{w.part, wear.SignOff{At: on(t, w.day), Job: w.job, By: "Ada", Torque: w.nm, Minutes: 10}})
	}
	page.Declined = []CardSignOff{{"dropper-1", wear.SignOff{At: on(t, "2026-04-02 20:00"), Job: "service", By: "Ada", Declined: true, Note: "told that it may stick"}}}
	return page
}
